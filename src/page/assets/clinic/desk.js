// The prescription that is being written. The text is the file's own; every change of a field goes
// to the program and comes back as text, with what there is to say of it.

import { el, write } from "../dom.js";
import { get, post } from "./ask.js";
import { fieldAt, same } from "./field.js";
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
  const present = await get(`routine.json?patient=${encodeURIComponent(patient)}`);
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
  const came = el("p.came", { role: "status" });

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
      } catch (error) {
        tell(said(error));
      }
      waiting -= 1;
      if (draft && waiting === 0) show();
    });
    return queue;
  }
  const edit = (...edits) => ask((text) => ({ text, edits }));
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
    dose = doseTable(draft.values?.items ?? [], form.form.items, { changed, act: edit, opened });
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
                edit({ do: "add", kind, name });
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

  const isKept = () => draft === null || draft.text === kept;
  function whether() {
    document.body.dataset.kept = String(isKept());
    write(state, draft.reading === null ? `${words.draft.unready}: ${words.draft.wrong(draft.problems.length)}.` : isKept() ? "" : words.doing.unkept);
  }

  async function doing(work) {
    write(came, words.waiting);
    try {
      await queue;
      await work();
    } catch (error) {
      write(came, said(error));
    }
  }

  async function keep() {
    const told = await post("keep", { patient, text: draft.text });
    kept = draft.text;
    whether();
    write(came, words.doing.kept(told.path) + (told.before ? words.doing.keptBefore(told.before) : ""));
  }

  const frame = el("iframe.unseen", { title: words.doing.print, "aria-hidden": "true", tabindex: "-1" });
  async function print() {
    const { address } = await post("handout", { patient, text: draft.text, paper: paper.value });
    const loaded = new Promise((resolve) => frame.addEventListener("load", resolve, { once: true }));
    frame.src = address;
    await loaded;
    came.replaceChildren(
      `${words.doing.printed} `,
      el("a", { id: "handout", href: address, target: "_blank", rel: "noopener" }, words.doing.open),
    );
    frame.contentWindow.focus();
    frame.contentWindow.print();
  }

  async function hand() {
    if (!form.key) {
      const dialog = el(
        "dialog",
        { "aria-labelledby": "key-title" },
        el("h2", { id: "key-title" }, words.doing.keyTitle),
        el("p", {}, words.doing.key),
        el(
          "div.row",
          {},
          el(
            "button.main",
            {
              type: "button",
              onclick: () =>
                doing(async () => {
                  form.key = await post("key", {});
                  dialog.close();
                  await handOver(words.doing.keyMade(form.key.path));
                }),
            },
            words.doing.makeKey,
          ),
          el("button", { type: "button", onclick: () => dialog.close() }, words.doing.notNow),
        ),
      );
      dialog.addEventListener("close", () => dialog.remove());
      body.append(dialog);
      dialog.showModal();
      write(came, "");
      return;
    }
    await handOver("");
  }

  async function handOver(also) {
    const { address, name } = await post("handover", { patient, text: draft.text });
    const link = el("a", { href: address, download: name, hidden: true });
    body.append(link);
    link.click();
    link.remove();
    write(came, `${words.doing.handed(name)} ${also}`);
  }

  const paper = el(
    "select",
    { id: "paper", "aria-label": words.doing.paper },
    el("option", { value: "a4" }, "A4"),
    el("option", { value: "letter" }, "Letter"),
  );
  const state = el("span.state", { role: "status" });
  const button = (name, id, work) =>
    el("button.needs", { type: "button", id, disabled: true, onclick: () => doing(work) }, name);
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
  const print_ = button(words.doing.print, "print", print);
  print_.classList.add("main");
  doings.append(
    button(words.doing.keep, "keep", keep),
    print_,
    paper,
    button(words.doing.hand, "hand", hand),
    undo,
    state,
    came,
  );

  const file = el("input.unseen", { type: "file", id: "from-file", accept: ".toml,text/plain" });
  file.addEventListener("change", async () => {
    const [one] = file.files;
    if (one) await begin(await one.text(), false);
    file.value = "";
  });
  const starts = [
    present ? el("button", { type: "button", onclick: () => begin(present.text, false) }, words.draft.present) : null,
    ...form.starting.map((own) =>
      el("button", { type: "button", "data-starting": own.name, onclick: () => begin(own.text, true) }, words.draft.starting(own)),
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
      frame,
    ],
    foot: [doings],
    isKept,
    left: () => window.removeEventListener("beforeunload", leaves),
  };
}
