// A drawn hand that turns as the recorded one did.

import { drawing, el } from "../dom.js";

export class Hand {
  /** `label` says to those who do not see it what it is. */
  constructor(label) {
    this.box = el("div.hand-seen", { role: "img", "aria-label": label });
  }

  /** Another hand: its movement (`null` is a bend), side and whether it holds a weight. */
  show({ movement, side, loaded = false }) {
    this.part = null;
    this.turned = "";
    const frame = drawing("turning.svg", { ...(movement ? { movement } : {}), side: side ?? "right", loaded });
    frame.setAttribute("aria-hidden", "true");
    this.box.replaceChildren(frame);
    // It comes in a moment, and then stands as it has to.
    new MutationObserver(() => this.draw(this.deg ?? 0)).observe(frame, { childList: true });
  }

  /** The angle, degrees; what is not a number is not known, and there is no hand then. */
  draw(deg) {
    this.deg = deg;
    this.part ??= this.box.querySelector(".drawing-turning");
    if (!this.part) return;
    const known = typeof deg === "number";
    this.part.style.visibility = known ? "visible" : "hidden";
    if (!known) return;
    const turned = `rotate(${(Number(this.part.dataset.turn) * deg).toFixed(2)})`;
    if (turned !== this.turned) this.part.setAttribute("transform", turned);
    this.turned = turned;
  }
}
