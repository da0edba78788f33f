// A recording that is marked by hand, and then laid beside what the program marked.

import { el, write } from "../dom.js";
import { Curve } from "../replay/curve.js";
import { key } from "../replay/figures.js";
import { Hand } from "../replay/hand.js";
import { Player } from "../replay/player.js";
import { Strip } from "../replay/strip.js";
import { Track, recording } from "../replay/track.js";
import { compared } from "./compared.js";
import { Flags } from "./flags.js";
import { Marks } from "./marks.js";
import { Saving } from "./saving.js";
import { Table } from "./table.js";
import { words } from "./words.js";

const SPEEDS = [0.1, 0.25, 0.5, 1, 2];
/** The curve has fifty points a second. */
const FRAME_S = 0.02;

const [invented, top, trouble, main, told] = ["invented", "top", "trouble", "main", "told"].map((id) => document.getElementById(id));

/** What is told of the recording, the set that is seen, and once saved the comparison. */
let all = null;
let number = 0;
let track = null;
let marks = null;
let both = null;

// ---- what is seen

const player = new Player(draw);
const hand = new Hand(words.hand);
const guess = el("p.hint", {}, words.guess);
const noHand = el("p.no-hand", {}, words.noHand);
const flags = new Flags(moved);
const curve = new Curve((to_s) => player.seek(to_s), { label: words.curve, flags });
const strip = new Strip((to_s) => player.seek(to_s), slides);
const keySpot = el("div.key-spot");
const handBox = el("section.hand-box", { "aria-label": words.hand }, hand.box, noHand, guess);
const plot = el("section.plot", { "aria-label": words.curve }, el("div.trace", {}, curve.svg, keySpot), strip.box);

const button = (name, has, ...inside) => el(`button${name}`, { type: "button", ...has }, ...inside);
const play = button(".play", { onclick: () => track.curve && player.toggle() });
const back = button(".frame", { "aria-label": words.control.back, onclick: () => step(-FRAME_S) }, "\u2039|");
const on = button(".frame", { "aria-label": words.control.on, onclick: () => step(FRAME_S) }, "|\u203a");
const clock = el("p.clock");
const choices = (name, legend, options, chosen, choose) =>
  el(`fieldset.speeds.${name}`, {}, el("legend", {}, legend), options.map(([value, word]) => {
    const id = `${name}-${value}`;
    const input = el("input", { type: "radio", name, id, value, checked: value === chosen, onchange: () => choose(value) });
    return el("span.speed", {}, input, el("label", { for: id }, word));
  }));
const speeds = choices("speed", words.control.speed, SPEEDS.map((one) => [one, words.control.times(one)]), 1, (one) => (player.speed = one));
const views = choices("view", words.view.legend, ["both", "hand", "curve"].map((one) => [one, words.view[one]]), "both", view);

const nextPart = el("span.part-name");
const nextOf = el("span.of");
const markButton = button(".main.mark", { onclick: (event) => pressed(event) }, nextPart, " ", nextOf);
const undo = button("", { onclick: takeBack }, words.mark.undo);
const skip = button("", { onclick: leaveOut }, words.mark.skip);
const said = el("p.said", { "aria-hidden": "true" });
const marking = el("div.marking", {}, markButton, undo, skip);
const bar = el("section.bar", { "aria-label": words.control.bar }, el("div.buttons", {}, back, play, on), marking, said);
const box = el("div.player", {}, el("div.stage", {}, views, handBox, plot), bar, el("div.controls", {}, clock, speeds));
const still = el("section.nothing", { hidden: true });

const table = new Table({
  go: (id) => goTo(marks.find(id)?.times),
  edit: (id, part, time_s) => {
    marks.edit(id, part, time_s);
    if (time_s !== null && !player.playing) player.seek(time_s);
  },
  remove: (id) => {
    marks.remove(id);
    say(words.mark.removed);
    undo.focus();
  },
});
const saving = new Saving({
  marks: () => marks,
  saved: showBoth,
  wrong: (id) => {
    const set = marks.find(id)?.set ?? number;
    if (set !== number) choose(set);
    table.wrong(id);
  },
});
const help = el("section.keys", {}, el("h2", {}, words.keys.heading),
  el("dl.facts", {}, words.keys.list.map(([word, what]) => el("div", {}, el("dt", {}, word), el("dd", {}, what)))),
  ["mouse", "late", "axis"].map((name) => el("p.hint", {}, words.keys[name])));

function say(text) {
  write(told, text);
  write(said, text);
}

const nameOf = ({ part, number: of }) => `${words.parts[part]} of repetition ${of}`;

