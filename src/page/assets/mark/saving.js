// Saving the marks: warned of what is missing, refused with the row that does not fit, or done.

import { el } from "../dom.js";
import { words } from "./words.js";

export class Saving {
  /** `marks` gives the marks, `saved` takes both beside each other, `wrong` the id of a row. */
  constructor({ marks, saved, wrong }) {
    Object.assign(this, { marks, saved, wrong });
    /** What was warned of. */
    this.warned = "";
    this.note = el("div.save-note", { role: "alert" });
    const save = el("button.main", { type: "button", onclick: () => this.save() }, words.save.button);
    this.box = el("section.saving", {}, el("p.buttons", {}, save), this.note, el("p.hint", {}, words.save.once));
  }

  say(...texts) {
    this.note.replaceChildren(...texts.filter(Boolean).map((text) => el("p", {}, text)));
  }

  /** What is marked has changed: what was said of it holds no more. */
  changed() {
    this.warned = "";
    this.say();
  }

  async save() {
    const marks = this.marks();
    const { marks: given, ids } = marks.all();
    const lacking = marks.lacking().length;
    const warning = given.length === 0 ? words.save.none : lacking > 0 ? words.save.lacking(lacking) : "";
    this.say(warning);
    if (warning !== this.warned) {
      this.warned = warning;
      return;
    }
    try {
      const answer = await fetch("/marks", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ marks: given }) });
      if (answer.status === 409) {
        this.refused(await answer.json(), ids);
        return;
      }
      if (!answer.ok) throw new Error(String(answer.status));
      const both = await answer.json();
      marks.forget();
      await this.saved(both);
    } catch {
      this.say(words.trouble.program);
    }
  }

  refused({ words: why, place }, ids) {
    if (place === null) {
      this.say(why, el("a", { href: "/" }, words.save.other));
      return;
    }
    this.wrong(ids[place]);
    this.say(why);
  }
}
