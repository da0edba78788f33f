// The screens on which something runs: a set, and what goes by the clock.

import { drawing, el, movementDrawing, shape, write } from "./dom.js";
import { hill } from "./hill.js";
import { tick } from "./voice.js";
import { words } from "./words.js";

const SVG_SIGNS = {
  // Two arrowheads down: faster than asked. A flat bar: slower, which is no fault. A tick: as asked.
  hurried: "M6 8l18 16l18 -16M6 24l18 16l18 -16",
  slower: "M6 24h36",
  "in-band": "M7 26l11 11l23 -27",
  // A gap under a line; a line that is touched; a line that is crossed.
  short: "M4 8h40M24 44v-22M15 31l9 -9l9 9",
  "far-enough": "M4 30h40M24 46v-40M15 15l9 -9l9 9",
};

function sign(name) {
  return shape("svg", { class: "sign", viewBox: "0 0 48 48", "aria-hidden": "true" }, shape("path", { d: SVG_SIGNS[name] }));
}

/** The sign that says stop: eight corners. */
export function stopSign() {
  const octagon = "M15 2h18l13 13v18l-13 13h-18l-13 -13v-18z";
  return shape("svg", { class: "stop-sign", viewBox: "0 0 48 48", "aria-hidden": "true" }, shape("path", { d: octagon }), shape("path", { class: "bar", d: "M12 24h24" }));
}

function says(box, kind, name, text) {
  const key = name ?? "";
  if (box.dataset.says === key) return;
  box.dataset.says = key;
  box.replaceChildren(...(name ? [sign(name), el("span", {}, text)] : []));
  box.hidden = !name;
}

/** A set. */
export function working(screen, { press }) {
  const { exercise } = screen;
  const count = el("span.count", {}, "0");
  const word = el("span.word");
  const second = el("span.second-now");
  const prompt = el("p.prompt");
  const pace = el("p.said.pace");
  const reach = el("p.said.reach-said");
  const figure = hill();
  const still = movementDrawing(exercise);
  const field = el("div.field", {}, figure.picture, still);
  const enough = el("button.main.huge.enough", { type: "button", "data-set": "enough", onclick: () => press("enough") }, words.working.enough);
  const more = el("div.more", { hidden: true }, enough, el("p", {}, words.working.enoughHint));
  const asks = el("p.asks-tingling", { "aria-live": "polite", hidden: true }, words.working.asksTingling);
  let live = screen.live;
  let ticked = "";

  // Every view is taken, so that the way the hand went has no holes; only the newest is drawn.
  const take = ({ screen }) => {
    figure.take(screen.exercise, screen.live);
    live = screen.live;
    const { phase, phase_s, asked_s, standing } = live;
    const at = `${phase} ${Math.floor(phase_s)}`;
    if (standing === "going" && asked_s !== null && phase_s < asked_s && at !== ticked) tick();
    ticked = at;
  };
  const update = () => {
    const { standing, phase, phase_s, asked_s, latest } = live;
    const going = standing === "going";
    section.dataset.standing = standing;
    section.dataset.phase = going ? phase : "";
    write(count, String(live.count));
    write(word, going ? live.word : "");
    const paced = going && asked_s !== null;
    write(second, paced && asked_s > 1 ? String(Math.max(1, Math.min(Math.ceil(asked_s), Math.floor(phase_s) + 1))) : "");
    still.hidden = standing !== "await-still";
    figure.picture.classList.toggle("away", standing === "await-still");
    const readyHint = exercise.range_test ? words.working.rangeHint : words.working.readyHint;
    const hint = exercise.load_kg === 0 ? words.working.stillHintEmpty : words.working.stillHint;
    write(
      prompt,
      { "await-still": `${words.working.still}. ${hint}`, ready: `${words.working.ready}. ${readyHint}` }[standing] ?? "",
    );
    const dose = going && live.count >= exercise.target;
    more.hidden = !dose;
    prompt.hidden = going;
    asks.hidden = !live.asks_tingling;
    const told = going && !dose && !live.asks_tingling ? latest : null;
    says(pace, "pace", told?.verdict, words.working.verdict[told?.verdict]);
    const far = told?.reach === "within" ? null : told?.reach;
    says(reach, "reach", far, words.working.reach[far]);
    if (standing !== "await-still") figure.draw();
  };

  const section = el(
    "section.set",
    {},
    el("h1", { tabindex: "-1" }, `${exercise.words}, ${words.hand[exercise.side]}, ${exercise.load_words}`),
    el(
      "div.tally",
      {},
      el("p.done", {}, count, el("span.of", {}, words.working.of(exercise.target))),
      el("p.now", {}, word, second),
    ),
    field,
    el("div.strip", {}, prompt, asks, reach, pace, more),
  );
  const resize = new ResizeObserver(() => section.isConnected && update());
  resize.observe(field);
  take({ screen });
  return { parts: [section], update, take, over: () => resize.disconnect() };
}

