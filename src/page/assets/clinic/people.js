// Everybody at a glance, and who a prescription is written for.

import { el, write } from "../dom.js";
import { bring, get, post } from "./ask.js";
import { said, words } from "./words.js";

const CODE = /^[A-Za-z0-9_-]{1,32}$/;

function writeFor() {
  const wrong = el("span.wrong", { id: "code-wrong", role: "alert" });
  const input = el("input", {
    id: "code",
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    "aria-describedby": "code-hint code-wrong",
  });
  const form = el(
    "form.new",
    {
      onsubmit: (event) => {
        event.preventDefault();
        const code = input.value.trim();
        const fits = CODE.test(code);
        write(wrong, fits ? "" : words.list.badCode);
        if (fits) location.hash = `#prescribe/${code}`;
      },
    },
    el("h2", {}, words.list.new),
    el("label.field", { for: "code" }, el("span.name", {}, words.list.code), input, wrong),
    el("button.main", { type: "submit" }, words.list.go),
    el("p.hint", { id: "code-hint" }, words.list.codeHint),
  );
  return form;
}

function row(headings, person) {
  const cells = person.cells.slice(1, -1).map((cell, index) => el("td", { "data-name": headings[index + 1] }, cell));
  const why = person.reasons.map(([about, text]) => el("li", {}, el("b", {}, `${about}: `), text));
  return el(
    "tr",
    {},
    el("th", { scope: "row" }, person.cells[0]),
    ...cells,
    el("td.why", { "data-name": headings.at(-1) }, el("ul", {}, ...why)),
    el(
      "td.acts",
      {},
      el("a", { href: `#review/${person.patient}`, "aria-label": `${words.list.review} ${person.patient}` }, words.list.review),
      el(
        "a",
        { href: `#prescribe/${person.patient}`, "aria-label": `${words.list.prescribe} ${person.patient}` },
        words.list.prescribe,
      ),
    ),
  );
}

/** A patient's sealed file is chosen and opened; `again` shows everybody anew. */
function brought(form, came) {
  const file = el("input.unseen", { type: "file", id: "brought", "aria-describedby": "brought-hint" });
  file.addEventListener("change", async () => {
    const [one] = file.files;
    if (!one) return;
    write(came, words.waiting);
    let text;
    try {
      text = words.list.opened(await bring("brought", one));
    } catch (error) {
      text = said(error);
    }
    await again(text);
  });
  let again = async () => {};
  return {
    box: el(
      "div.row.brought",
      {},
      form.key ? [el("label.button", { for: "brought" }, words.list.brought), file] : [],
      el("span.hint", { id: "brought-hint" }, form.key ? words.list.broughtHint : words.list.noKey),
    ),
    then: (work) => (again = work),
  };
}

/** What is not read yet, and the button that reads it, patient by patient. */
function unread(told, came, again) {
  const read = async () => {
    const all = told.rows.filter((person) => person.unread_count > 0);
    button.disabled = true;
    try {
      for (const [done, { patient }] of all.entries()) {
        write(came, words.list.reading(done, all.length));
        await post("read", { patient });
      }
      await again();
    } catch (error) {
      write(came, said(error));
      button.disabled = false;
    }
  };
  const button = el("button", { type: "button", id: "read", onclick: read }, words.list.read);
  return el("div.row.notice", {}, el("span", {}, words.list.unread(told.unread_count)), button);
}

/** The screen of everybody; `show` puts it on the screen, with what is said at its top. */
export async function people(form, show, text = "") {
  const told = await get("people.json");
  const table = el(
    "div.wide",
    { tabindex: "0", role: "region", "aria-label": words.people },
    el(
      "table.people",
      {},
      el("thead", {}, el("tr", {}, ...told.headings.map((name) => el("th", { scope: "col" }, name)), el("td", {}))),
      el("tbody", {}, ...told.rows.map((person) => row(told.headings, person))),
    ),
  );
  const came = el("p.came", { role: "status" }, text);
  const bringing = brought(form, came);
  bringing.then(async (said_) => show(await people(form, show, said_)));
  return [
    el("h1", {}, words.list.title(told.on)),
    writeFor(),
    bringing.box,
    came,
    told.rows.length === 0 ? el("p", {}, words.list.none) : table,
    told.rows.some((person) => person.simulated) ? el("p.hint", {}, words.list.invented) : null,
    told.unread_count > 0 ? unread(told, came, async () => show(await people(form, show))) : null,
    ...told.left_out.map((one) => el("p.notice", {}, words.list.leftOut, one)),
    told.rows.length > 0 ? el("p.hint", {}, told.note.replaceAll("\n", " ")) : null,
    el("p.hint", {}, told.claim_note),
  ];
}

/** The screen before a review: from when, and for which norms. */
export function review(patient) {
  const since = el("input", { id: "since", type: "date", name: "since" });
  const age = el("input.number", { id: "age", type: "text", inputmode: "numeric", size: 4 });
  const sex = el(
    "select",
    { id: "sex" },
    ...[["", "unsaid"], ["female", "female"], ["male", "male"]].map(([value, name]) =>
      el("option", { value }, words.since[name]),
    ),
  );
  const address = () => {
    const asked = new URLSearchParams({ since: since.value, age: age.value.trim(), sex: sex.value });
    return `/review/${patient}?${asked}`;
  };
  const link = el("a.main", { href: address(), target: "_blank", rel: "noopener" }, words.since.open);
  const wrong = el("span.wrong", { id: "age-wrong", role: "alert" });
  age.setAttribute("aria-describedby", wrong.id);
  const look = () => {
    const years = age.value.trim();
    const fits = years === "" || (/^[0-9]+$/.test(years) && Number(years) >= 1 && Number(years) <= 120);
    write(wrong, fits ? "" : words.since.badAge);
    if (fits) link.setAttribute("href", address());
    else link.removeAttribute("href");
  };
  for (const input of [since, age, sex]) input.addEventListener("input", look);
  const field = (name, input, ...more) => el("label.field", { for: input.id }, el("span.name", {}, name), input, ...more);
  return [
    el("h1", {}, `${words.since.title}: ${patient}`),
    el(
      "div.row",
      {},
      field(words.since.from, since),
      field(words.since.age, age, wrong),
      field(words.since.sex, sex),
      link,
      el("a", { href: `#prescribe/${patient}` }, words.list.prescribe),
    ),
  ];
}
