// Variant: the tide. The panel fills from below to where the hand is; a bar across shows where the
// asked pace would be now.
import { shape } from "./dom.js";
import { words } from "./words.js";
export function hill() {
  const picture = shape("svg", { class: "hill tide", role: "img", "aria-label": words.working.figure });
  let base = null, live = null, exercise = null, phase = "none", held = 0, lasts = 0;
  function take(e, l) {
    exercise = e; live = l;
    if (l.standing !== "going" && l.angle_deg !== null) base = l.angle_deg;
    phase = l.phase;
  }
  function draw() {
    const w = picture.clientWidth, h = picture.clientHeight;
    picture.setAttribute("viewBox", `0 0 ${w} ${h}`);
    picture.replaceChildren();
    if (!live || live.angle_deg === null) return;
    const t = live.target_deg ?? 40, c = live.no_further_deg ?? t + 12, low = base ?? 0, most = (t + c) / 2;
    const hi = c + .14 * (most - low), un = low - .2 * (most - low);
    const y = (d) => h * (1 - (d - un) / (hi - un));
    const add = (tag, has) => picture.append(shape(tag, has));
    add("rect", { class: "roof", x: 0, y: 0, width: w, height: y(c) });
    let s = ""; for (let a = -y(c); a < w; a += 26) s += `M${a} ${y(c)}l${y(c)} ${-y(c)}`;
    add("path", { class: "roof-strokes", d: s });
    add("rect", { class: "reach", x: 0, y: y(c), width: w, height: y(t) - y(c) });
    const level = y(live.angle_deg);
    add("rect", { class: "block filled", x: 0, y: level, width: w, height: h - level });
    add("path", { class: "reach-edge", d: `M0 ${y(t)}H${w}` });
    add("path", { class: "roof-edge", d: `M0 ${y(c)}H${w}` });
    if (live.asked_s) {
      const u = Math.min(1, live.phase_s / live.asked_s);
      const p = phase === "lift" ? low + u * (most - low) : phase === "lower" ? most - u * (most - low) : most;
      const py = y(p), ahead = phase === "lower" && level - py > 30;
      if (ahead) { let d = ""; for (let x = 40; x < w; x += 110) for (let yy = py + 14; yy < level - 30; yy += 34) d += `M${x} ${yy}l24 24l24 -24`; picture.classList.add("ahead"); add("path", { class: "tether", d, "stroke-width": 9 }); }
      add("path", { class: "block-now here", d: `M0 ${py}H${w}`, "stroke-width": 14 });
      add("path", { class: "block-now here", d: `M0 ${py - 30}L44 ${py}L0 ${py + 30}ZM${w} ${py - 30}L${w - 44} ${py}L${w} ${py + 30}Z` });
    }
  }
  return { picture, take, draw };
}