const PICTURES = {
  "tendon-glides": (side) => drawing("glides.svg", { side }),
  shaking: (side) => drawing("care.svg", { what: "shaking", side }),
  "self-massage": (side) => drawing("care.svg", { what: "self-massage", side }),
  breathing: (side) => drawing("care.svg", { what: "breathing", side }),
  "own-words": () => null,
};

/** A stretch, a hold, or another thing by the clock. */
export function timed(screen, { press, skip }) {
  const side = screen.side ?? "right";
  const begun = screen.left_s !== null;
  const picture = (PICTURES[screen.drawing] ?? (() => drawing("stretch.svg", { stretch: screen.drawing, side })))(side);
  const clock = el("span.clock", { "aria-hidden": "true" });
  const spoken = el("span.unseen");
  const position = el("p.position", { hidden: true });
  const steady = el("strong");
  const kept = el("span");
  const hold = el("p.hold", { hidden: true }, steady, kept);
  const update = ({ left_s, hold: held, position: now }) => {
    if (left_s === null) return;
    position.hidden = now === null;
    write(position, now ?? "");
    hold.hidden = held === null;
    if (held !== null) {
      hold.dataset.steady = held.steady;
      write(steady, held.steady ? words.timed.steady : words.timed.moving);
      write(kept, `, ${words.timed.kept(held.away_deg)}`);
    }
    write(clock, String(Math.ceil(left_s)));
    write(spoken, `${Math.ceil(left_s / 10) * 10} ${words.timed.left}`);
  };
  update(screen);
  const lasts = begun ? null : words.timed.lasts(Math.round(screen.lasts_s));
  const which = [screen.side ? words.hand[screen.side] : words.timed.both, lasts, screen.time_of[1] > 1 ? words.timed.of(...screen.time_of) : null];
  const button = (text, kind, pressed) => el(`button${kind}`, { type: "button", onclick: () => press(pressed) }, text);
  const buttons = screen.tingling
    ? [button(words.timed.tinglingYes, ".stop.huge", "yes"), button(words.timed.tinglingNo, ".huge", "no")]
    : begun
      ? [skip()]
      : [button(words.start, ".main.huge", "next"), button(words.hurts, ".stop", "pause"), skip()];
  return {
    update,
    parts: [
      el("h1", { tabindex: "-1" }, screen.tingling ? words.timed.tingling : screen.heading),
      el(
        `div.beside${begun && !screen.tingling ? ".runs" : ""}`,
        {},
        picture,
        el(
          "div",
          {},
          screen.tingling ? el("div.row", {}, buttons) : null,
          begun ? el("p.countdown", {}, clock, spoken, el("span.under", { "aria-hidden": "true" }, words.timed.left)) : null,
          position,
          el("p.big", {}, which.filter(Boolean).join(", ")),
          hold,
          screen.tingling || begun ? null : el("p.how", {}, screen.words),
          screen.tingling ? null : el("div.row", {}, buttons),
        ),
        begun && !screen.tingling ? el("p.how", {}, screen.words) : null,
      ),
    ],
  };
}
