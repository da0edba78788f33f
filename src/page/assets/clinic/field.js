// A field of the form: an input that shows its value, says what is wrong with it, and tells of changes.

import { el, write } from "../dom.js";
import { fieldNames, tempoNames, words } from "./words.js";

const plain = (word) => word.replaceAll("-", " ");

/** What the value of an input stands for; empty is nothing. */
function meant(field, input) {
  if (field.takes.what === "flag") return input.value === "" ? null : input.value === "yes";
  const text = input.value.trim();
  if (text === "") return null;
  if (["number", "pace"].includes(field.takes.what)) {
    const number = Number(text.replace(",", "."));
    return Number.isFinite(number) ? number : text;
  }
  return text;
}

function shownValue(field, value) {
  if (value === undefined || value === null) return "";
  if (field.takes.what === "flag") return value === true ? "yes" : "no";
  return String(value);
}

function choice(options, value) {
  return el("select", {}, ...options.map(([word, said]) => el("option", { value: word, selected: word === value }, said)));
}

function inputOf(field) {
  const { takes } = field;
  switch (takes.what) {
    case "word":
      return choice([...(field.required ? [] : [["", field.usual ? words.draft.usual(field.usual.split(",")[0]) : "—"]]), ...takes.words.map((word) => [word, plain(word)])], "");
    case "flag":
      return choice([["", field.usual ? words.draft.usual(field.usual) : "—"], ["yes", "yes"], ["no", "no"]], "");
    case "day":
      return el("input", { type: "date" });
    case "number":
    case "pace":
      return el("input.number", { type: "text", inputmode: "decimal", size: 4, autocomplete: "off" });
    default:
      return field.name === "words" || field.name === "contact"
        ? el("textarea", { rows: 2 })
        : el("input", { type: "text", autocomplete: "off" });
  }
}

/** Whether two ways are the same. */
export const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/**
 * A field at its way; `changed(way, value)` is told what it becomes. `of` says whose it is to those
 * who hear the page. The input is in `input`, the whole in `box`.
 */
export function fieldAt(field, way, changed, { of = "", small = false } = {}) {
  const inTempo = way.at(-2) === "tempo";
  const name = (inTempo ? tempoNames[field.name] : null) ?? fieldNames[field.name] ?? plain(field.name);
  const input = inputOf(field);
  const id = `f-${way.join("-")}`;
  const trouble = el("span.wrong", { id: `${id}-wrong` });
  input.id = id;
  input.dataset.way = JSON.stringify(way);
  input.title = field.means;
  if (input.classList.contains("number") && field.usual) input.placeholder = field.usual.split(/[:,]/)[0];
  if (of) input.setAttribute("aria-label", `${of}: ${name}`);
  input.setAttribute("aria-describedby", trouble.id);
  let committed = "";
  input.addEventListener("change", () => {
    committed = input.value;
    changed(way, meant(field, input));
  });
  const box = el(
    small ? "label.field.small" : "label.field",
    { for: id },
    el("span.name", {}, name, field.required && !small ? el("span.must", { "aria-hidden": "true" }, " *") : null),
    input,
    trouble,
  );
  return {
    box,
    input,
    way,
    show(value) {
      const text = shownValue(field, value);
      // What is being typed is not written over.
      if (document.activeElement === input && input.value !== committed) return;
      committed = text;
      if (input.tagName === "SELECT" && text !== "" && ![...input.options].some((own) => own.value === text)) {
        input.append(el("option", { value: text }, text));
      }
      input.value = text;
    },
    wrong(problem) {
      write(trouble, problem?.words ?? "");
      box.classList.toggle("is-wrong", Boolean(problem));
      if (problem) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    },
  };
}
