// The dose table: a line for each exercise, with what is changed most; the rest behind "more".

import { drawing, el, movementDrawing } from "../dom.js";
import { fieldAt } from "./field.js";
import { columns, words } from "./words.js";

/** What names an item: its movement, plane, stretch or activity. */
export const nameKey = (form) => form.fields.find((field) => field.takes.what === "word" && field.required)?.name;

function titleOf(form, item) {
  const word = item[nameKey(form)];
  return form.names.find(([own]) => own === word)?.[1] ?? word ?? form.kind;
}

/** Kilograms of a pound (International Yard and Pound Agreement, 1959). */
const KG_PER_LB = 0.45359237;

/** Whether the weight is said in kilograms or pounds; the same weight, rounded as weights are sold. */
function unit(item, place, of, act) {
  const inPounds = "load_lb" in item;
  return el(
    "select.unit",
    {
      "aria-label": words.draft.unit(of),
      onchange: (event) => {
        const [from, to] = event.target.value === "lb" ? ["load_kg", "load_lb"] : ["load_lb", "load_kg"];
        const factor = to === "load_lb" ? 1 / KG_PER_LB : KG_PER_LB;
        const weight = Math.round((item[from] ?? 0) * factor * 100) / 100;
        act({ do: "set", at: ["items", place, from], to: null }, { do: "set", at: ["items", place, to], to: weight });
      },
    },
    ...["kg", "lb"].map((name) => el("option", { value: name, selected: (name === "lb") === inPounds }, name)),
  );
}

const within = (field) => field?.takes.fields ?? [];

function usual(form, item) {
  const rotates = ["supination", "pronation"].includes(item.movement);
  const glides = item.what === "tendon-glides";
  const pushes = "push_s" in item || "back_s" in item || (rotates && !("tempo" in item));
  const leaves = new Set([
    "load_lb" in item ? "load_kg" : "load_lb",
    ...(pushes ? ["tempo"] : ["push_s", "back_s"]),
    ...(form.kind === "timed" ? (glides ? ["seconds"] : ["repetitions", "pause_s"]) : []),
  ]);
  return (name) => !leaves.has(name);
}

const COLUMNS = [
  ["side"],
  ["sets", "times", "repetitions", "hold_s", "seconds", "pause_s"],
  ["load_kg", "load_lb"],
  ["tempo", "push_s", "back_s"],
  ["range", "no_further_deg"],
  ["rest_s"],
];

function picture(item) {
  const side = item.side === "left" ? "left" : "right";
  if (item.movement) {
    return movementDrawing({
      movement: item.movement,
      side,
      posture: item.posture ?? {},
      load_kg: item.load_kg ?? item.load_lb,
      load_shape: item.load_shape,
    });
  }
  if (item.plane) return drawing("movement.svg", { plane: item.plane, side, ...item.posture });
  if (item.stretch) return drawing("stretch.svg", { stretch: item.stretch, side });
  if (item.what === "tendon-glides") return drawing("glides.svg", { side });
  if (item.what && item.what !== "own-words") return drawing("care.svg", { what: item.what, side });
  return el("div.picture");
}

/** A picture that is drawn anew only where it would differ. */
function pictureOf(item) {
  const frame = el("div.drawn");
  let drawn = "";
  const show = (own) => {
    const asked = JSON.stringify([own.movement, own.plane, own.stretch, own.what, own.side, own.posture, own.load_shape, (own.load_kg ?? own.load_lb ?? 0) > 0]);
    if (asked === drawn) return;
    drawn = asked;
    frame.replaceChildren(picture(own));
  };
  show(item);
  return { frame, show };
}

/** Fields of an item at their ways, those of its tables too. */
function fieldsOf(fields, way) {
  return fields.flatMap((field) =>
    field.takes.what === "table"
      ? within(field).map((inner) => [inner, [...way, field.name, inner.name]])
      : [[field, [...way, field.name]]],
  );
}

/**
 * The table of all items. `changed` takes a change of a field, `act` an edit of the list, `opened` are
 * the places of the lines that are open. Gives the table, its fields, and what draws its pictures anew.
 */
export function doseTable(items, forms, { changed, act, opened }) {
  const fields = [];
  const pictures = [];
  const troubles = [];
  const add = (of) => ([field, way]) => {
    const one = fieldAt(field, way, changed, { of, small: true });
    fields.push(one);
    return one.box;
  };
  const bodies = items.map((item, place) => {
    const form = forms.find((own) => own.kind === item.kind);
    const drawn = pictureOf(item);
    pictures.push((own) => drawn.show(own));
    const trouble = el("ul.item-wrong");
    troubles.push(trouble);
    const number = el("th.number", { scope: "row" }, String(place + 1));
    if (!form) {
      return el("tbody", {}, el("tr", {}, number, el("td", { colspan: columns.length - 1 }, item.kind ?? "")));
    }
    const title = titleOf(form, item);
    const of = `${place + 1}, ${title}`;
    const shows = usual(form, item);
    const named = nameKey(form);
    const seen = new Set([named, ...COLUMNS.flat()]);
    const cells = COLUMNS.map((names) => {
      const own = names
        .filter(shows)
        .map((name) => form.fields.find((field) => field.name === name))
        .filter(Boolean);
      const units = names.includes("load_kg") && own.length > 0 ? unit(item, place, of, act) : null;
      const boxes = fieldsOf(own, ["items", place]).map(add(of));
      return el(boxes.length === 1 ? "td.single" : "td", {}, el("div.fields", {}, ...boxes, units));
    });
    const rest = form.fields.filter((field) => !seen.has(field.name));
    const details = el(
      "details",
      { open: opened.has(place), ontoggle: () => (details.open ? opened.add(place) : opened.delete(place)) },
      el("summary", { "aria-label": words.draft.shape(of) }, words.draft.more),
      el("div.fields", {}, ...fieldsOf(rest, ["items", place]).map(add(of))),
    );
    const move = (to, sign, says) =>
      el(
        "button.quiet",
        {
          type: "button",
          "aria-label": says(of),
          title: says(of),
          disabled: to < 0 || to >= items.length,
          onclick: () => act({ do: "move", item: place, to }),
        },
        sign,
      );
    return el(
      "tbody",
      {},
      el(
        "tr",
        {},
        number,
        el("td.exercise", {}, el("div.what", {}, drawn.frame, el("span", {}, title))),
        ...cells,
        el(
          "td.acts",
          {},
          move(place - 1, "↑", words.draft.up),
          move(place + 1, "↓", words.draft.down),
          el(
            "button.quiet",
            {
              type: "button",
              "aria-label": words.draft.strike(of),
              title: words.draft.strike(of),
              onclick: () => act({ do: "strike", item: place }),
            },
            "×",
          ),
        ),
      ),
      el("tr.rest", {}, el("td", {}), el("td", { colspan: columns.length - 1 }, el("div", { role: "status" }, trouble), details)),
    );
  });
  const head = el("thead", {}, el("tr", {}, ...columns.map((name) => (name ? el("th", { scope: "col" }, name) : el("td")))));
  return {
    table: el("table.dose", {}, head, ...bodies),
    fields,
    draw: (own) => pictures.forEach((show, place) => own[place] && show(own[place])),
    /** What is wrong with each exercise, below it. */
    blame: (problems) =>
      troubles.forEach((trouble, place) => {
        const own = problems.filter(({ at }) => at[0] === "items" && at[1] === place);
        trouble.replaceChildren(...own.map((problem) => el("li", {}, problem.words)));
      }),
  };
}
