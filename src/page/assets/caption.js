// What is said, written below the screen for whoever does not hear it. What stands on the screen
// already is not seen a second time; it is announced all the same.

import { el } from "./dom.js";

/** Lines that come together are read together, the last two of them. */
const TOGETHER_MS = 600;
const STAYS_MS = 9000;

const box = document.getElementById("caption");
let at = -Infinity; // when the last line came
let unseat = 0;
let number = 0; // of the last line

export function clear() {
  clearTimeout(unseat);
  box.replaceChildren();
}

/** Another screen: what was said with it stays. */
export function goesOn() {
  if (performance.now() - at > TOGETHER_MS) clear();
}

export function says(words) {
  if (performance.now() - at > TOGETHER_MS) clear();
  at = performance.now();
  const before = [...box.children].filter((one) => one.dataset.line !== String(number));
  for (const one of before) one.remove();
  number += 1;
  for (const sentence of words.match(/[^.?!]+[.?!]*\s*/g) ?? []) box.append(el("span", { "data-line": number }, sentence));
  box.lastChild?.append(" ");
  clearTimeout(unseat);
  unseat = setTimeout(clear, STAYS_MS);
}

/** Sentences that stand on the screen are not seen here. */
export function fits(screen) {
  if (box.childElementCount === 0) return;
  const there = screen.innerText;
  for (const one of box.children) {
    const bare = one.textContent.trim().replace(/[.?!]+$/, "").replace(/^Next: /, "");
    one.classList.toggle("unseen", there.includes(bare));
  }
}

/** All of it not seen: out of the way, or with its place kept. */
export function hide(unseen, kept) {
  box.classList.toggle("unseen", unseen);
  box.classList.toggle("kept", kept);
}
