// What was marked beside what the program did, and beside the truth where that is known.

import { el } from "../dom.js";
import { words } from "./words.js";

const text = words.after;
const fixed = (seconds) => (seconds === null ? "\u2013" : seconds.toFixed(2));
const TIMES = ["lift_start_s", "lift_end_s", "lower_start_s", "lower_end_s"];

/** Everything but the curve. `go` is called with a time, `setOf` tells the set of a time. */
export function compared(both, { go, setOf, setsCount }) {
  const { comparison } = both;
  const alone = (list) => list.map(({ rep, start_s }) => text.place(rep, setOf(start_s), setsCount)).join(", ");
  const facts = [
    [text.count, text.counts(comparison.first_count, comparison.second_count, comparison.pairs.length)],
    ...(comparison.only_first.length > 0 ? [[text.onlyMarked, comparison.only_first.map(({ rep }) => rep).join(", ")]] : []),
    ...(comparison.only_second.length > 0 ? [[text.onlyCounted, alone(comparison.only_second)]] : []),
    ...(both.truth ? [[text.truly, text.trueCount(both.truth.true_count, both.truth.words)]] : []),
    [text.file, both.file],
  ];
  const links = el("p.links", {}, el("a", { href: "/marks.csv", download: true }, text.download), el("a", { href: "/whole" }, text.whole), el("a", { href: "/drill" }, words.drill));
  return [
    el("section.both", {}, el("h2", { tabindex: "-1" }, text.heading), el("p.notice", {}, both.note), el("dl.facts", {}, facts.map(([word, what]) => el("div", {}, el("dt", {}, word), el("dd", {}, what)))), links),
    el("section.phases", {}, el("h2", {}, text.phases), el("p.hint", {}, text.signs), spreads(both.phases), el("p.hint", {}, both.one_recording_note),
      ...(both.truth ? [el("h3", {}, text.youTruth), spreads(both.truth.person), el("h3", {}, text.programTruth), spreads(both.truth.program)] : [])),
    el("section.pairs", {}, el("h2", {}, text.each), ...(comparison.pairs.length > 0 ? [el("p.hint", {}, text.signs), pairs(comparison, { go, setOf, setsCount })] : [el("p", {}, text.nothing)]), el("p.hint", {}, text.again)),
  ];
}

const head = (columns) => el("thead", {}, el("tr", {}, columns.map((word) => el("th", { scope: "col" }, word))));

function spreads(list) {
  const rows = list.map(({ phase, spread }) => {
    const cells = spread ? [String(spread.pair_count), ...[spread.median_s, spread.lowest_s, spread.highest_s].map(words.signed)] : ["0", "\u2013", "\u2013", "\u2013"];
    return el("tr", {}, el("th", { scope: "row" }, words.phases[phase]), cells.map((cell) => el("td", {}, cell)));
  });
  return el("table", {}, head(text.phaseColumns), el("tbody", {}, rows));
}

function pairs(comparison, { go, setOf, setsCount }) {
  const lower = ({ lower_start_s: from_s, lower_end_s: to_s }) => (from_s === null || to_s === null ? null : to_s - from_s);
  const rows = comparison.pairs.map(({ first, second, differences }) => {
    const at_s = TIMES.map((name) => first[name]).find((time_s) => time_s !== null);
    const number = el("button", { type: "button", "aria-label": text.go(first.rep), onclick: () => go(at_s) }, String(first.rep));
    const cells = [text.place(second.rep, setOf(second.lift_start_s), setsCount), ...TIMES.map((name) => words.signed(differences[name])), fixed(lower(first)), fixed(lower(second)), words.signed(differences.lower_s)];
    return el("tr", {}, el("th", { scope: "row" }, number), cells.map((cell) => el("td", {}, cell)));
  });
  return el("div.wide", { tabindex: "0", role: "region", "aria-label": text.eachLabel }, el("table", {}, head(text.eachColumns), el("tbody", {}, rows)));
}
