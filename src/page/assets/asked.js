// The screens that ask how the hands are: the night, before and after, and what hurts.

import { el, write } from "./dom.js";
import { button, heading, row } from "./pieces.js";
import { felt, oneOf, yesNo } from "./scale.js";
import { words } from "./words.js";

/** Screens of one screen: steps one after the other, each with its own heading. */
function steps(made, show) {
  const box = el("div");
  const to = (place) => {
    box.replaceChildren(...made[place](to, place));
    show(box);
  };
  to(0);
  return box;
}

export const asked = {
  night(_, { press, show }) {
    const nights = ["woke", "splint", "dropped"].map((what) => [what, yesNo(words.night[what], what)]);
    const skipped = oneOf(words.night.skipped, Object.entries(words.night.reasons), "skipped");
    const hands = { left: felt("left"), right: felt("right") };
    const send = () =>
      press("night", {
        ...Object.fromEntries(nights.map(([what, asked]) => [what, asked.chosen()])),
        left: hands.left.answer(),
        right: hands.right.answer(),
        skipped: skipped.chosen(),
      });
    const hand = (side, on) => (to, place) => [
      heading(words.night.morning[side]),
      hands[side].box,
      row(button(words.back, () => to(place - 1)), button(words.next, () => on(to), ".main"), hands[side].none),
    ];
    return [
      steps(
        [
          (to) => [
            heading(words.night.heading),
            el("p.hint", {}, words.night.words),
            el("div.questions", {}, nights.map(([, asked]) => asked.field), skipped.field),
            row(button(words.next, () => to(1), ".main")),
          ],
          hand("left", (to) => to(2)),
          hand("right", send),
        ],
        show,
      ),
    ];
  },

  symptoms(screen, { press, show }) {
    const asked = screen.sides.map((side) => [side, felt(side)]);
    const { when } = screen;
    const step = ([side, hand], place) => (to) => {
      const missing = el("p.missing", { role: "alert" });
      const on = () => {
        const open = hand.firstOpen();
        if (open) {
          write(missing, words.symptoms.missing);
          open.focus();
        } else if (place + 1 < asked.length) to(place + 1);
        else press("symptoms", { left: null, right: null, ...Object.fromEntries(asked.map(([one, felt]) => [one, felt.answer()])) });
      };
      return [
        heading(words.symptoms.heading[when][side]),
        hand.box,
        missing,
        row(place > 0 ? button(words.back, () => to(place - 1)) : null, button(words.next, on, ".main"), hand.none),
      ];
    };
    return [steps(asked.map(step), show)];
  },

  hurt(screen, { press }) {
    const hand = felt("hurt");
    const side = screen.sides.length > 1 ? oneOf(words.hurt.side, screen.sides.map((one) => [one, words.Hand[one]]), "side") : null;
    const like = oneOf(words.hurt.like, Object.entries(words.hurt.likes), "like");
    const missing = el("p.missing", { role: "alert" });
    const send = () => {
      const answer = hand.answer();
      const which = side ? side.chosen() : (screen.sides[0] ?? null);
      if (answer.pain === null || (side && which === null)) {
        write(missing, words.hurt.missing);
        (side && which === null ? side : hand.firstOpen()).focus();
      } else press("hurts", { felt: answer, side: which, like: like.chosen() });
    };
    return [
      heading(words.hurt.heading),
      side ? side.field : null,
      hand.box,
      like.field,
      missing,
      row(button(words.hurt.send, send, ".main"), button(words.hurt.no, () => press("no"))),
    ];
  },
};
