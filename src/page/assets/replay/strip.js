// The whole set in one strip, which is the time line too: an outline of the curve, a bar for each
// repetition, gaps, the part that is drawn large, and a slider over all of it.

import { el, shape } from "../dom.js";
import { hatch } from "./curve.js";
import { words } from "./words.js";

/** Half the width of the slider's thumb: the strip begins and ends there, px. */
const INSET = 12;
const HEIGHT = 64;
const BARS = 10;

export class Strip {
  /** `seek` is called with a time, `keys` with a key that the slider does not know itself. */
  constructor(seek, keys) {
    this.still = shape("g");
    this.part = shape("rect", { class: "part", y: 1, height: HEIGHT - BARS - 6 });
    this.svg = shape("svg", { class: "outline", "aria-hidden": "true" }, hatch("strip-gap"), this.still, this.part);
    this.slider = el("input", { type: "range", id: "time", step: "any", min: "0", max: "1", "aria-label": words.strip.label });
    this.slider.addEventListener("input", () => seek(this.slider.valueAsNumber));
    this.slider.addEventListener("keydown", keys);
    this.box = el("div.strip", {}, this.svg, this.slider);
    new ResizeObserver(() => this.background()).observe(this.svg);
  }

  show(track) {
    this.track = track;
    this.slider.min = track.start_s;
    this.slider.max = track.end_s;
    this.background();
  }

  /** A moment, in words, and the window that is drawn large. */
  draw(t_s, text, [from_s, to_s]) {
    this.slider.value = t_s;
    if (this.slider.getAttribute("aria-valuetext") !== text) this.slider.setAttribute("aria-valuetext", text);
    const width = Math.max(this.x(to_s) - this.x(from_s), 2);
    this.part.setAttribute("x", this.x(from_s).toFixed(1));
    this.part.setAttribute("width", width.toFixed(1));
  }

  x(t_s) {
    const { start_s, end_s } = this.track;
    return INSET + ((t_s - start_s) / Math.max(end_s - start_s, 0.01)) * (this.width - 2 * INSET);
  }

  background() {
    this.width = this.svg.getBoundingClientRect().width;
    if (!this.track || this.width < 50) return;
    this.svg.setAttribute("viewBox", `0 0 ${this.width} ${HEIGHT}`);
    this.still.replaceChildren(...this.gaps(), ...this.outline(), ...this.bars());
  }

  outline() {
    const own = this.track.own.curve?.outline;
    if (!own) return [];
    const known = (list) => list.filter((deg) => deg !== null);
    const low = known(own.low_deg).reduce((a, b) => Math.min(a, b), 0);
    const high = known(own.high_deg).reduce((a, b) => Math.max(a, b), 0);
    const room = HEIGHT - BARS - 10;
    const y = (deg) => (3 + room * (1 - (deg - low) / Math.max(high - low, 1))).toFixed(1);
    const x = (column) => this.x(this.track.start_s + column * own.column_s).toFixed(1);
    let d = "";
    for (let from = 0; from < own.low_deg.length; ) {
      if (own.low_deg[from] === null) {
        from += 1;
        continue;
      }
      let to = from;
      while (to < own.low_deg.length && own.low_deg[to] !== null) to += 1;
      const columns = Array.from({ length: to - from }, (_, place) => from + place);
      const above = columns.map((column) => `${x(column + 0.5)} ${y(own.high_deg[column])}`);
      const below = columns.reverse().map((column) => `${x(column + 0.5)} ${y(own.low_deg[column])}`);
      d += `M${above.join("L")}L${below.join("L")}z`;
      from = to;
    }
    return [shape("path", { class: "zero", d: `M${INSET} ${y(0)}H${this.width - INSET}` }), shape("path", { class: "envelope", d })];
  }

  /** Repetitions so near each other that they cannot be told apart share a bar. */
  bars() {
    const bars = [];
    for (const { lift_start_s, lower_end_s, doubts } of this.track.reps) {
      const [a, b] = [this.x(lift_start_s), this.x(lower_end_s)];
      const last = bars.at(-1);
      const doubtful = doubts.length > 0;
      if (last && a - last.b < 1.5 && b - last.a < 6 && last.doubtful === doubtful) last.b = b;
      else bars.push({ a: last ? Math.max(a, Math.min(last.b + 1, b)) : a, b, doubtful });
    }
    const [top, foot] = [HEIGHT - BARS, HEIGHT - 2];
    const path = (chosen) => chosen.map(({ a, b }) => `M${a.toFixed(1)} ${top}H${Math.max(b, a + 1).toFixed(1)}V${foot}H${a.toFixed(1)}z`).join("");
    return [
      shape("path", { class: "bar", d: path(bars.filter((bar) => !bar.doubtful)) }),
      shape("path", { class: "bar doubtful", d: path(bars.filter((bar) => bar.doubtful)) }),
    ];
  }

  gaps() {
    return (this.track.own.curve?.gaps_s ?? []).map(([from_s, to_s]) => {
      const width = Math.max(this.x(to_s) - this.x(from_s), 2);
      return shape("rect", { class: "gap strip-gap", x: this.x(from_s), y: 1, width, height: HEIGHT - BARS - 6 });
    });
  }
}
