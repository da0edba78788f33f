// The marks as numbers that can be written over.

import { el, write } from "../dom.js";
import { words } from "./words.js";

const text = (time_s) => (time_s === null ? "" : time_s.toFixed(2));

export class Table {
  /** `go` with a time, `edit` with id, part and a time or `null`, `remove` with an id. */
  constructor({ go, edit, remove }) {
    Object.assign(this, { go, edit, remove });
    this.rows = new Map();
    this.body = el("tbody");
    this.none = el("p.hint", {}, words.table.none);
    const head = el("tr", {}, words.table.columns.map((word) => el("th", { scope: "col" }, word || el("span.unseen", {}, words.table.removes))));
    this.table = el("table.marks", {}, el("thead", {}, head), this.body);
    this.unit = el("p.hint", {}, words.table.unit);
    this.box = el("section.marked", {}, el("h2", {}, words.table.heading), this.none, this.unit,
      el("div.wide", { tabindex: "0", role: "region", "aria-label": words.table.label }, this.table));
  }

  /** The repetitions of a set, in order, and the one that is being marked. */
  show(reps, open) {
    this.none.hidden = reps.length > 0;
    for (const part of [this.table, this.unit]) part.hidden = reps.length === 0;
    for (const [id, row] of this.rows) {
      if (reps.some((rep) => rep.id === id)) continue;
      row.line.remove();
      this.rows.delete(id);
    }
    reps.forEach((rep, at) => {
      const row = this.rows.get(rep.id) ?? this.row(rep.id);
      this.rows.set(rep.id, row);
      if (this.body.children[at] !== row.line) this.body.insertBefore(row.line, this.body.children[at] ?? null);
      this.fill(row, rep, at + 1, open?.id === rep.id ? open.part : null);
    });
  }

  row(id) {
    const number = el("button", { type: "button", onclick: () => this.go(id) });
    const fields = [0, 1, 2, 3].map((part) => {
      const input = el("input", { type: "number", step: "0.01", inputmode: "decimal" });
      input.addEventListener("change", () => this.written(id, part, input));
      return input;
    });
    const lower = el("td.lower");
    const away = el("button", { type: "button", onclick: () => this.remove(id) }, "\u00d7");
    const line = el("tr", {}, el("th", { scope: "row" }, number), fields.map((input) => el("td", {}, input)), lower, el("td", {}, away));
    return { line, number, fields, lower, away };
  }

  fill({ line, number, fields, lower, away }, { times }, at, next) {
    write(number, String(at));
    number.setAttribute("aria-label", words.table.go(at));
    away.setAttribute("aria-label", words.table.remove(at));
    fields.forEach((input, part) => {
      const own = text(times[part]);
      // What is being written is not written over.
      if (input !== document.activeElement || Number(input.value) !== Number(own)) input.value = own;
      input.setAttribute("aria-label", words.table.field(at, words.parts[part]));
      input.classList.toggle("next", part === next);
      const late = times[part] !== null && times.slice(0, part).some((before_s) => before_s !== null && before_s > times[part]);
      input.setAttribute("aria-invalid", String(late));
    });
    const [, , from_s, to_s] = times;
    write(lower, from_s === null || to_s === null ? "\u2013" : (to_s - from_s).toFixed(2));
    line.removeAttribute("data-wrong");
  }

  written(id, part, input) {
    if (input.validity.badInput) {
      input.setAttribute("aria-invalid", "true");
      return;
    }
    this.edit(id, part, input.value === "" ? null : input.valueAsNumber);
  }

  /** Points at a row that does not fit. */
  wrong(id) {
    const row = this.rows.get(id);
    if (!row) return;
    row.line.setAttribute("data-wrong", "true");
    (row.fields.find((input) => input.getAttribute("aria-invalid") === "true") ?? row.fields[0]).focus();
  }
}
