// The angle over time around the moment that is played: the curve by phase, the phases as a profile
// with their words, the repetitions with their numbers, gaps, and the playhead.

import { shape } from "../dom.js";
import { level } from "./now.js";
import { after } from "./track.js";
import { words } from "./words.js";

/** Room around the plot, px: left for degrees, right, top for repetitions, and what lies below. */
const ROOM = { left: 46, right: 14, top: 30, profile: 22, words: 20, axis: 24 };
/** A second is so wide where there is room, px. */
const SECOND_PX = 62;
const WINDOW_S = [5, 30];
/** A curve that wanders off over minutes is drawn to the scale of what lies so near, seconds. */
const NEAR_S = 60;
/** It wanders where it spreads over more than so many of its widest repetitions. */
const WANDERS_RATIO = 3;
/** After a leap the playhead stands at this share of the window; past the other, the window moves on. */
const ENTER = 0.1;
const LEAVE = 0.94;

const STEPS = [1, 2, 5, 10, 20, 30, 45, 90, 180, 360, 720, 1440];
const SECONDS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60];

/** The first step of a list that leaves so much room, else the last. */
const stepFor = (steps, px_each, least_px) => steps.find((step) => step * px_each >= least_px) ?? steps.at(-1);

/** Pale strokes over what is not known. */
export function hatch(id) {
  const pattern = shape("pattern", { id, width: 8, height: 8, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
  pattern.append(shape("path", { class: "hatch", d: "M0 0V8" }));
  return shape("defs", {}, pattern);
}

export class Curve {
  /**
   * `seek` is called with a time that was pressed. `label` says what is seen; `flags` draws more upon
   * the curve (`shapes`), and may take a press for itself (`grab`, `drag`, `drop`).
   */
  constructor(seek, { label = words.curve.label, flags = null } = {}) {
    this.flags = flags;
    this.still = shape("g");
    this.ball = shape("circle", { class: "ball", r: 7 });
    this.line = shape("path", { class: "playhead" });
    this.head = shape("g", {}, this.line);
    this.svg = shape("svg", { class: "curve", role: "img", "aria-label": label }, hatch("gap"), this.still, this.head, this.ball);
    this.from_s = 0;
    this.key = "";
    new ResizeObserver(() => {
      this.key = "";
      this.draw(this.t_s);
    }).observe(this.svg);
    let held = false;
    const pressed = (event) => {
      if (!this.track || event.buttons === 0) return;
      const at_s = this.timeAt(event.clientX);
      if (held) flags.drag(at_s);
      else seek(at_s);
    };
    this.svg.addEventListener("pointerdown", (event) => {
      if (!this.track) return;
      this.svg.setPointerCapture(event.pointerId);
      held = Boolean(flags?.grab(this, event));
      if (!held) pressed(event);
    });
    this.svg.addEventListener("pointermove", pressed);
    for (const end of ["pointerup", "pointercancel"]) {
      this.svg.addEventListener(end, () => {
        if (held) flags.drop();
        held = false;
      });
    }
  }

  show(track) {
    this.track = track;
    this.from_s = track.start_s;
    this.key = "";
  }

  /** The window that is drawn, seconds. */
  get span() {
    return [this.from_s, this.from_s + this.width_s];
  }

  again() {
    this.key = "";
  }

  /** Draws a moment; the window moves only where the moment lies outside of it. */
  draw(t_s) {
    this.t_s = t_s;
    const { width, height } = this.svg.getBoundingClientRect();
    if (!this.track || width < 100) return;
    const { start_s, end_s } = this.track;
    const plot_px = width - ROOM.left - ROOM.right;
    const lasting_s = Math.max(end_s - start_s, 0.1);
    const usual_s = Math.min(Math.max(plot_px / SECOND_PX, WINDOW_S[0]), WINDOW_S[1]);
    this.width_s = lasting_s < 1.2 * usual_s ? lasting_s : usual_s;
    this.px_s = plot_px / this.width_s;
    const share = (t_s - this.from_s) / this.width_s;
    if (share < 0 || share > LEAVE) this.from_s = t_s - ENTER * this.width_s;
    this.from_s = Math.max(start_s, Math.min(this.from_s, end_s - this.width_s));
    const key = `${this.from_s} ${width} ${height}`;
    if (key !== this.key) {
      this.key = key;
      this.background(width, height);
    }
    const x = this.x(t_s);
    this.line.setAttribute("d", `M${x} ${ROOM.top - 12}V${this.floor_px + ROOM.profile + 4}M${x - 7} ${ROOM.top - 20}h14l-7 9z`);
    const angle_deg = this.track.angleAt(t_s);
    const known = typeof angle_deg === "number";
    this.ball.style.visibility = known ? "visible" : "hidden";
    if (known) this.ball.setAttribute("transform", `translate(${x} ${this.y(angle_deg)})`);
  }

  /** The time at a place of the window. */
  timeAt(client_px) {
    return this.from_s + (client_px - this.svg.getBoundingClientRect().left - ROOM.left) / this.px_s;
  }

  /** Where flags are planted: the upper edge of the plot. */
  get top_px() {
    return ROOM.top;
  }

  x(t_s) {
    return ROOM.left + (t_s - this.from_s) * this.px_s;
  }

  y(deg) {
    return this.floor_px - (deg - this.low_deg) * this.px_deg;
  }

  /** All that stands still. */
  background(width, height) {
    const [least, most] = this.extremes();
    const room_deg = Math.max(0.06 * (most - least), 1);
    this.floor_px = height - ROOM.profile - ROOM.words - ROOM.axis;
    [this.low_deg, this.high_deg] = [least - room_deg, most + room_deg];
    this.px_deg = (this.floor_px - ROOM.top) / (this.high_deg - this.low_deg);
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    const right = width - ROOM.right;
    const clip = shape("clipPath", { id: "plot" }, shape("rect", { x: ROOM.left, y: 0, width: right - ROOM.left, height }));
    const plot = shape("g", { "clip-path": "url(#plot)" });
    plot.append(...this.lines(), ...this.profile(), ...this.numbers(), ...this.gaps(), ...(this.flags?.shapes(this) ?? []));
    this.still.replaceChildren(clip, ...this.degrees(right), ...this.seconds(height), plot, ...this.named(right));
  }

  /** Lowest and highest angle that the scale has to hold. */
  extremes() {
    const { column_s, low_deg, high_deg } = this.track.own.curve.outline;
    const within = (from_s, to_s, more) => {
      const [from, to] = [from_s, to_s].map((t_s) => Math.floor((t_s - this.track.start_s) / column_s));
      const known = (list) => list.slice(Math.max(from, 0), to + 1).filter((deg) => deg !== null);
      return [known(low_deg).reduce((a, b) => Math.min(a, b), more[0]), known(high_deg).reduce((a, b) => Math.max(a, b), more[1])];
    };
    const all = within(this.track.start_s, this.track.end_s, [0, 0]);
    const near = within(this.from_s - NEAR_S, this.from_s + this.width_s + NEAR_S, [Infinity, -Infinity]);
    if (!(near[0] < near[1])) return all;
    // Where a person marks it, no range is known but that of what is near.
    const known_deg = this.track.own.blind ? near[1] - near[0] : 10;
    const widest_deg = this.track.reps.reduce((most, rep) => Math.max(most, rep.range_deg ?? 0), known_deg);
    return all[1] - all[0] < WANDERS_RATIO * widest_deg ? all : near;
  }

  degrees(right) {
    const step = stepFor(STEPS, this.px_deg, 26);
    const made = [];
    for (let deg = Math.ceil(this.low_deg / step) * step; deg <= this.high_deg; deg += step) {
      const y = this.y(deg);
      made.push(
        shape("path", { class: deg === 0 ? "zero" : "rule", d: `M${ROOM.left} ${y}H${right}` }),
        shape("text", { class: deg === 0 ? "tick strong" : "tick", x: ROOM.left - 6, y: y + 5, "text-anchor": "end" }, words.level.deg(Math.abs(deg) < 1e-9 ? 0 : deg)),
      );
    }
    return made;
  }

  /** What zero is, and which way is up. */
  named(right) {
    const up = level(this.track, 1, "up");
    const zero = words.curve.zero[this.track.set.zero];
    const y = this.y(0);
    return [
      ...(y > ROOM.top && y < this.floor_px ? [shape("text", { class: "named", x: right - 4, y: y - 5, "text-anchor": "end" }, zero)] : []),
      ...(up ? [shape("text", { class: "named", x: ROOM.left + 6, y: ROOM.top + 12 }, `${up} \u2191`)] : []),
    ];
  }

  seconds(height) {
    const step = stepFor(SECONDS, this.px_s, 58);
    const y = height - 7;
    const [from_s, to_s] = this.span;
    const made = [];
    for (let at = Math.ceil(from_s / step - 1e-9); at * step <= to_s + 1e-9; at += 1) {
      const t_s = at * step;
      const text = Number(t_s.toFixed(1)).toString();
      made.push(
        shape("path", { class: "axis", d: `M${this.x(t_s)} ${height - ROOM.axis}v4` }),
        shape("text", { class: "tick", x: this.x(t_s), y, "text-anchor": "middle" }, text),
      );
    }
    made.push(shape("text", { class: "tick", x: 4, y }, words.curve.seconds));
    return made;
  }

  gaps() {
    const [from_s, to_s] = this.span;
    const list = this.track.own.curve?.gaps_s ?? [];
    const made = [];
    for (let at = Math.max(0, after(list, from_s, (gap) => gap[1]) - 1); at < list.length && list[at][0] < to_s; at += 1) {
      const [a, b] = [Math.max(list[at][0], from_s), Math.min(list[at][1], to_s)].map((t_s) => this.x(t_s));
      if (b <= a) continue;
      const height = this.floor_px + ROOM.profile - ROOM.top;
      made.push(shape("rect", { class: "gap", x: a, y: ROOM.top, width: Math.max(b - a, 2), height }));
      if (b - a > 62) made.push(shape("text", { class: "named halo", x: (a + b) / 2, y: (ROOM.top + this.floor_px) / 2, "text-anchor": "middle" }, words.curve.noData));
    }
    return made;
  }

  /** Repetitions of which anything is in the window, with what lies before the first. */
  places() {
    const [from_s, to_s] = this.span;
    const first = this.track.repetitionAt(from_s);
    const last = this.track.repetitionAt(to_s);
    return Array.from({ length: last - first + 1 }, (_, place) => first + place);
  }

  /** Where a person marks it, what lies between the marks is not known to be rest. */
  unmarked(name) {
    return Boolean(this.track.own.blind) && name === "rest";
  }

  lines() {
    const [from_s, to_s] = this.span;
    const runs = this.track.runs(from_s, to_s);
    const phases = this.places().flatMap((at) => this.track.phasesOf(at));
    const made = [];
    for (const { name, from_s: a, to_s: b } of phases) {
      let d = "";
      for (const run of runs) d += this.path(run, a, b ?? Infinity);
      if (d === "") continue;
      if (name === "hold") made.push(shape("path", { class: "bed", d }));
      made.push(shape("path", { class: this.unmarked(name) ? "way unmarked" : `way ${name}`, d }));
    }
    return made;
  }

  /** The part of a run between two times, its ends put in between the points. */
  path(run, from_s, to_s) {
    const [a, b] = [Math.max(from_s, run[0][0]), Math.min(to_s, run.at(-1)[0])];
    if (a >= b) return "";
    const at = (t_s) => {
      const next = Math.min(Math.max(after(run, t_s, (point) => point[0]), 1), run.length - 1);
      const [[t0, y0], [t1, y1]] = [run[next - 1], run[next]];
      return [t_s, y0 + ((y1 - y0) * (t_s - t0)) / (t1 - t0)];
    };
    const inside = run.slice(after(run, a, (point) => point[0]), after(run, b, (point) => point[0]));
    const spots = [at(a), ...inside, at(b)].map(([t_s, deg]) => `${this.x(t_s).toFixed(1)} ${this.y(deg).toFixed(1)}`);
    return `M${spots.join("L")}`;
  }

  /** Up, along, down: each phase has its own shape, and its word where there is room. */
  profile() {
    const floor = this.floor_px + ROOM.profile;
    const top = this.floor_px + 6;
    const made = [];
    for (const at of this.places()) {
      for (const { name, from_s, to_s } of this.track.phasesOf(at)) {
        if (this.unmarked(name)) continue;
        const [a, b] = [Math.max(this.x(from_s), -50), Math.min(this.x(to_s ?? this.track.end_s), 1e4)];
        if (b <= a) continue;
        const d = {
          lift: `M${a} ${floor}L${b} ${top}V${floor}z`,
          hold: `M${a} ${floor}V${top}H${b}V${floor}z`,
          lower: `M${a} ${floor}V${top}L${b} ${floor}z`,
          turn: `M${a} ${floor}Q${(a + b) / 2} ${2 * top - floor} ${b} ${floor}z`,
          rest: `M${a} ${floor}H${b}`,
        }[name];
        made.push(shape("path", { class: `step ${name}`, d }));
        const [seen, until] = [Math.max(a, ROOM.left), Math.min(b, this.x(this.span[1]))];
        if (until - seen > 8.5 * words.phase[name].length) {
          made.push(shape("text", { class: "word", x: (seen + until) / 2, y: floor + 15, "text-anchor": "middle" }, words.phase[name]));
        }
      }
    }
    return made;
  }

  /** A bracket over each repetition, with its number; "?" where it is in doubt. */
  numbers() {
    const made = [];
    for (const at of this.places()) {
      const rep = this.track.reps[at];
      if (!rep) continue;
      const [a, b] = [this.x(rep.lift_start_s), this.x(rep.lower_end_s)];
      const doubtful = rep.doubts.length > 0;
      const text = doubtful ? `${at + 1} ${words.curve.doubtful}` : `${at + 1}`;
      made.push(shape("path", { class: doubtful ? "bracket doubtful" : "bracket", d: `M${a} ${ROOM.top - 2}v-5H${b}v5` }));
      if (b - a > 9 * text.length) made.push(shape("text", { class: "number", x: (a + b) / 2, y: ROOM.top - 11, "text-anchor": "middle" }, text));
    }
    return made;
  }
}
