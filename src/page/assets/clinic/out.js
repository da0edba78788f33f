// What goes out of the desk: kept, on paper, to the patient's computer.

import { el, write } from "../dom.js";
import { post } from "./ask.js";
import { said, words } from "./words.js";

/**
 * The buttons of a patient's prescription and the frame that prints. `settled` waits for the changes on
 * their way, `text` is the file's text, `isKept` whether it is kept, `nowKept` is told that it is; what
 * came of it is written to `came`.
 */
export function goingOut({ patient, form, body, came, settled, text, isKept, nowKept }) {
  async function doing(work) {
    write(came, words.waiting);
    try {
      await settled();
      await work();
    } catch (error) {
      write(came, said(error));
    }
  }

  async function keep() {
    const told = await post("keep", { patient, text: text() });
    nowKept();
    write(came, words.doing.kept(told.path) + (told.before ? words.doing.keptBefore(told.before) : ""));
  }

  /** Keeps what goes out, where it is not kept yet; what there is to say of it. */
  async function keepToo() {
    if (isKept()) return "";
    await keep();
    return words.doing.keptToo;
  }

  const frame = el("iframe.unseen", { title: words.doing.print, "aria-hidden": "true", tabindex: "-1" });
  async function print() {
    // What is on paper is what is kept.
    const keeps = await keepToo();
    const { address } = await post("handout", { patient, text: text(), paper: paper.value });
    const loaded = new Promise((resolve) => frame.addEventListener("load", resolve, { once: true }));
    frame.src = address;
    await loaded;
    came.replaceChildren(
      `${words.doing.printed}${keeps} `,
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
        el("p", {}, el("code", {}, form.key_path)),
        el("p", {}, words.doing.keyKeep),
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
    const keeps = await keepToo();
    const { address, name } = await post("handover", { patient, text: text() });
    const link = el("a", { href: address, download: name, hidden: true });
    body.append(link);
    link.click();
    link.remove();
    const [where, command, ...then] = words.doing.steps(name);
    came.replaceChildren(
      `${words.doing.handed(name)}${keeps} ${also}`,
      el("ol", {}, el("li", {}, where, " ", el("code", {}, command)), ...then.map((step) => el("li", {}, step))),
    );
  }

  const paper = el(
    "select",
    { id: "paper", "aria-label": words.doing.paper },
    el("option", { value: "a4" }, "A4"),
    el("option", { value: "letter" }, "Letter"),
  );
  const button = (name, id, work, also = "") =>
    el(`button.needs${also}`, { type: "button", id, disabled: true, onclick: () => doing(work) }, name);
  return {
    frame,
    buttons: [
      button(words.doing.keep, "keep", keep),
      button(words.doing.print, "print", print, ".main"),
      paper,
      button(words.doing.hand, "hand", hand),
    ],
  };
}
