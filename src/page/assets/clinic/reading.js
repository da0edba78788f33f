// How the prescription reads to the patient, and what to look at once more.

import { el } from "../dom.js";
import { fieldNames, words } from "./words.js";

const first = (sentence) => sentence.charAt(0).toUpperCase() + sentence.slice(1);

/** A remark names fields by their keys; here they have names. */
const named = (remark) =>
  remark.replace(/\b[a-z]+(_[a-z]+)+\b|\bcontact\b/g, (key) => (fieldNames[key] ? `“${fieldNames[key]}”` : key));

/** A problem by its exercise and field, where it has one; else by its line. */
function blamed(problem) {
  const { at } = problem;
  const key = at.at(-1);
  if (at.length === 0 || typeof key !== "string") return first(words.draft.line(problem));
  const number = at[0] === "items" ? at[1] + 1 : 0;
  return words.draft.field(number, fieldNames[key] ?? key, named(problem.words));
}

function item(own) {
  const facts = [own.dose, own.load, own.rest].filter(Boolean).join(", ");
  const told = [
    own.tempo,
    own.how,
    own.reach,
    own.own_words,
  ].filter(Boolean);
  return el(
    "li",
    {},
    el("b", {}, own.title, own.hand ? `, ${own.hand}` : ""),
    el("span.dose", {}, ` ${facts}. `),
    ...told.map((sentence) => el("span", {}, `${first(sentence)}${sentence.endsWith(".") ? "" : "."} `)),
    own.caution ? el("span.caution", {}, own.caution) : null,
  );
}

/** What is said of the draft; where something is wrong, what that is. */
export function reading({ reading: read, problems }) {
  if (!read) {
    return [
      el("h2", {}, words.draft.wrong(problems.length)),
      el("ul.problems", {}, ...problems.map((problem) => el("li", {}, blamed(problem)))),
    ];
  }
  const { words: own, remarks } = read;
  return [
    el("h2", {}, words.reading.look),
    remarks.length === 0
      ? el("p", {}, words.reading.nothing)
      : el(
          "ul.remarks",
          {},
          ...remarks.map((remark) =>
            el("li", {}, remark.item ? el("b", {}, words.reading.item(remark.item)) : null, named(remark.words)),
          ),
        ),
    el("p.hint", {}, words.reading.length(read), " ", remarks.length ? words.reading.lookHint : ""),
    el("h2", {}, words.reading.title),
    own.no_weight ? el("p.no-weight", {}, own.no_weight) : null,
    el("p", {}, own.course.join(" ")),
    read.own_words ? el("p", {}, read.own_words) : null,
    el("ol.words", {}, ...own.items.map(item)),
    el("ul.limits", {}, ...own.limits.map((limit) => el("li", {}, limit))),
    read.contact ? el("p", {}, words.reading.ask, read.contact) : null,
  ];
}
