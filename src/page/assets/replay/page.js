// Plays a recording that is over: the time runs, is stepped or is set; the rest draws what is so then.

import { el, write } from "../dom.js";
import { Curve } from "./curve.js";
import { Repetition, Table, key, keys, setFacts, titleOf } from "./figures.js";
import { Now } from "./now.js";
import { Player } from "./player.js";
import { Strip } from "./strip.js";
import { Track, after, recording } from "./track.js";
import { words } from "./words.js";

const SPEEDS = [0.25, 0.5, 1, 2, 4];
/** Within so long after its start, "previous" goes to the repetition before, seconds of watching. */
const JUST_NOW_S = 0.6;

const [invented, top, trouble, main, told] = ["invented", "top", "trouble", "main", "told"].map((id) => document.getElementById(id));

let track = null;
const player = new Player(draw);

// ---- what is seen

const now = new Now();
const curve = new Curve(seek);
const strip = new Strip(seek, slides);
const figures = new Repetition();
const table = new Table((at) => step(at));

const play = el("button.main.play", { type: "button", onclick: () => player.toggle() });
const previous = el("button.step", { type: "button", onclick: () => step(earlier()) });
const next = el("button.step", { type: "button", onclick: () => step(later()) });
const clock = el("p.clock");
const speeds = el("fieldset.speeds", {}, el("legend", {}, words.control.speed), SPEEDS.map((one) => {
  const id = `speed-${one}`;
  const input = el("input", { type: "radio", name: "speed", id, value: one, checked: one === 1, onchange: () => (player.speed = one) });
  return el("span.speed", {}, input, el("label", { for: id }, words.control.times(one)));
}));
const keySpot = el("div.key-spot");
const setSpot = el("section.set");
const box = el("div.player", {}, now.box,
  el("section.plot", { "aria-label": words.curve.heading }, curve.svg, keySpot, strip.box),
  el("section.controls", { "aria-label": words.control.play }, el("div.buttons", {}, previous, play, next), clock, speeds));
const help = keys();
const still = el("section.nothing", { hidden: true }, el("p", {}, words.empty.still));

function draw() {
  if (!track?.curve) return;
  const { t_s, playing } = player;
  curve.draw(t_s);
  const at = track.repetitionAt(t_s);
  // A reader of the screen is not told of every frame.
  const moment = () => words.strip.value(t_s.toFixed(1), track.end_s.toFixed(1), figures.named(at), words.phase[track.phaseAt(t_s).name]);
  strip.draw(t_s, playing ? words.strip.playing : moment(), curve.span);
  now.draw(t_s);
  figures.draw(at);
  table.draw(at);
  write(clock, `${t_s.toFixed(1)} / ${track.end_s.toFixed(1)} s`);
  write(play, playing ? words.control.pause : player.ended ? words.control.again : words.control.play);
  previous.setAttribute("aria-disabled", String(earlier() === null));
  next.setAttribute("aria-disabled", String(later() === null));
}

// ---- what is done

/** Goes to a time; what is pressed within the curve leaves its window where it is. */
function seek(to_s) {
  player.seek(to_s);
}

/** The repetition to go back to; `null` where there is none. */
function earlier() {
  const at = track.repetitionAt(player.t_s);
  if (at < 0) return null;
  const since_s = player.t_s - track.reps[at].lift_start_s;
  if (since_s > (player.playing ? JUST_NOW_S * player.speed : 0)) return at;
  return at > 0 ? at - 1 : null;
}

function later() {
  const at = after(track.reps, player.t_s, (rep) => rep.lift_start_s);
  return at < track.reps.length ? at : null;
}

function step(at) {
  if (at === null) return;
  seek(track.reps[at].lift_start_s);
  write(told, figures.told(at));
}

// ---- keys

function slides(event) {
  const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
  if (by !== undefined) seek(player.t_s + by * (event.shiftKey ? 0.1 : 1));
  else if (event.key === "PageUp") step(later());
  else if (event.key === "PageDown") step(earlier());
  else if (event.key === "Home") seek(track.start_s);
  else if (event.key === "End") seek(track.end_s);
  else return;
  event.preventDefault();
}

document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || !track?.curve) return;
  const on = event.target.closest?.("button, select, input, summary, .wide");
  const onTime = on === strip.slider;
  if (event.key === " " && (!on || onTime || on.type === "radio")) player.toggle();
  else if (event.key === "ArrowLeft" && (!on || on.matches("button"))) step(earlier());
  else if (event.key === "ArrowRight" && (!on || on.matches("button"))) step(later());
  else return;
  event.preventDefault();
});

// ---- what is played

function show(all, number) {
  track = new Track(number, all.analysis.sets[number], all.sets[number], came);
  player.span(track.start_s, track.end_s);
  if (track.curve) for (const part of [curve, strip, now, figures]) part.show(track);
  table.show(track);
  const one = track.own.goes_round ? words.control.turn : words.control.repetition;
  previous.replaceChildren(el("span", { "aria-hidden": "true" }, "\u25c2 "), words.control.previous, el("span.of-what", {}, ` ${one}`));
  next.replaceChildren(words.control.next, el("span.of-what", {}, ` ${one}`), el("span", { "aria-hidden": "true" }, " \u25b8"));
  keySpot.replaceChildren(key(track));
  setSpot.replaceChildren(...setFacts(track, all.analysis.warnings));
  for (const part of [box, figures.box, help]) part.hidden = !track.curve;
  still.hidden = Boolean(track.curve);
  draw();
}

/** A part of the curve has come, or could not be had. */
function came(well) {
  trouble.replaceChildren(...(well ? [] : [el("strong", {}, words.trouble.program)]));
  curve.again();
  if (!player.playing) requestAnimationFrame(draw);
}

function head(all) {
  const { name, samples_count, start_s, end_s } = all;
  const range = samples_count === 0 ? words.head.empty : words.head.whole(samples_count, start_s.toFixed(1), end_s.toFixed(1));
  top.replaceChildren(el("h1", {}, name), el("p.hint", {}, range), el("p", {}, el("a", { href: "/drill" }, words.head.drill)));
  document.title = `${name} - ${words.page}`;
  invented.hidden = !all.simulated;
  write(invented, words.invented);
  if (all.sets.length < 2) return;
  const options = all.sets.map((own, number) => {
    const set = all.analysis.sets[number];
    const count = words.count(set.reps.length, own.goes_round);
    return el("option", { value: number }, words.head.option(number + 1, titleOf({ set, own }), count));
  });
  const choice = el("select", { id: "set", onchange: (event) => show(all, Number(event.target.value)) }, options);
  top.append(el("p.choice", {}, el("label", { for: "set" }, words.head.set), choice));
}

async function begin() {
  let all;
  try {
    all = await recording();
  } catch {
    trouble.replaceChildren(el("strong", {}, words.trouble.recording));
    main.replaceChildren();
    return;
  }
  head(all);
  main.removeAttribute("aria-busy");
  if (all.sets.length === 0) {
    const notes = el("ul.notes", {}, all.analysis.warnings.map((warning) => el("li", {}, warning)));
    main.replaceChildren(el("section.nothing", {}, el("h2", {}, words.empty.heading), el("p", {}, words.empty.words), notes));
    return;
  }
  main.replaceChildren(box, still, el("div.beside", {}, figures.box, setSpot), table.box, help);
  show(all, 0);
  if (track.curve) strip.slider.focus({ preventScroll: true });
}

begin();
