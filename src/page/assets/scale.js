// Questions that are answered by pressing: numbers from 0 to 10, and one of a few words.

import { el } from "./dom.js";
import { words } from "./words.js";

let number = 0;

function choices(legend, options, name, className) {
  const group = `${name}-${(number += 1)}`;
  const field = el(`fieldset.${className}`, {}, el("legend", {}, legend));
  const row = el("div.choices");
  for (const [value, text] of options) {
    const id = `${group}-${value}`;
    row.append(
      el("span.choice", {}, el("input", { type: "radio", name: group, id, value }), el("label", { for: id }, text)),
    );
  }
  field.append(row);
  const chosen = () => field.querySelector("input:checked")?.value ?? null;
  const focus = () => field.querySelector("input").focus();
  const set = (value) => {
    const input = field.querySelector(`input[value="${value}"]`);
    if (input) input.checked = true;
  };
  return { field, chosen, focus, set };
}

/** One of a few words: [value, text] each. */
export const oneOf = (legend, options, name) => choices(legend, options, name, "words");

/** Yes, no, or left open. */
export function yesNo(legend, name) {
  const asked = oneOf(legend, [["yes", words.yes], ["no", words.no]], name);
  const chosen = () => ({ yes: true, no: false })[asked.chosen()] ?? null;
  return { ...asked, chosen };
}

/** Pain, tingling and numbness of one hand. */
export function felt(name) {
  const scale = Array.from({ length: 11 }, (_, value) => [value, String(value)]);
  const rows = ["pain", "tingling", "numbness"].map((what) => [
    what,
    choices(words.symptoms[what], scale, `${name}-${what}`, "scale"),
  ]);
  const none = el("button.quiet", { type: "button", onclick: () => rows.forEach(([, row]) => row.set(0)) }, words.symptoms.none);
  const box = el("div.felt", {}, el("p.hint", {}, words.symptoms.scale), rows.map(([, row]) => row.field));
  const answer = () =>
    Object.fromEntries(rows.map(([what, row]) => [what, row.chosen() === null ? null : Number(row.chosen())]));
  const firstOpen = () => rows.find(([, row]) => row.chosen() === null)?.[1] ?? null;
  return { box, none, answer, firstOpen };
}
