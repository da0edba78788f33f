// Figures that stand still: of one repetition, of the set, of all repetitions, and the keys.

import { el, write } from "../dom.js";
import { levelled, sign, whole } from "./now.js";
import { words } from "./words.js";

/** Rows of the table at a time. */
const ROWS = 50;

/** A number with its stated error, which is rounded up. */
const within = (value, error, decimals) => {
  if (error === null) return value.toFixed(decimals);
  const up = Math.ceil(error * 10 ** decimals - 1e-9) / 10 ** decimals;
  return `${value.toFixed(decimals)} \u00b1${up.toFixed(decimals)}`;
};
const ranged = (rep) => within(rep.range_deg, rep.range_error_deg, 0);
const fixed = (seconds) => words.repetition.seconds(seconds.toFixed(2));
const facts = (rows) => rows.map(([word, ...what]) => el("div", {}, el("dt", {}, word), el("dd", {}, ...what)));

/** The verdict with a sign of its own. */
function verdict(rep) {
  return el("span.verdict", { "data-verdict": rep.verdict ?? "null" }, `${words.sign[rep.verdict]} ${words.verdict[rep.verdict]}`);
}

/** The figures of one repetition. */
export class Repetition {
  constructor() {
    this.heading = el("h2");
    this.hint = el("p.hint", {}, words.repetition.hint);
    this.list = el("dl.facts");
    this.box = el("section.repetition", {}, this.heading, this.hint, this.list);
  }

  show(track) {
    this.track = track;
    this.at = null;
  }

  draw(at) {
    if (at === this.at) return;
    this.at = at;
    const { track } = this;
    const rep = track.reps[at];
    write(this.heading, this.named(at));
    this.hint.hidden = Boolean(rep) || track.reps.length === 0;
    this.list.hidden = !rep;
    this.list.replaceChildren(...(rep ? facts(track.own.goes_round ? this.turn(rep, at) : this.rows(rep, at)) : []));
  }

  named(at) {
    const { reps, own } = this.track;
    const text = words.repetition;
    if (reps.length === 0) return text.none;
    if (at < 0) return own.goes_round ? text.beforeTurn : text.before;
    return (own.goes_round ? text.turn : text.heading)(at + 1, reps.length);
  }

  rows(rep, at) {
    const text = words.repetition;
    const { lift_s, hold_s, lower_s, rest_s } = this.track.own.phases[at];
    const timed = (name, seconds, error = null) => [el("span.phase-sign", {}, sign(name)), words.repetition.seconds(within(seconds, error, 2))];
    return [
      [text.range, words.level.deg(ranged(rep))],
      [text.start, levelled(this.track, rep.start_deg)],
      [text.peak, levelled(this.track, rep.peak_deg)],
      [text.lift, ...timed("lift", lift_s, rep.lift_error_s)],
      [text.hold, ...timed("hold", hold_s, rep.hold_error_s)],
      [text.lower, ...timed("lower", lower_s, rep.lower_error_s)],
      [text.rest, ...(rest_s === null ? [text.restLast] : timed("rest", rest_s))],
      [text.peakSpeed, text.speed(whole(rep.peak_speed_deg_s))],
      [text.tempo, verdict(rep)],
      [text.doubts, doubts(rep)],
    ];
  }

  turn(rep, at) {
    const text = words.repetition;
    const { lift_s, lower_s, rest_s } = this.track.own.phases[at];
    return [
      [text.range, words.level.deg(whole(rep.range_deg))],
      [text.firstHalf, fixed(lift_s)],
      [text.secondHalf, fixed(lower_s)],
      [text.pause, rest_s === null ? text.restLast : fixed(rest_s)],
      [text.turnSpeed, text.speed(whole(rep.peak_speed_deg_s))],
      [text.doubts, doubts(rep)],
    ];
  }

  /** The same in one sentence, to be told. */
  told(at) {
    const text = words.repetition;
    const rep = this.track.reps[at];
    if (!rep) return this.named(at);
    const times = ["lift_s", "hold_s", "lower_s"].map((name) => this.track.own.phases[at][name].toFixed(2));
    return text.told(
      this.named(at),
      text.toldRange(whole(rep.range_deg)),
      this.track.own.goes_round ? "" : text.toldTimes(...times),
      rep.verdict === null ? "" : words.verdict[rep.verdict],
      rep.doubts.length > 0 ? text.toldDoubts(rep.doubts.join(", ")) : "",
    );
  }
}

function doubts(rep) {
  if (rep.doubts.length === 0) return words.none;
  return el("ul.doubts", {}, rep.doubts.map((doubt) => el("li", {}, words.doubt[doubt] ?? doubt)));
}

/** The movement of a set with its side. */
export function titleOf({ set, own }) {
  const side = set.side === null ? words.movement.sideUnknown : words.movement.side[set.side];
  return `${own.title ?? words.movement.unnamed}, ${side}`;
}

