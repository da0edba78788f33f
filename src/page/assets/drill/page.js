// Judging by eye: one set is shown, three things are said, and what was so is told.

import { el, write } from "../dom.js";
import { Hand } from "../replay/hand.js";
import { Player } from "../replay/player.js";
import { words } from "./words.js";

const NAMES = ["count", "lower_s", "end_deg"];
const MOST = { count: 99, lower_s: 99, end_deg: 180 };

const [invented, top, trouble, main, told] = ["invented", "top", "trouble", "main", "told"].map((id) => document.getElementById(id));

let set = null;
let views = 0;
/** How much too much was said, of each thing. */
const off = { count: [], lower_s: [], end_deg: [] };
let judged = 0;

// ---- what is seen

const hand = new Hand(words.picture);
const player = new Player(draw);
const what = el("h2");
const zero = el("p.hint");
const show = el("button.main", { type: "button", onclick: look });
const stage = el("section.stage", { "aria-label": words.stage }, what, hand.box, zero, el("p.buttons", {}, show));

const fields = Object.fromEntries(NAMES.map((name) => [name, field(name)]));
const done = el("button.main", { type: "submit" }, words.done);
const form = el("form.ask", { novalidate: true, autocomplete: "off", onsubmit: say }, el("h2", {}, words.ask), el("p.hint", {}, words.watch), NAMES.map((name) => fields[name].box), el("p.buttons", {}, done));
const next = el("button.main", { type: "button", onclick: fresh }, words.next);
const heading = el("h2", { tabindex: "-1" }, words.was);
const answer = el("section.answer", { hidden: true });
const tally = el("dl.facts");
const soFar = el("section.so-far", {}, el("h2", {}, words.soFar), tally, el("p.hint", {}, words.keys));

function field(name) {
  const { label, unit, wrong } = words.fields[name];
  const input = el("input", { type: "text", id: name, name, inputmode: name === "count" ? "numeric" : "decimal", "aria-describedby": `${name}-wrong` });
  const note = el("span.wrong", { id: `${name}-wrong` });
  const box = el("p.field", {}, el("label", { for: name }, label), el("span.entry", {}, input, unit ? el("span", { "aria-hidden": "true" }, ` ${unit}`) : null), note);
  return { box, input, note, wrong };
}

function draw() {
  if (!set) return;
  const place = Math.min(player.t_s / set.step_s, set.angles_deg.length - 1);
  const [from, to] = [Math.floor(place), Math.ceil(place)].map((at) => set.angles_deg[at]);
  hand.draw(from + (to - from) * (place % 1));
  const over = player.ended && !player.playing && views > 0;
  write(show, player.playing ? words.showing : over ? words.again : words.show);
  show.setAttribute("aria-disabled", String(player.playing));
  show.classList.toggle("main", !over);
  done.setAttribute("aria-disabled", String(!over));
  if (over && document.activeElement === show && form.checkVisibility()) fields.count.input.focus();
}

// ---- what is done

function look() {
  if (!set || player.playing) return;
  views += 1;
  player.seek(0);
  player.start();
}

async function asked(path) {
  try {
    const answered = await fetch(path);
    if (!answered.ok) throw new Error(String(answered.status));
    trouble.replaceChildren();
    return await answered.json();
  } catch {
    trouble.replaceChildren(el("strong", {}, words.trouble));
    return null;
  }
}

/** A set that was not seen before. */
async function fresh() {
  const made = await asked("/drill/set.json");
  if (!made) return;
  set = made;
  views = 0;
  hand.show(set);
  write(what, words.what(set.side, set.title));
  write(zero, words.zero[set.movement === "supination" ? "rotation" : "bend"]);
  player.span(0, (set.angles_deg.length - 1) * set.step_s);
  for (const { input } of Object.values(fields)) input.value = "";
  for (const one of Object.values(fields)) mark(one, false);
  form.hidden = false;
  answer.hidden = true;
  draw();
  show.focus();
}

