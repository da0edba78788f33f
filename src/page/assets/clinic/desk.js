// The prescription that is being written. The text is the file's own; every change of a field goes
// to the program and comes back as text, with what there is to say of it.

import { el, write } from "../dom.js";
import { get, post } from "./ask.js";
import { fieldAt, same } from "./field.js";
import { goingOut } from "./out.js";
import { reading } from "./reading.js";
import { doseTable, nameKey } from "./table.js";
import { said, words } from "./words.js";

const THREE = ["screened_on", "contact", "review_by"];
const WHOLE = ["title", "sessions_a_week", "rounds", "order", "words", "source"];

const valueAt = (values, way) => way.reduce((inner, step) => inner?.[step], values);

function later(day, weeks) {
  const date = new Date(`${day}T12:00:00Z`);
  date.setUTCDate(date.getUTCDate() + 7 * weeks);
  return date.toISOString().slice(0, 10);
}

/** The screen of a patient's prescription; `tell` says something, `form` is what the program knows. */
export async function desk(patient, form, tell) {
  const { present, last } = await get(`routine.json?patient=${encodeURIComponent(patient)}`);
  let draft = null;
  let kept = present?.text ?? null;
  const before = [];
  const opened = new Set();
  let fields = [];
  let dose = null;
  let structure = "";
  let queue = Promise.resolve();
  /** Changes on their way: a field is not written over before all are back. */
  let waiting = 0;

  const body = el("div.draft");
  const side = el("aside.reading", { "aria-label": words.reading.title, tabindex: "0" });
  const doings = el("div.doings");
  const came = el("div.came", { role: "status" });

  /** One after another; what is typed meanwhile waits for the text before it. */
  function ask(wish, remember = true) {
    waiting += 1;
    queue = queue.then(async () => {
      try {
        const old = draft?.text;
        const told = await post("draft", { patient, ...wish(draft?.text ?? "") });
        if (remember && old !== undefined && old !== told.text) before.push(old);
        draft = told;
        tell("");
        write(came, "");
      } catch (error) {
        tell(said(error));
      }
      waiting -= 1;
      if (draft && waiting === 0) show();
    });
    return queue;
  }
  const edit = (...edits) => ask((text) => ({ text, edits }));
  /** An edit of the list; the hand goes on where it happened. */
  async function act(...edits) {
    await edit(...edits);
    const [one] = edits;
    const count = draft.values?.items?.length ?? 0;
    const place = { add: count - 1, move: one.to, strike: Math.min(one.item, count - 1) }[one.do];
    if (place === undefined || place < 0) return;
    const line = body.querySelectorAll(".dose tbody")[place];
    line?.querySelector("select, input, button")?.focus();
    line?.scrollIntoView({ block: "nearest" });
  }
  const changed = (at, to) => edit({ do: "set", at, to });

  async function begin(text, fresh) {
    const contact = fresh && form.contact ? [{ do: "set", at: ["contact"], to: form.contact }] : [];
    structure = "";
    await ask(() => ({ text, edits: contact }), draft !== null);
  }

  function field(name, at = [name], of) {
    const fields_ = at.length > 1 ? form.form.routine.find((own) => own.name === at[0]).takes.fields : form.form.routine;
    const one = fieldAt(fields_.find((own) => own.name === name), at, changed, { of });
    fields.push(one);
    return one.box;
  }
  const quick = (name, at, to) => el("button.quiet", { type: "button", onclick: () => changed(at, to) }, name);
  const table = (name) => form.form.routine.find((own) => own.name === name).takes.fields.map((own) => field(own.name, [name, own.name]));

  function build() {
    fields = [];
    // What is being typed goes on in the new field.
    const typed = document.activeElement;
    const held = typed?.dataset?.way;
    dose = doseTable(draft.values?.items ?? [], form.form.items, { changed, act, opened });
    fields.push(...dose.fields);
    const adding = el(
      "select",
      { id: "adding" },
      ...form.form.items.map((kind) =>
        el(
          "optgroup",
          { label: kind.means },
          ...kind.names.map(([word, title]) => el("option", { value: `${kind.kind} ${word}` }, title)),
        ),
      ),
    );
    const area = el("textarea.file", { id: "file", rows: 18, spellcheck: "false" });
    area.value = draft.text;
    area.addEventListener("change", () => ask(() => ({ text: area.value, edits: [] })));
    const three = el(
      "fieldset",
      {},
      el("legend", {}, words.draft.before),
      el("p.hint", {}, words.draft.beforeHint),
      el(
        "div.row",
        {},
        el("div.with", {}, field("screened_on"), quick(words.draft.today, ["screened_on"], form.today)),
        el(
          "div.with",
          {},
          field("review_by"),
          ...[2, 4].map((weeks) => quick(words.draft.weeks(weeks), ["review_by"], later(form.today, weeks))),
        ),
        el("div.with.broad", {}, field("contact")),
      ),
      el(
        "details",
        {},
        el("summary", {}, words.draft.questions),
        el("ul", {}, ...form.questions.map((question) => el("li", {}, question))),
        el("p.hint", {}, words.draft.yes),
      ),
    );
    body.replaceChildren(
      three,
      el("fieldset", {}, el("legend", {}, words.draft.whole), el("div.row", {}, ...WHOLE.map((name) => field(name)))),
      el(
        "section",
        { "aria-label": words.draft.dose },
        el("h2", {}, words.draft.dose),
        el("div.wide", {}, dose.table),
        el(
          "div.row.adding",
          {},
          el("label.field", { for: "adding" }, el("span.name", {}, words.draft.addTitle), adding),
          el(
            "button",
            {
              type: "button",
              onclick: () => {
                const [kind, name] = adding.value.split(" ");
                act({ do: "add", kind, name });
              },
            },
            words.draft.add,
          ),
        ),
      ),
      el("details.card", {}, el("summary", {}, words.draft.limits), el("div.row", {}, ...table("limits"))),
      el(
        "details.card",
        {},
        el("summary", {}, words.draft.fine),
        el("div.row", {}, ...table("form"), ...table("tempo_band")),
      ),
      el(
        "details.card.text",
        {},
        el("summary", {}, words.draft.text),
        el("p.hint", { id: "file-hint" }, words.draft.textHint),
        el("label.unseen", { for: "file" }, words.draft.text),
        area,
      ),
    );
    const again = held && fields.find((one) => one.input.dataset.way === held);
    const typing = again ? { input: again.input, value: typed.value } : null;
    return { area, typing };
  }

  let area = null;
  function show() {
    let typing = null;
    const shape = JSON.stringify(
      (draft.values?.items ?? []).map((item) => {
        const form_ = form.form.items.find((own) => own.kind === item.kind);
        return [item.kind, form_ && item[nameKey(form_)], "load_lb" in item, "push_s" in item];
      }),
    );
    // A text that is no TOML for a moment keeps its fields.
    if (!area || (draft.values && shape !== structure)) {
      const open = [...body.querySelectorAll("details.card")].map((one) => one.open);
      const built = build();
      area = built.area;
      typing = built.typing;
      [...body.querySelectorAll("details.card")].forEach((one, index) => (one.open = open[index] ?? false));
      structure = shape;
    }
    dose.draw(draft.values?.items ?? []);
    dose.blame(draft.problems);
    if (document.activeElement !== area) area.value = draft.text;
    // Fields of a text that cannot be read would be lost.
    for (const part of body.children) part.inert = draft.values === null && !part.contains(area);
    for (const one of fields) {
      if (draft.values) {
        const tempo = one.way.at(-2) === "tempo" ? valueAt(draft.values, one.way.slice(0, -1)) : null;
        one.show(typeof tempo === "string" ? ofCode(tempo, one.way.at(-1)) : valueAt(draft.values, one.way));
      }
      one.wrong(draft.problems.find((problem) => same(problem.at, one.way)));
    }
    if (typing) {
      typing.input.value = typing.value;
      typing.input.focus();
    }
    side.replaceChildren(...reading(draft).filter(Boolean));
    const ready = draft.reading !== null;
    for (const one of doings.querySelectorAll("button.needs")) one.disabled = !ready;
    undo.disabled = before.length === 0;
    whether();
  }

  function ofCode(code, part) {
    const parts = code.split("-");
    return parts[["lower_s", "rest_s", "lift_s", "hold_s"].indexOf(part)] ?? "";
  }

  const look = el(
    "button.quiet",
    { type: "button", hidden: true, onclick: () => side.scrollIntoView({ block: "start" }) },
    "",
  );
  const isKept = () => draft === null || draft.text === kept;
  function whether() {
    const remarks = draft.reading?.remarks.length ?? 0;
    look.hidden = remarks === 0;
    write(look, words.reading.count(remarks));
    document.body.dataset.kept = String(isKept());
    write(state, draft.reading === null ? `${words.draft.unready}: ${words.draft.wrong(draft.problems.length)}.` : isKept() ? "" : words.doing.unkept);
  }

  const out = goingOut({
    patient,
    form,
    body,
    came,
    settled: () => queue,
    text: () => draft.text,
    isKept,
    nowKept: () => {
      kept = draft.text;
      whether();
    },
  });
  const state = el("span.state", { role: "status" });
  const undo = el(
    "button.quiet",
    {
      type: "button",
      disabled: true,
      onclick: () => {
        const text = before.pop();
        if (text !== undefined) ask(() => ({ text, edits: [] }), false);
      },
    },
    words.draft.back,
  );
  doings.append(
    ...out.buttons,
    undo,
    look,
    state,
    came,
  );

  const start = (name, text, fresh, has = {}) =>
    el("button", { type: "button", ...has, onclick: () => over(text, fresh) }, name);
  /** Begins anew, over what is there only when asked. */
  async function over(text, fresh) {
    if (!isKept() && !window.confirm(words.doing.over)) return;
    const anew = draft !== null;
    await begin(text, fresh);
    if (anew) write(came, words.draft.begunAnew);
  }

  const file = el("input.unseen", { type: "file", id: "from-file", accept: ".toml,text/plain" });
  file.addEventListener("change", async () => {
    const [one] = file.files;
    if (one) await over(await one.text(), false);
    file.value = "";
  });
  const starts = [
    present ? start(words.draft.present, present.text, false) : null,
    last && last.text !== present?.text ? start(words.draft.last(last.on), last.text, false) : null,
    ...form.starting.map((own) =>
      start(words.draft.starting(own), own.text, true, { "data-starting": own.name }),
    ),
    el("label.button", { for: "from-file" }, words.draft.file),
    file,
  ];
  if (present) await begin(present.text, false);
  const leaves = (event) => {
    if (isKept()) return;
    event.preventDefault();
  };
  window.addEventListener("beforeunload", leaves);
  return {
    screen: [
      el("h1", {}, words.draft.title(patient)),
      el("div.row.starts", {}, el("span.name", {}, words.draft.begin), ...starts.filter(Boolean)),
      el("p.hint", {}, words.draft.page),
      el("div.halves", {}, body, side),
      out.frame,
    ],
    foot: [doings],
    isKept,
    left: () => window.removeEventListener("beforeunload", leaves),
  };
}
