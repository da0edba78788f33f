// Saving for the clinic: one button, and what came of it.

import { el, write } from "./dom.js";
import { button } from "./pieces.js";
import { words } from "./words.js";

async function saved(all) {
  try {
    const answer = await fetch("/save", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ all }),
    });
    if (!answer.ok) throw new Error(String(answer.status));
    return await answer.json();
  } catch {
    return { outcome: "failed", why: "" };
  }
}

/** The button with its words; `hint` says what it is for. */
export function forClinic(hint) {
  const told = el("p.saved", { role: "status" });
  const save = async (all) => {
    for (const one of [first, again]) one.disabled = true;
    write(told, words.clinic.saving);
    const answer = await saved(all);
    write(told, words.clinic[answer.outcome](answer));
    for (const one of [first, again]) one.disabled = false;
    again.hidden = answer.outcome !== "nothing" || all;
  };
  const first = button(words.clinic.save, () => save(false));
  const again = button(words.clinic.again, () => save(true), ".quiet");
  again.hidden = true;
  return el("div.for-clinic", {}, el("p.hint", {}, hint), el("div.saves", {}, first, again), told);
}
