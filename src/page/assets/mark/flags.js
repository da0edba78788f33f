// The marks as flags upon the curve, which can be taken by hand and moved.

import { shape } from "../dom.js";

/** A flag is taken from so far, px: with a mouse, with a finger. */
const REACH_PX = { mouse: 12, pen: 14, touch: 24 };
const HEAD_PX = 9;
/** What each head looks like: going up, arrived, going down, arrived. */
const HEADS = ["M-5 4L5 -5V4z", "M-5 4V-4H5V4z", "M-5 -4H5V4H-5z", "M-5 -5V4H5z"];

export class Flags {
  /** `moved` is called with a flag and a time while it moves, and once more without a time. */
  constructor(moved) {
    this.moved = moved;
    /** {id, part, time_s, still} */
    this.list = [];
    this.held = null;
  }

  show(list) {
    this.list = list;
  }

  shapes(curve) {
    const [from_s, to_s] = curve.span;
    const foot = curve.floor_px;
    return this.list.filter(({ time_s }) => time_s >= from_s && time_s <= to_s).map(({ part, time_s, still }) => {
      const x = curve.x(time_s).toFixed(1);
      const head = curve.top_px + HEAD_PX + 3;
      const parts = [shape("path", { class: "pole", d: `M${x} ${head}V${foot}` })];
      if (!still) parts.push(shape("circle", { class: "grip", cx: x, cy: head, r: HEAD_PX }));
      parts.push(shape("path", { class: "head", transform: `translate(${x} ${head})`, d: HEADS[part] }));
      return shape("g", { class: still ? "flag still" : "flag" }, ...parts);
    });
  }

  /** Takes the flag that a press is on; the head is what is taken. */
  grab(curve, event) {
    const head = curve.svg.getBoundingClientRect().top + curve.top_px + HEAD_PX + 3;
    const reach = REACH_PX[event.pointerType] ?? REACH_PX.mouse;
    if (Math.abs(event.clientY - head) > reach) return false;
    const at_s = curve.timeAt(event.clientX);
    const near = this.list.filter(({ still }) => !still).map((flag) => [Math.abs(flag.time_s - at_s) * curve.px_s, flag]).sort((a, b) => a[0] - b[0])[0];
    if (!near || near[0] > reach) return false;
    this.held = near[1];
    return true;
  }

  drag(at_s) {
    if (this.held) this.moved(this.held, at_s);
  }

  drop() {
    if (this.held) this.moved(this.held, null);
    this.held = null;
  }
}