function mark({ input, note, wrong }, isWrong) {
  input.setAttribute("aria-invalid", String(isWrong));
  write(note, isWrong ? wrong : "");
}

/** What is written in a field: `null` is nothing, `undefined` no answer. */
function written(name) {
  const text = fields[name].input.value.trim().replace(",", ".");
  if (text === "") return null;
  const number = Number(text);
  const fits = number >= 0 && number <= MOST[name] && (name !== "count" || Number.isInteger(number));
  return fits ? number : undefined;
}

async function say(event) {
  event.preventDefault();
  if (done.getAttribute("aria-disabled") === "true") {
    write(told, words.lookFirst);
    write(fields.count.note, words.lookFirst);
    return;
  }
  const said = NAMES.map((name) => [name, written(name)]);
  for (const [name, value] of said) mark(fields[name], value === undefined);
  const first = said.find(([, value]) => value === undefined);
  if (first) {
    fields[first[0]].input.focus();
    return;
  }
  const query = new URLSearchParams([["seed", set.seed], ...said.filter(([, value]) => value !== null)]);
  const was = await asked(`/drill/answer.json?${query}`);
  if (!was) return;
  judged += 1;
  for (const name of NAMES) if (was[name].too_much !== null) off[name].push(was[name].too_much);
  tell(was);
  count();
}

function sentence(name, { said, was, too_much }) {
  const value = words.value[name];
  if (said === null) return words.notSaid(value(was));
  const exact = name === "count" && too_much === 0;
  return words.sentence(value(said), value(was), exact ? words.right : words.more[name](too_much));
}

function tell(was) {
  const rows = NAMES.map((name) => el("div", {}, el("dt", {}, words.names[name]), el("dd", {}, sentence(name, was[name]))));
  const cells = was.reps.map((rep, at) => {
    const values = [rep.lift_s.toFixed(1), rep.hold_s.toFixed(1), rep.lower_s.toFixed(1), String(Math.round(rep.range_deg))];
    return el("tr", {}, el("th", { scope: "row" }, String(at + 1)), values.map((value) => el("td", {}, value)));
  });
  const head = el("tr", {}, words.columns.map((word) => el("th", { scope: "col" }, word)));
  answer.replaceChildren(
    heading,
    el("dl.facts", {}, rows),
    el("p", {}, words.manner[was.manner], views > 1 ? ` ${words.watched(views)}` : ""),
    el("p.buttons", {}, next),
    el("h3", {}, words.each),
    el("table", {}, el("thead", {}, head), el("tbody", {}, cells)),
  );
  form.hidden = true;
  answer.hidden = false;
  heading.focus();
}

const middle = (list) => {
  const sorted = [...list].sort((a, b) => a - b);
  const half = sorted.length / 2;
  return sorted.length % 2 ? sorted[Math.floor(half)] : (sorted[half - 1] + sorted[half]) / 2;
};

/** What was said so far, which is known to this window alone. */
function count() {
  if (judged === 0) {
    tally.replaceChildren(el("div", {}, el("dt", {}, words.sets(0)), el("dd", {}, words.none)));
    return;
  }
  const rows = [[words.sets(judged), ""]];
  for (const name of NAMES) {
    const list = off[name];
    if (list.length === 0) continue;
    const mean = list.reduce((sum, one) => sum + one, 0) / list.length;
    const text = name === "count" ? words.tally.count(list.filter((one) => one === 0).length, list.length) : words.tally[name](middle(list.map(Math.abs)), mean);
    rows.push([words.names[name], text]);
  }
  tally.replaceChildren(...rows.map(([name, text]) => el("div", {}, el("dt", {}, name), el("dd", {}, text))));
}

write(invented, words.invented);
top.replaceChildren(el("h1", {}, words.page), el("p.hint", {}, words.hint), ...(location.pathname === "/drill" ? [el("p", {}, el("a", { href: "/" }, words.back))] : []));
document.title = words.page;
main.replaceChildren(stage, el("div.beside", {}, form, answer, soFar));
count();
fresh();
