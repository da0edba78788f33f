// The clinic's page: which screen is shown, by the address.

import { el, write } from "../dom.js";
import { get } from "./ask.js";
import { desk } from "./desk.js";
import { people, review } from "./people.js";
import { said, words } from "./words.js";

const main = document.getElementById("main");
const foot = document.getElementById("foot");
const top = document.getElementById("top");
const trouble = document.getElementById("trouble");

const tell = (text) => write(trouble, text);

let form = null;
/** The prescription on the screen, if there is one. */
let open = null;
let here = location.hash;
let shown = 0;

async function screen() {
  const [, what, code] = /^#?([a-z]*)\/?([A-Za-z0-9_-]*)$/.exec(location.hash) ?? [];
  // Fresh each time: key and contact may have come.
  form = await get("form.json");
  top.replaceChildren(
    el("a.brand", { href: "#people" }, words.brand),
    el("span.hint", {}, words.here(form.store)),
  );
  if (what === "prescribe" && code) {
    open = await desk(code, form, tell);
    return ["prescribe", open.screen, open.foot];
  }
  open = null;
  if (what === "review" && code) return ["review", review(code)];
  return ["people", await people(form, put)];
}

const put = (parts) => main.replaceChildren(...parts.filter(Boolean));

async function go() {
  if (location.hash === here && shown > 0) return;
  if (open && !open.isKept() && !window.confirm(words.doing.leave)) {
    history.replaceState(null, "", here || "#people");
    return;
  }
  open?.left();
  here = location.hash;
  shown += 1;
  const mine = shown;
  main.setAttribute("aria-busy", "true");
  tell("");
  try {
    const [name, parts, doings = []] = await screen();
    if (mine !== shown) return;
    put(parts);
    foot.replaceChildren(...doings);
    document.body.dataset.screen = name;
    const heading = main.querySelector("h1");
    heading?.setAttribute("tabindex", "-1");
    heading?.focus({ preventScroll: true });
    main.scrollTo(0, 0);
    document.title = heading?.textContent ?? words.brand;
  } catch (error) {
    tell(said(error));
  }
  main.removeAttribute("aria-busy");
}

window.addEventListener("hashchange", go);
go();
