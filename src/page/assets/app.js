// Takes what the program shows, draws it, and sends back what was pressed. Nothing is decided here.

import { stayAwake } from "./awake.js";
import { bars } from "./bars.js";
import * as caption from "./caption.js";
import { el } from "./dom.js";
import { screens } from "./screens.js";
import * as voice from "./voice.js";
import { words } from "./words.js";
import { stopSign, timed, working } from "./working.js";

const all = { ...screens, working, timed };
const [lost, main, foot, ask] = ["lost", "screen", "foot", "ask"].map(
  (id) => document.getElementById(id),
);

let view = null;
let shown = { key: "", made: null, since: 0 };
let wanted = false;
let heard = 0; // number of the last line
let seen = performance.now(); // when the last view came
let lost_until = 0; // a press that was lost is told of so long
let stopped = -Infinity; // when a running thing was stopped last
let over = false; // the program has said that it ends

// ---- what is sent

async function press(name, has = {}) {
  voice.unlock();
  stayAwake();
  try {
    const answer = await fetch("/press", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ press: name, ...has }),
    });
    if (!answer.ok) throw new Error(String(answer.status));
  } catch {
    if (lost.childElementCount === 0) lost.append(el("strong", {}, words.lost.press));
    lost_until = performance.now() + 6000;
  }
}

/** A question that is asked once, over the screen. */
function asks(heading, text, answers) {
  if (ask.open) return;
  const close = () => ask.close();
  ask.replaceChildren(
    el("h2", { id: "ask-heading" }, heading),
    el("p", {}, text),
    el(
      "div.row",
      {},
      answers.map(([words, then, kind = ""]) => {
        const answers = () => {
          close();
          then?.();
        };
        // What is focused is the answer that changes nothing.
        return el(`button${kind}`, { type: "button", onclick: answers, autofocus: then === null }, words);
      }),
    ),
  );
  ask.showModal();
}

const skip = () =>
  el("button.quiet", {
    type: "button",
    "data-set": "skip",
    onclick: () =>
      asks(words.skip.heading, words.skip.words, [
        ...Object.entries(words.skip.reasons).map(([reason, text]) => [text, () => press("skip", { reason })]),
        [words.skip.no, null, ".quiet"],
      ]),
  }, words.skip.button);

function finish() {
  asks(words.finish.heading, words.finish.words, [
    [words.finish.yes, () => press("finish-here")],
    [words.finish.no, null, ".main"],
  ]);
}

// ---- what is shown

/** What makes it another screen, and not the same one with other numbers. */
function keyOf({ screen, weights }) {
  const { left_s, live, hold, position, ...stays } = screen;
  return JSON.stringify([stays, left_s === null, live === undefined, weights]);
}

/** Any key, click or touch stops what runs. */
const runs = () => {
  const { screen } = view ?? {};
  return screen?.screen === "working" || (screen?.screen === "timed" && screen.left_s !== null && !screen.tingling);
};

function show(box) {
  shown.since = performance.now();
  box.querySelector("h1")?.focus({ preventScroll: true });
  window.scrollTo(0, 0);
}

/** How what runs is stopped: of a set, first the way that needs no hand. */
function stopHint({ screen, exercise }) {
  if (screen !== "working") return words.working.stopHint.timed;
  return exercise.load_kg === 0 ? words.working.stopHint.empty : words.working.stopHint.weight;
}

function footer() {
  const name = view.screen.screen;
  const over = name === "summary" || name === "not-today";
  foot.replaceChildren(
    ...(runs()
      ? [el("p.stop-bar", {}, stopSign(), el("strong", {}, words.working.stop), el("span", {}, stopHint(view.screen)))]
      : []),
    ...(over ? [] : [el("button.quiet.finish", { type: "button", onclick: finish }, words.finish.button)]),
  );
}

function draw() {
  wanted = false;
  if (view === null || over) return;
  const key = keyOf(view);
  if (key !== shown.key) {
    const name = view.screen.screen;
    const same = document.body.dataset.screen === name && name === "working";
    const make = all[name];
    if (!make) return;
    shown.made?.over?.();
    const made = make(view.screen, { press, skip, show, view });
    shown = { key, made: Array.isArray(made) ? {} : made, since: performance.now() };
    document.body.dataset.screen = name;
    main.replaceChildren(el(`div.page.${name}`, {}, Array.isArray(made) ? made : made.parts));
    main.removeAttribute("aria-busy");
    if (!same) caption.goesOn();
    footer();
    const heading = main.querySelector("h1");
    document.title = `${heading?.textContent ?? ""} - ${words.page}`;
    if (!ask.open) show(main);
    caption.fits(main);
  }
  bars(view);
  // "Begin when you like" is over with the first lift.
  const going = view.screen.live?.standing === "going";
  if (going && !shown.going) caption.clear();
  shown.going = going;
  // Before it begins the screen itself says what is said.
  caption.hide(view.screen.screen === "paused", view.screen.live !== undefined && !going);
  shown.made.update?.(view.screen, view);
  if (window.__frames) timesFrame(window.__frames);
}

