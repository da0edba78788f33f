// What is so at this moment: the angle as a number and as a hand that turns, the phase, the count.

import { el, shape, write } from "../dom.js";
import { words } from "./words.js";

/** A whole number without a minus before 0. */
export const whole = (number) => (Math.round(number) === 0 ? "0" : Math.round(number).toString());

/** The word that goes with an angle: the pose where a neutral one is known, else the direction. */
export function level({ own }, deg, always = null) {
  const small = Math.abs(deg) < 0.5;
  if (own.goes_round) return "";
  if (own.posed) {
    if (small) return words.level.neutral;
    return deg > 0 ? own.directions.up : own.directions.down;
  }
  if (always === null && (small || deg > 0)) return "";
  if (own.directions) return words.level.towards(deg > 0 ? own.directions.up : own.directions.down);
  return deg > 0 ? "" : words.level.otherWay;
}

/** An angle with its word: "extension 42°", "12° the other way". */
export function levelled(track, deg) {
  const number = words.level.deg(whole(Math.abs(deg)));
  const word = level(track, deg);
  if (word === words.level.neutral) return word;
  if (word === "") return words.level.deg(whole(deg));
  return track.own.posed ? `${word} ${number}` : `${number} ${word}`;
}

/** A phase as a shape of its own. */
export function sign(name) {
  const d = {
    lift: "M4 20L20 4V20z",
    hold: "M4 20V6H20V20z",
    lower: "M4 20V4L20 20z",
    turn: "M4 18Q12 -8 20 18z",
    rest: "M4 18H20",
    none: "M4 4L20 20M20 4L4 20",
  }[name];
  return shape("svg", { class: "sign", viewBox: "0 0 24 24", "aria-hidden": "true" }, shape("path", { class: `step ${name}`, d }));
}

/** A spot on a circle around the middle of the dial; angles run against the clock from the right. */
const spot = (deg, radius) => {
  const turned = (-deg * Math.PI) / 180;
  return `${(radius * Math.cos(turned)).toFixed(1)} ${(radius * Math.sin(turned)).toFixed(1)}`;
};

function sector(from_deg, to_deg) {
  const wide = Math.min(Math.abs(to_deg - from_deg), 359.9);
  const end_deg = from_deg + Math.sign(to_deg - from_deg) * wide;
  return `M0 0L${spot(from_deg, 80)}A80 80 0 ${wide > 180 ? 1 : 0} ${end_deg > from_deg ? 0 : 1} ${spot(end_deg, 80)}z`;
}

/** A tile: a quiet word over what it says. */
const tile = (name, word, ...inside) => el(`div.tile.${name}`, {}, el("p.label", {}, word), ...inside);

export class Now {
  constructor() {
    this.angle = el("p.big");
    this.word = el("p.under");
    this.sector = shape("path", { class: "reached" });
    this.hand = shape("g", { class: "hand" }, shape("path", { d: "M-9 -7L50 -8Q84 -9 88 0Q84 9 50 8L-9 7z" }), shape("rect", { class: "unit", x: 26, y: -15, width: 22, height: 9, rx: 2 }));
    this.forearm = shape("path", { class: "forearm", d: "M-96 -9L-4 -9A9 9 0 0 1 -4 9L-96 9z" });
    this.dial = shape("svg", { class: "dial", viewBox: "-100 -100 200 200", role: "img", "aria-label": words.now.dial },
      this.sector, shape("path", { class: "zero", d: "M0 0H98" }), this.forearm, this.hand);
    this.sign = el("span.phase-sign");
    this.phase = el("span");
    this.inPhase = el("p.under");
    this.count = el("span.big");
    this.of = el("span.of");
    this.heading = el("h2.unseen", {}, words.now.heading);
    this.box = el("section.now", {}, this.heading,
      tile("angle", words.now.angle, el("div.pair", {}, this.angle, this.dial), this.word),
      tile("phase", words.now.phase, el("p.big.phase-name", {}, this.sign, this.phase), this.inPhase),
      tile("count", words.now.count, el("p", {}, this.count, this.of)));
  }

  show(track) {
    this.track = track;
    this.shown = "";
    this.forearm.style.visibility = track.own.posed ? "visible" : "hidden";
    write(this.of, ` ${words.now.of(words.count(track.reps.length, track.own.goes_round))}`);
  }

  draw(t_s) {
    const { track } = this;
    const angle_deg = track.angleAt(t_s);
    const known = typeof angle_deg === "number";
    write(this.angle, known ? words.level.deg(whole(this.unsigned(angle_deg))) : angle_deg === null ? words.now.none : words.now.loading);
    write(this.word, known ? level(track, angle_deg) : angle_deg === null ? words.now.gap : "");
    this.dial.style.visibility = known ? "visible" : "hidden";
    if (known) this.hand.setAttribute("transform", `rotate(${(-angle_deg).toFixed(1)})`);
    const rep = track.reps[track.repetitionAt(t_s)];
    this.sector.setAttribute("d", rep && !track.own.goes_round ? sector(rep.start_deg, rep.peak_deg) : "");
    const phase = track.phaseAt(t_s);
    if (phase.name !== this.shown) {
      this.shown = phase.name;
      this.sign.replaceChildren(sign(phase.name));
    }
    write(this.phase, words.phase[phase.name]);
    const passed = (t_s - phase.from_s).toFixed(1);
    write(this.inPhase, phase.name === "none" ? words.now.gap : words.now.inPhase(passed, phase.to_s === null ? null : (phase.to_s - phase.from_s).toFixed(2)));
    write(this.count, String(track.doneAt(t_s)));
  }

  /** Where a word tells the direction the number has no sign. */
  unsigned(deg) {
    return level(this.track, deg) === "" ? deg : Math.abs(deg);
  }
}