function draw() {
  if (!track?.curve) return;
  const { t_s, playing } = player;
  curve.draw(t_s);
  const angle_deg = track.angleAt(t_s);
  hand.draw(angle_deg);
  noHand.hidden = angle_deg !== null;
  const text = playing ? "" : `${t_s.toFixed(2)} s`;
  strip.draw(t_s, text, curve.svg.checkVisibility() ? curve.span : [t_s, t_s]);
  write(clock, `${t_s.toFixed(2)} / ${track.end_s.toFixed(1)} s`);
  write(play, playing ? words.control.pause : player.ended ? words.control.again : words.control.play);
}

/** What is marked has changed. */
function changed() {
  const own = marks.of(number);
  table.show(own, marks.open);
  track.reps = marks.drawn(number);
  flags.show(own.flatMap(({ id, times }) => times.map((time_s, part) => ({ id, part, time_s })).filter((flag) => flag.time_s !== null)));
  const next = marks.next(number);
  write(nextPart, words.mark.button(words.parts[next.part]));
  write(nextOf, words.mark.of(next.number));
  undo.setAttribute("aria-disabled", String(marks.before.length === 0));
  skip.setAttribute("aria-disabled", String(marks.find(marks.open?.id)?.set !== number));
  saving.changed();
  curve.again();
  strip.background();
  draw();
}

/** With a trace of the angle, or to be judged by eye. */
function view(which) {
  handBox.hidden = which === "curve";
  plot.classList.toggle("no-trace", which === "hand");
  box.dataset.view = which;
  curve.again();
  draw();
}

// ---- what is done

function step(by_s) {
  if (player.playing) player.pause();
  player.seek(player.t_s + by_s);
}

function goTo(times) {
  const time_s = times?.find((one) => one !== null);
  if (time_s !== undefined) player.seek(time_s);
}

/** With a mouse or a finger the keys stay with the time line. */
function pressed(event) {
  mark(event.timeStamp);
  if (event.detail > 0) strip.slider.focus({ preventScroll: true });
}

function mark(at_ms) {
  if (both || !track.curve) return;
  const next = marks.next(number);
  const wrong = marks.put(number, player.timeAt(at_ms));
  if (wrong) {
    const { before, after, within, beyond, time_s } = wrong;
    if (beyond !== undefined) say(words.mark.beyond(beyond, time_s.toFixed(2)));
    else if (within !== undefined) say(words.mark.within(within));
    else if (before !== undefined) say(words.mark.before(words.parts[before], time_s.toFixed(2)));
    else say(words.mark.after(words.parts[after], time_s.toFixed(2)));
    return;
  }
  const time_s = player.timeAt(at_ms).toFixed(2);
  say(words.mark.marked(words.parts[next.part], next.number, time_s, nameOf(marks.next(number))));
}

function takeBack() {
  say(marks.undo() ? words.mark.undone : words.mark.nothingToUndo);
}

function leaveOut() {
  say(marks.skip(number) ? words.mark.skipped(nameOf(marks.next(number))) : words.mark.nothingToSkip);
}

/** A flag is moved by hand; without a time it is let go. */
function moved(flag, time_s) {
  if (time_s === null) {
    marks.edit(flag.id, flag.part, flag.time_s);
    return;
  }
  const [from_s, to_s] = marks.room(marks.find(flag.id), flag.part);
  flag.time_s = Math.min(Math.max(time_s, from_s, track.start_s), to_s, track.end_s);
  curve.again();
  player.seek(flag.time_s);
}

// ---- keys

function slides(event) {
  if (event.key === "Home") player.seek(track.start_s);
  else if (event.key === "End") player.seek(track.end_s);
  else if (!steps(event)) return;
  event.preventDefault();
}

function steps(event) {
  const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
  if (by !== undefined) step(by * (event.shiftKey ? 0.1 : FRAME_S));
  else if (event.key === "PageUp") step(1);
  else if (event.key === "PageDown") step(-1);
  else return false;
  return true;
}

document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || !track?.curve) return;
  const at = event.target.closest?.("button, select, input, summary, a, .wide");
  const free = !at || at === strip.slider || at.type === "radio";
  if (free && event.key === "Enter" && !event.repeat) mark(event.timeStamp);
  else if (free && event.key === "Backspace" && !both) takeBack();
  else if (free && event.key === " ") player.toggle();
  else if ((!at || at.matches("button")) && ["ArrowLeft", "ArrowRight"].includes(event.key)) steps(event);
  else return;
  event.preventDefault();
});

// ---- what is played