/** What is known of a set as a whole. */
export function setFacts(track, warnings) {
  const { set, own } = track;
  const text = words.set;
  const count = words.count(set.reps.length, own.goes_round);
  const counted = set.target_reps === null ? count : text.ofAsked(count, set.target_reps);
  const held = set.load_kg === null ? words.unknown : set.load_kg === 0 ? text.empty : text.kg(set.load_kg);
  const load = set.range_test ? text.rangeTest(held) : held;
  const rows = [
    [text.movement, titleOf(track)],
    [text.load, load],
    [text.count, counted, ...(set.incomplete_count > 0 ? [el("br"), text.incomplete(set.incomplete_count)] : [])],
  ];
  if (own.median_lower_s !== null) {
    const range = own.median_range_deg === null ? null : whole(own.median_range_deg);
    rows.push([text.medians, own.goes_round ? text.medianTurn(range ?? words.unknown) : text.medianWords(range, own.median_lower_s.toFixed(2))]);
  }
  rows.push([text.tempo, set.tempo_words ?? text.noTempo]);
  if (set.tempo !== null) rows.push([text.inTempo, band(set)]);
  if (set.elbow) rows.push([text.forearm, forearm(set.elbow)]);
  rows.push([text.zero, words.zero[set.zero]], [text.note, own.note]);
  const notes = warnings.map((warning) => el("li", {}, warning));
  return [
    el("h2", {}, text.heading),
    el("dl.facts", {}, facts(rows)),
    ...(notes.length > 0 ? [el("h3", {}, text.notes), el("ul.notes", {}, notes)] : []),
  ];
}

function forearm({ share_ratio, low_ratio, high_ratio, cannot_tell }) {
  const text = words.set;
  if (share_ratio === null) return text.forearmUnknown[cannot_tell] ?? words.unknown;
  const percent = (ratio) => Math.round(100 * Math.min(Math.max(ratio, 0), 1));
  return text.forearmShare(percent(share_ratio), percent(low_ratio), percent(high_ratio));
}

function band({ tempo_band, eccentric }) {
  const text = words.set;
  if (tempo_band === null || eccentric === null) return text.notJudged;
  return text.band(text.bandPhase[eccentric], tempo_band.low_s.toFixed(2), tempo_band.high_s.toFixed(2));
}

/** All repetitions of a set, so many at a time. */
export class Table {
  constructor(go) {
    this.go = go;
    this.summary = el("summary");
    this.part = el("p.hint");
    this.errors = el("p.hint", {}, words.table.errors);
    this.body = el("tbody");
    this.head = el("tr");
    this.table = el("table", {}, el("thead", {}, this.head), this.body);
    this.box = el("details.all", {}, this.summary, this.part, this.errors,
      el("div.wide", { tabindex: "0", role: "region", "aria-label": words.table.label }, this.table));
    this.box.addEventListener("toggle", () => this.draw(this.at));
  }

  show(track) {
    this.track = track;
    this.from = null;
    this.at = -1;
    this.box.hidden = track.reps.length === 0;
    this.errors.hidden = track.reps.every((rep) => rep.lift_error_s === null);
    const { heading, headingTurns, columns, columnsTurns } = words.table;
    const [named, own] = track.own.goes_round ? [headingTurns, columnsTurns] : [heading, columns];
    write(this.summary, named);
    this.table.classList.toggle("turns", track.own.goes_round);
    this.head.replaceChildren(...own.map((word) => el("th", { scope: "col" }, word)));
  }

  draw(at) {
    this.at = at;
    if (!this.box.open) return;
    const { reps } = this.track;
    const from = Math.floor(Math.max(at, 0) / ROWS) * ROWS;
    if (from !== this.from) {
      this.from = from;
      const to = Math.min(from + ROWS, reps.length);
      write(this.part, reps.length > ROWS ? words.table.part(from + 1, to, reps.length) : "");
      this.body.replaceChildren(...reps.slice(from, to).map((rep, place) => this.row(rep, from + place)));
    }
    const [before, now] = [this.body.querySelector("[aria-current]"), this.body.children[at - from]];
    if (before === now) return;
    before?.removeAttribute("aria-current");
    now?.setAttribute("aria-current", "true");
  }

  row(rep, at) {
    const { lift_s, hold_s, lower_s, rest_s } = this.track.own.phases[at];
    const number = el("button", { type: "button", "aria-label": words.table.go(at + 1), onclick: () => this.go(at) }, String(at + 1));
    const [goesRound, rest] = [this.track.own.goes_round, rest_s === null ? "\u2013" : rest_s.toFixed(2)];
    const times = [
      within(lift_s, rep.lift_error_s, 2),
      ...(goesRound ? [] : [within(hold_s, rep.hold_error_s, 2)]),
      within(lower_s, rep.lower_error_s, 2),
    ];
    const cells = [
      rep.lift_start_s.toFixed(2), ranged(rep), ...times, rest, whole(rep.peak_speed_deg_s),
      ...(goesRound ? [] : [verdict(rep)]), rep.doubts.join(", "),
    ];
    return el("tr", {}, el("th", { scope: "row" }, number), cells.map((cell) => el("td", {}, cell)));
  }
}

/** What the keys do. */
export function keys() {
  const rows = words.keys.list.map(([key, what]) => el("div", {}, el("dt", {}, key), el("dd", {}, what)));
  return el("section.keys", {}, el("h2", {}, words.keys.heading), el("dl.facts", {}, rows), el("p.hint", {}, words.keys.mouse), el("p.hint", {}, words.keys.mark));
}

/** What the lines and shapes of the curve mean. */
export function key(track) {
  const names = track.own.goes_round ? ["turn", "rest"] : ["lift", "hold", "lower", "rest"];
  const doubtful = track.reps.some((rep) => rep.doubts.length > 0);
  const hasGap = (track.own.curve?.gaps_s ?? []).length > 0;
  return el("p.key", {}, el("span.label", {}, words.curve.key),
    names.map((name) => el("span", {}, sign(name), words.phase[name])),
    doubtful ? el("span", {}, words.curve.keyDoubt) : null,
    hasGap ? el("span", {}, el("span.gap-sample", {}), words.curve.keyGap) : null);
}
