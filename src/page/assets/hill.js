// The hill: pace and range in one picture, to be read from two metres.
//
// Ours. One repetition is a hill that the hand walks over. Height is how far the hand is; left to
// right is the time that the tempo asks for, one block of ground for each counted second. The blocks
// fill as the asked time passes. The ball is the hand: on the ground it keeps the pace, above the
// ground of a lowering it takes its time, under it it is ahead, and the blocks that were not walked
// stay empty. The stripe across is where to reach, the roof over it is far enough.
//
// It only draws: what was hurried or short is said by the program.

import { shape } from "./dom.js";
import { words } from "./words.js";

const PARTS = ["lift", "hold", "lower", "rest"];
/** Ground of a phase that no time is asked for, in seconds of the others. */
const UNASKED_S = { lift: 2, hold: 0, lower: 2, rest: 0 };
/** A height for people of whom none is asked, degrees. */
const USUAL_RISE_DEG = 45;

export function hill() {
  const still = shape("g");
  const walked = shape("g");
  const moving = shape("g");
  const picture = shape("svg", { class: "hill", role: "img", "aria-label": words.working.figure });
  picture.append(still, walked, moving);
  const before = shape("path", { class: "trail before" });
  const trail = shape("path", { class: "trail" });
  const tether = shape("path", { class: "tether" });
  const ball = shape("g", { class: "ball" }, shape("circle"), shape("path"));
  moving.append(before, tether, trail, ball);

  const asked = { lift: null, hold: null, lower: null, rest: null };
  let base_deg = null;
  let peak_deg = null;
  let target_deg = null;
  let ceiling_deg = null;
  let points = []; // the way of this repetition
  let last = []; // and of the one before
  let phase = "none";
  let at = null; // where the hand is: {part, along, deg}
  let ground = [];
  let laid = "";

  function take(exercise, live) {
    for (const part of PARTS) {
      const told = exercise.asked?.[`${part}_s`];
      if (told !== undefined) asked[part] = told;
    }
    if (live.asked_s !== null && live.phase in asked) asked[live.phase] = live.asked_s;
    target_deg = live.target_deg;
    ceiling_deg = live.no_further_deg;
    const deg = live.angle_deg;
    if (deg === null) return;
    const began = live.phase === "lift" && phase !== "lift";
    const low = live.phase === "rest" || live.phase === "none" || live.standing !== "going";
    if (base_deg === null || (low && Math.abs(deg - base_deg) > 4 && live.standing !== "going")) base_deg = deg;
    else if (low && deg < base_deg - 4) base_deg = deg;
    if (live.phase === "hold" || live.phase === "lower") peak_deg = Math.max(peak_deg ?? deg, deg);
    if (began) {
      if (points.length > 1) last = points;
      points = [];
    }
    phase = live.phase;
    const seconds = asked[live.phase];
    let along = 0;
    if (low) at = at && points.length > 0 ? { ...at, deg } : { part: "lift", along: 0, deg };
    else if (PARTS.includes(live.phase)) {
      if (seconds) along = Math.min(1, live.phase_s / seconds);
      else {
        const up = Math.min(1, Math.max(0, (deg - base_deg) / Math.max(10, top() - base_deg)));
        along = live.phase === "lower" ? 1 - up : up;
      }
      at = { part: live.phase, along, deg };
      points.push(at);
      if (points.length > 900) points.splice(1, 2);
    }
  }

  /** The height of the hill, degrees. */
  function top() {
    if (target_deg !== null) {
      return ceiling_deg !== null ? (target_deg + ceiling_deg) / 2 : target_deg;
    }
    const usual = Math.max(peak_deg ?? 0, (base_deg ?? 0) + USUAL_RISE_DEG);
    return ceiling_deg !== null ? Math.min(usual, ceiling_deg - 5) : Math.ceil(usual / 10) * 10;
  }

  function span(part) {
    return asked[part] ?? UNASKED_S[part];
  }

  function scale(width, height) {
    const most = top();
    const low = base_deg ?? 0;
    const rise = Math.max(15, most - low);
    const roof = ceiling_deg ?? most;
    const high = Math.max(roof + 0.3 * rise, most + 0.35 * rise);
    const under = low - 0.36 * rise;
    const all = PARTS.reduce((sum, part) => sum + span(part), 0);
    const begins = {};
    let sum = 0;
    for (const part of PARTS) {
      begins[part] = sum / all;
      sum += span(part);
    }
    const margin = 0.035 * width;
    const x = (part, along) => margin + (width - 2 * margin) * (begins[part] + (along * span(part)) / all);
    const y = (deg) => height * (1 - (Math.min(high, Math.max(under, deg)) - under) / (high - under));
    // A hand sets off gently and arrives gently.
    const gently = (u) => u * u * (3 - 2 * u);
    const path = {
      lift: (u) => low + (asked.lift ? gently(u) : u) * (most - low),
      hold: () => most,
      lower: (u) => most - (asked.lower ? gently(u) : u) * (most - low),
      rest: () => low,
    };
    return { x, y, path, most, low };
  }

  function lay(width, height, letters) {
    const map = scale(width, height);
    still.replaceChildren();
    walked.replaceChildren();
    ground = [];
    const { x, y, path } = map;
    if (ceiling_deg !== null) {
      const edge = y(ceiling_deg);
      still.append(shape("rect", { class: "roof", x: 0, y: 0, width, height: edge }));
      let strokes = "";
      for (let at = -edge; at < width; at += 26) strokes += `M${at} ${edge}l${edge} ${-edge}`;
      still.append(shape("path", { class: "roof-strokes", d: strokes }));
    }
    if (target_deg !== null) {
      const upper = ceiling_deg !== null ? y(ceiling_deg) : y(top()) - 0.1 * height;
      still.append(shape("rect", { class: "reach", x: 0, y: upper, width, height: y(target_deg) - upper }));
      still.append(shape("path", { class: "reach-edge", d: `M0 ${y(target_deg)}H${width}` }));
    }
    if (ceiling_deg !== null) {
      still.append(shape("path", { class: "roof-edge", d: `M0 ${y(ceiling_deg)}H${width}` }));
    }
    const label = (text, upper, lower) => {
      if (lower - upper < 0.8 * letters) return;
      const size = letters;
      const written = shape("text", { class: "label-right", x: width - 0.35 * letters, y: (upper + lower) / 2 + 0.35 * size, "font-size": size });
      written.textContent = text;
      still.append(written);
    };
    if (ceiling_deg !== null) label(words.working.ceiling, 0, y(ceiling_deg));
    if (target_deg !== null) label(words.working.band, ceiling_deg !== null ? y(ceiling_deg) : y(top()) - 0.1 * height, y(target_deg));
    for (const part of PARTS) {
      const seconds = span(part);
      if (seconds <= 0) continue;
      const blocks = asked[part] ? Math.ceil(seconds - 0.01) : 1;
      for (let block = 0; block < blocks; block += 1) {
        const from = (asked[part] ? block : 0) / (asked[part] ? seconds : 1);
        const to = Math.min(1, (block + 1) / (asked[part] ? seconds : 1));
        const corners = [x(part, from), x(part, to)];
        let d = `M${corners[0]} ${height}`;
        for (let step = 0; step <= 12; step += 1) {
          const along = from + ((to - from) * step) / 12;
          d += `L${x(part, along).toFixed(1)} ${y(path[part](along)).toFixed(1)}`;
        }
        d += `L${corners[1]} ${height}Z`;
        const clip = shape("rect", { y: 0, height, width: 0, x: corners[0] });
        const id = `block-${part}-${block}`;
        still.append(shape("path", { class: "block", d }));
        walked.append(shape("clipPath", { id }, clip));
        const filled = shape("path", { class: "block filled", d, "clip-path": `url(#${id})` });
        const number = shape("text", { class: "second", x: (corners[0] + corners[1]) / 2, y: height - 0.32 * letters, "font-size": letters });
        number.textContent = asked[part] ? String(block + 1) : "";
        const outline = shape("path", { class: "block-now", d });
        walked.append(filled, outline, number);
        ground.push({ part, from, to, clip, outline, number, corners });
      }
    }
    return map;
  }

  /** Draws what was taken last. */
  function draw() {
    const width = picture.clientWidth;
    const height = picture.clientHeight;
    if (width === 0 || height === 0) return;
    const letters = Math.max(window.innerWidth >= 1024 ? 48 : 22, Math.min(64, width / 15));
    const wanted = [width, height, base_deg, top(), target_deg, ceiling_deg, ...Object.values(asked)].join();
    const map = wanted === laid ? scale(width, height) : lay(width, height, letters);
    if (wanted !== laid) picture.setAttribute("viewBox", `0 0 ${width} ${height}`);
    laid = wanted;
    const order = at ? PARTS.indexOf(at.part) : -1;
    const going = points.length > 0;
    for (const block of ground) {
      const own = PARTS.indexOf(block.part);
      let share = 0;
      if (going && at) {
        if (own < order) {
          const passed = points.findLast((point) => point.part === block.part);
          share = Math.min(1, Math.max(0, ((passed?.along ?? 0) - block.from) / (block.to - block.from)));
        } else if (own === order) {
          share = Math.min(1, Math.max(0, (at.along - block.from) / (block.to - block.from)));
        }
      }
      block.clip.setAttribute("width", share * (block.corners[1] - block.corners[0]));
      const now = going && own === order && phase === at.part && at.along >= block.from && (at.along < block.to || block.to === 1);
      block.outline.classList.toggle("here", now);
      block.number.classList.toggle("on", share > 0.5);
      block.number.classList.toggle("here", now);
    }
    if (at === null || at.deg === null) {
      moving.setAttribute("visibility", "hidden");
      return;
    }
    moving.setAttribute("visibility", "visible");
    const x = map.x(at.part, at.along);
    const y = map.y(at.deg);
    const path_y = map.y(map.path[at.part](at.along));
    const size = Math.max(13, Math.min(34, width / 26));
    const way = (points) =>
      points.map((point, place) => `${place ? "L" : "M"}${map.x(point.part, point.along).toFixed(1)} ${map.y(point.deg).toFixed(1)}`).join("");
    trail.setAttribute("d", way(points));
    trail.setAttribute("stroke-width", size * 0.45);
    before.setAttribute("d", way(last));
    before.setAttribute("stroke-width", size * 0.16);
    // Under the ground of a lowering the hand is ahead of what is asked: a wedge that points down.
    const room = Math.max(size, 0.16 * Math.abs(map.y(map.low) - map.y(map.most)));
    const ahead = phase === "lower" && y - path_y > room;
    picture.classList.toggle("ahead", ahead);
    let chevrons = "";
    if (ahead) {
      const half = size * 0.6;
      for (let down = path_y + half; down < y - size; down += size * 0.8) {
        chevrons += `M${x - half} ${down}l${half} ${half}l${half} ${-half}`;
      }
    }
    tether.setAttribute("d", chevrons);
    tether.setAttribute("stroke-width", size * 0.25);
    ball.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    ball.firstChild.setAttribute("r", size);
    ball.lastChild.setAttribute("d", `M${-size * 1.25} ${-size * 0.8}H${size * 1.25}L0 ${size * 1.2}Z`);
  }

  return { picture, take, draw };
}