/** For whoever laid a list out before the page came: when the view's sample came, when the view was
 *  drawn, and the next frame's beginning, by which time it was shown. */
function timesFrame(frames) {
  const frame = { sample_at_ms: view.sample_at_ms ?? null, drawn_ms: performance.now(), shown_ms: null };
  frames.push(frame);
  requestAnimationFrame(() => {
    frame.shown_ms = performance.now();
  });
}

function wish() {
  if (!wanted) {
    wanted = true;
    requestAnimationFrame(draw);
  }
}

// ---- what comes

let source = null;
function listen() {
  source?.close();
  source = new EventSource("/events");
  source.addEventListener("open", () => heartens());
  source.addEventListener("view", (event) => {
    view = JSON.parse(event.data);
    heartens();
    // A hidden window draws nothing, and keeps the way of the hand all the same.
    if (keyOf(view) === shown.key) shown.made?.take?.(view);
    wish();
  });
  source.addEventListener("over", ends);
  source.addEventListener("line", (event) => {
    const line = JSON.parse(event.data);
    if (line.id <= heard && heard - line.id < 1000) return;
    heard = line.id;
    voice.say(line);
    if (line.kind === "other" || line.kind === "remark") {
      caption.says(line.words);
      caption.fits(main);
    }
  });
}

/** The program ends: what was said last stays to be read, and nothing is left to press. */
function ends() {
  over = true;
  source.close();
  voice.hush();
  if (ask.open) ask.close();
  lost.replaceChildren();
  foot.replaceChildren();
  const closed = el("p.big", { role: "status" }, words.over.words);
  if (["summary", "not-today"].includes(view?.screen.screen)) {
    for (const row of main.querySelectorAll(".row")) row.replaceWith(closed);
    return;
  }
  shown.made?.over?.();
  document.body.dataset.screen = "over";
  caption.clear();
  main.replaceChildren(el("div.page.over", {}, el("h1", { tabindex: "-1" }, words.over.heading), closed));
  document.title = `${words.over.heading} - ${words.page}`;
  show(main);
}

function heartens() {
  seen = performance.now();
  if (lost.childElementCount > 0 && seen > lost_until) lost.replaceChildren();
}

function watch() {
  if (over) return;
  const away = performance.now() - seen;
  const silent = source.readyState !== EventSource.OPEN || (view?.screen.live?.standing === "going" && view.sensor.link === "there");
  if (!silent || away < 2000) {
    if (lost.childElementCount > 0 && performance.now() > lost_until) lost.replaceChildren();
    return;
  }
  if (lost.childElementCount === 0) {
    lost.append(el("strong", {}, words.lost.heading), el("span", {}, ` ${words.lost.words}`));
  }
  if (source.readyState === EventSource.CLOSED && away > 3000) {
    seen = performance.now() - 2001;
    listen();
  }
}

// ---- keys, clicks, touches

/** Keys of the machine itself, which nobody presses to stop. */
const MACHINE = /^(Audio|Media|Brightness|Launch|Unidentified)/;

function stops(event) {
  voice.unlock();
  if (over || !runs() || ask.open || performance.now() - shown.since < 600) return false;
  if (event.type === "pointerdown" && event.target.closest?.("[data-set]")) return false;
  // A second press may come before the program has answered the first: it would answer the next
  // screen's question.
  if (performance.now() - stopped > 1500) {
    stopped = performance.now();
    press("pause");
  }
  // Asked after the press is over, since the button under it goes with the screen.
  if (event.type === "pointerdown" && event.target.closest?.(".finish")) setTimeout(finish, 200);
  return true;
}

// The second half of a double click is no answer to the screen that has just come.
document.addEventListener(
  "click",
  (event) => {
    if (event.detail > 0 && !ask.open && performance.now() - shown.since < 350) {
      event.preventDefault();
      event.stopPropagation();
    }
  },
  { capture: true },
);

document.addEventListener("pointerdown", stops, { capture: true });
document.addEventListener(
  "keydown",
  (event) => {
    if (event.repeat || MACHINE.test(event.key)) return;
    if (event.target.closest?.("[data-set]") && (event.key === "Enter" || event.key === " ")) return;
    if (stops(event)) {
      event.preventDefault();
      return;
    }
    const enter = main.querySelector("[data-enter]");
    const idle = !event.target.closest?.("button, input, textarea, dialog");
    if (enter && idle && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      enter.click();
    }
  },
  { capture: true },
);

document.addEventListener("visibilitychange", () => {
  if (!document.hidden) {
    stayAwake();
    wish();
  }
});

listen();
setInterval(watch, 500);
