// The screens that are read and answered. Each takes what the program shows and gives the elements;
// `update`, where there is one, takes the same screen with other numbers.

import { asked } from "./asked.js";
import { forClinic } from "./clinic.js";
import { drawing, el, movementDrawing, write } from "./dom.js";
import { beside, button, heading, lines, row } from "./pieces.js";
import { hasVoice, say } from "./voice.js";
import { words } from "./words.js";

export const screens = {
  ...asked,

  welcome(screen, { press, view }) {
    const begin = button(screen.unfinished ? words.welcome.goOn : words.welcome.begin, () => press("begin"), ".main.huge");
    begin.dataset.enter = "";
    return [
      heading(words.welcome.heading),
      el("p.big", {}, screen.title),
      screen.unfinished ? el("p.big.contact", {}, words.welcome.unfinished) : null,
      el("p", {}, view.weights ? words.welcome.take : words.welcome.takeNoWeight),
      row(begin, screen.unfinished ? button(words.welcome.anew, () => press("begin-anew")) : null),
      el("p.hint", {}, words.welcome.key),
      screen.questions
        ? row(button(`${words.welcome.questions} (${words.welcome.questionsHint})`, () => press("only-questions"), ".quiet"))
        : null,
      screen.clinic ? forClinic(words.clinic.first) : null,
    ];
  },

  "first-questions"(screen, { press }) {
    return [
      heading(words.firstQuestions.heading),
      el("p.big", {}, words.firstQuestions.words),
      lines(screen.questions),
      row(button(words.firstQuestions.applies, () => press("applies")), button(words.firstQuestions.none, () => press("none-applies"))),
    ];
  },

  "not-today"(screen, { press }) {
    return [
      heading(screen.heading),
      el("p.big", {}, screen.words),
      screen.contact ? el("p.big.contact", {}, el("span.label", {}, words.notToday.contact), screen.contact) : null,
      row(button(words.close, () => press("next"), ".main")),
    ];
  },

  "ask-first"(screen, { press }) {
    return [
      heading(words.askFirst.heading),
      el("p.big", {}, words.askFirst.words),
      screen.contact ? el("p.big.contact", {}, el("span.label", {}, words.notToday.contact), screen.contact) : null,
      row(button(words.askFirst.no, () => press("no"), ".main"), button(words.askFirst.yes, () => press("yes"))),
    ];
  },

  cautions(screen, { press }) {
    return [heading(words.cautions.heading), lines(screen.cautions), row(button(words.cautions.next, () => press("next"), ".main"))];
  },

  place(screen, { press, view }) {
    const both = view.forearm ? words.place.both : null;
    const from = both ?? words.place;
    const state = el("p.state", { role: "status" });
    const on = button(from.next, () => {
      if (on.getAttribute("aria-disabled") === "true") write(state, from.wait);
      else press("next");
    }, ".main");
    const alone = both ? button(both.alone, () => press("go-on")) : null;
    const update = (_, view) => {
      const named = both ? [[both.hand, view.sensor], [both.forearm, view.forearm]] : [[words.place.link, view.sensor]];
      const missing = named.filter(([, { link }]) => link !== "there");
      const found = [both ? both.there : words.place.link.there, named.some(([, { battery_low }]) => battery_low) ? from.low : ""];
      on.setAttribute("aria-disabled", String(missing.length > 0));
      state.dataset.link = missing[0]?.[1].link ?? "there";
      write(state, (missing.length > 0 ? missing.map(([names, { link }]) => names[link]) : found).join(" ").trim());
      // Whoever has the hand's alone is not kept waiting.
      if (both) alone.hidden = missing.length !== 1 || missing[0][1] !== view.forearm;
    };
    update(screen, view);
    return {
      update,
      parts: [
        heading((screen.change ? from.change : from.heading)[screen.side]),
        beside(
          el("div.pictures", {}, drawing("sensor.svg", { side: screen.side, view: both ? "forearm" : "back" }), drawing("sensor.svg", { side: screen.side, view: "palm" })),
          lines(from.steps, "ol"),
          state,
          row(on, alone),
        ),
      ],
    };
  },

  hearing(_, { press }) {
    return [
      heading(words.hearing.heading),
      el("p.big", {}, hasVoice() ? words.hearing.voice : words.hearing.tones),
      row(
        button(words.hearing.yes, () => press("yes"), ".main"),
        button(words.hearing.no, () => press("no")),
        button(words.hearing.again, () => say({ kind: "other", words: words.hearing.heading }), ".quiet"),
      ),
    ];
  },

  calibrate(screen, { press, skip, view }) {
    const what = screen.move_now ? "move" : "still";
    const said = view.forearm ? `${what}Both` : what;
    const ways = row(
      screen.without ? button(words.calibrate.without, () => press("go-on")) : null,
      button(words.hurts, () => press("pause"), ".stop"),
      skip(),
    );
    const asked = el("p.big", {}, words.calibrate.words[said]);
    // What was wrong, and the ways out, come before what is asked again.
    const text = screen.without
      ? [
          screen.wrong ? el("p.wrong", { role: "status" }, el("strong", {}, `${words.calibrate.wrong}: `), `${screen.wrong}.`) : null,
          el("p", {}, words.calibrate.withoutWords),
          ways,
          asked,
        ]
      : [asked, ways];
    return [
      heading(words.calibrate.heading[what]),
      beside(el(`div.${what}`, {}, movementDrawing({ ...screen, load_kg: 0, load_shape: null })), ...text),
    ];
  },

  wearing(screen, { press, view }) {
    const both = Boolean(view.forearm);
    if (screen.looser) {
      return [
        heading(both ? words.wearing.looserBoth : words.wearing.looser),
        beside(drawing("sensor.svg", { side: screen.side, view: "palm" }), el("p.big", {}, both ? words.wearing.looserBothWords : words.wearing.looserWords), row(button(words.wearing.done, () => press("next"), ".main"))),
      ];
    }
    return [
      heading(both ? words.wearing.both : words.wearing.heading),
      beside(drawing("sensor.svg", { side: screen.side, view: both ? "forearm" : "palm" }), row(button(words.yes, () => press("yes"), ".huge"), button(words.no, () => press("no"), ".huge"))),
    ];
  },

  intro(screen, { press, skip, view }) {
    const { round_of, set_of, posture } = screen;
    const often = [
      words.intro.times(screen.target),
      set_of[1] > 1 ? words.intro.set(...set_of) : null,
      round_of[1] > 1 ? words.intro.round(...round_of) : null,
    ];
    const arm = [
      posture.elbow_deg !== null && posture.elbow_deg !== undefined ? words.intro.elbow(posture.elbow_deg) : null,
      words.intro.support[posture.forearm],
    ];
    const facts = [
      [words.intro.hand, words.hand[screen.side]],
      [words.intro.dose, often.filter(Boolean).join(", ")],
      [words.intro.load, screen.load_words],
      [words.intro.tempo, screen.tempo_words],
      [words.intro.how, arm.filter(Boolean).join(", ")],
    ];
    return [
      heading(screen.words),
      beside(
        el("div", {}, movementDrawing(screen), screen.caution ? el("p.caution", {}, screen.caution) : null),
        el("dl.facts", {}, facts.filter(([, fact]) => fact).map(([name, fact]) => el("div", {}, el("dt", {}, name), el("dd", {}, fact)))),
        screen.own_words ? el("p.own", {}, screen.own_words) : null,
        view.sensor.battery_low ? el("p.caution", {}, words.intro.low) : null,
        el("p.hint", {}, `${words.intro.hands} ${screen.load_kg === 0 ? words.intro.stopEmpty : words.intro.stop}`),
        row(button(words.start, () => press("next"), ".main.huge"), button(words.hurts, () => press("pause"), ".stop"), skip()),
      ),
    ];
  },

  rest(screen, { press, skip }) {
    const left = el("span.clock", { "aria-hidden": "true" });
    const spoken = el("span.unseen");
    const update = (screen) => {
      write(left, String(Math.ceil(screen.left_s)));
      write(spoken, `${Math.ceil(screen.left_s / 10) * 10} ${words.rest.left}`);
    };
    update(screen);
    return {
      update,
      parts: [
        heading(screen.weight ? words.rest.weight : words.rest.heading),
        el("p.countdown", {}, left, spoken, el("span.under", { "aria-hidden": "true" }, words.rest.left)),
        screen.good_place ? el("p.big", {}, words.rest.goodPlace) : null,
        el("p.big", {}, screen.done ? el("strong", {}, words.rest.done(...screen.done)) : null, words.rest.next(screen.next)),
        row(button(words.rest.now, () => press("next"), ".main"), button(words.rest.more, () => press("more-time")), button(words.hurts, () => press("pause"), ".stop"), skip()),
      ],
    };
  },

  paused(screen, { press }) {
    return [
      heading(screen.weight ? words.paused.heading.weight : words.paused.heading.empty),
      el("p.big", {}, words.paused.why[screen.why]),
      el("p.big.asks", {}, screen.provokes ? words.paused.hurtsOrTingles : words.paused.hurts),
      row(
        button(screen.provokes ? words.paused.yesEither : words.paused.yes, () => press("yes"), ".stop.huge"),
        button(words.paused.no, () => press("no"), ".huge"),
        screen.enough ? button(words.paused.enough, () => press("enough")) : null,
      ),
    ];
  },

  settling(screen, { press }) {
    return [
      heading(screen.may_go_on ? words.settling.heading.on : words.settling.heading.over),
      el("p.big", {}, screen.may_go_on ? words.settling.mayGoOn : screen.words),
      screen.may_go_on
        ? row(button(words.settling.leave, () => press("next")), button(words.settling.goOn, () => press("go-on")))
        : row(button(words.settling.next, () => press("next"), ".main")),
    ];
  },

  remark(_, { press }) {
    const text = el("textarea", { id: "remark", rows: 5, maxlength: 4000 });
    return [
      heading(words.remark.heading),
      el("label.big", { for: "remark" }, words.remark.label),
      text,
      row(button(words.remark.send, () => press("remark", { text: text.value }), ".main"), button(words.remark.nothing, () => press("remark", { text: "" }))),
    ];
  },

  summary(screen, { press }) {
    return [
      heading(screen.worked ? words.summary.heading.worked : words.summary.heading.answered),
      screen.sentences.length > 0 ? lines(screen.sentences) : el("p.big", {}, words.summary.empty),
      screen.next ? el("p.big.contact", {}, el("span.label", {}, words.summary.next), screen.next) : null,
      screen.clinic ? forClinic(words.clinic.last) : null,
      row(button(words.summary.close, () => press("next"), ".main")),
    ];
  },
};