function choose(which) {
  number = which;
  const select = document.getElementById("set");
  if (select) select.value = String(which);
  const own = all.sets[number];
  track = new Track(number, { ...own, reps: [] }, { ...own, blind: !both }, came);
  if (both) track = new Track(number, both.told.analysis.sets[number], both.told.sets[number], came);
  player.span(track.start_s, track.end_s);
  const marks_it = Boolean(track.curve) && !own.goes_round;
  box.hidden = !track.curve;
  marking.hidden = Boolean(both) || !marks_it;
  table.box.hidden = marking.hidden;
  still.hidden = Boolean(track.curve) && !own.goes_round;
  still.replaceChildren(el("p", {}, own.goes_round ? words.turns : words.still));
  guess.hidden = own.posed;
  hand.show(own);
  if (track.curve) for (const part of [curve, strip]) part.show(track);
  if (both) seen();
  else changed();
}

/** The program's phases, and one's own flags upon them. */
function seen() {
  flags.show(both.marked.filter(({ set }) => set === number).flatMap(({ times }) => times.map((time_s, part) => ({ part, time_s, still: true })).filter((flag) => flag.time_s !== null)));
  keySpot.replaceChildren(key(track), el("p.hint", {}, words.after.key));
  curve.svg.setAttribute("aria-label", words.curveAfter);
  curve.again();
  strip.background();
  draw();
}

/** A part of the curve has come, or could not be had. */
function came(well) {
  trouble.replaceChildren(...(well ? [] : [el("strong", {}, words.trouble.program)]));
  curve.again();
  if (!player.playing) requestAnimationFrame(draw);
}

/** The set that a time lies in, else the last that begins before it. */
function setOf(time_s) {
  const inside = all.sets.findIndex(({ start_s, end_s }) => time_s >= start_s && time_s <= end_s);
  return inside >= 0 ? inside : Math.max(0, all.sets.findLastIndex(({ start_s }) => start_s <= time_s));
}

/** Marks are saved: everything may be seen. */
async function showBoth(own) {
  both = { ...own, told: await recording() };
  const file = await fetch("/marks.csv");
  if (!file.ok) throw new Error(String(file.status));
  both.marked = (await file.text()).trim().split("\n").slice(1).map((line) => {
    const times = line.split(",").slice(1).map((cell) => (cell === "" ? null : Number(cell)));
    return { set: setOf(times.find((time_s) => time_s !== null)), times };
  });
  const go = (time_s) => {
    if (setOf(time_s) !== number) choose(setOf(time_s));
    player.seek(time_s);
  };
  const [first, phases, pairs] = compared(both, { go, setOf, setsCount: all.sets.length });
  say("");
  for (const one of [table.box, saving.box, marking, said]) one.hidden = true;
  head();
  main.replaceChildren(box, still, el("div.beside", {}, first, phases), pairs);
  document.getElementById("view-both").checked = true;
  view("both");
  choose(number);
  first.querySelector("h2").focus({ preventScroll: true });
  window.scrollTo(0, 0);
}

function head() {
  const { name, simulated } = all;
  top.replaceChildren(el("h1", {}, name), el("p.hint", {}, both ? words.hintAfter : words.hint), ...(both ? [] : [el("p", {}, el("a", { href: "/drill" }, words.drill))]));
  document.title = `${name} - ${both ? words.pageAfter : words.page}`;
  invented.hidden = !simulated;
  write(invented, words.invented);
  if (all.sets.length < 2) return;
  const options = all.sets.map((own, at) => el("option", { value: at }, words.option(at + 1, `${own.title ?? words.unnamed}, ${words.side[own.side]}`)));
  const choice = el("select", { id: "set", onchange: (event) => choose(Number(event.target.value)) }, options);
  top.append(el("p.choice", {}, el("label", { for: "set" }, words.set), choice));
}

async function asked(path) {
  const answer = await fetch(path);
  if (!answer.ok) throw new Error(String(answer.status));
  return answer.json();
}

async function begin() {
  try {
    all = await asked("/marking.json");
    head();
    if (all.sets.length === 0) {
      main.replaceChildren(el("section.nothing", {}, el("h2", {}, words.nothing.heading), el("p", {}, words.nothing.words)));
    } else if (all.saved) {
      await showBoth(await asked("/compared.json"));
    } else {
      marks = new Marks([all.name, all.start_s, all.end_s].join(" "), changed);
      main.replaceChildren(box, still, el("div.beside", {}, table.box, saving.box), help);
      choose(0);
      view("both");
      if (track.curve) strip.slider.focus({ preventScroll: true });
    }
  } catch {
    trouble.replaceChildren(el("strong", {}, words.trouble.recording));
    main.replaceChildren();
  }
  main.removeAttribute("aria-busy");
}

begin();
