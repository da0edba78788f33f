// What is known at a time: the angle, the phase, the repetition. All of it is the program's own
// analysis; here it is only looked up.

const PARTS_KEPT = 12;

/** The recording as the program tells it. */
export async function recording() {
  const answer = await fetch("/recording.json");
  if (!answer.ok) throw new Error(String(answer.status));
  return answer.json();
}

/** First place of a sorted list whose value is greater than `wanted`. */
export function after(list, wanted, value = (one) => one) {
  let [low, high] = [0, list.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (value(list[middle]) <= wanted) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** One set: its repetitions, and its curve, which comes in parts. */
export class Track {
  /** `told` is called when a part has come or could not be had. */
  constructor(number, set, own, told) {
    Object.assign(this, { number, set, own, told });
    this.reps = set.reps;
    this.curve = own.curve;
    this.start_s = own.curve?.start_s ?? set.start_s;
    this.end_s = own.curve?.end_s ?? set.end_s;
    this.parts = new Map();
  }

  /** The repetition that began last, with the rest after it; -1 before the first. */
  repetitionAt(t_s) {
    return after(this.reps, t_s, (rep) => rep.lift_start_s) - 1;
  }

  /** Repetitions that are over. */
  doneAt(t_s) {
    return after(this.reps, t_s, (rep) => rep.lower_end_s);
  }

  isGap(t_s) {
    const gaps = this.curve?.gaps_s ?? [];
    const gap = gaps[after(gaps, t_s, (one) => one[0]) - 1];
    return gap !== undefined && t_s > gap[0] && t_s < gap[1];
  }

  /** The phase and its times; its end is `null` where it is unknown. */
  phaseAt(t_s) {
    if (this.isGap(t_s) || t_s < this.start_s || t_s > this.end_s) return { name: "none", from_s: t_s, to_s: null };
    const at = this.repetitionAt(t_s);
    return this.phasesOf(at).find((phase) => phase.to_s === null || t_s < phase.to_s);
  }

  /** The phases of a repetition with the rest after it; -1 is what lies before the first. */
  phasesOf(at) {
    const next_s = this.reps[at + 1]?.lift_start_s ?? null;
    const rep = this.reps[at];
    if (!rep) return [{ name: "rest", from_s: this.start_s, to_s: next_s }];
    const { lift_start_s, lift_end_s, lower_start_s, lower_end_s } = rep;
    const own = this.own.goes_round
      ? [{ name: "turn", from_s: lift_start_s, to_s: lower_end_s }]
      : [
          { name: "lift", from_s: lift_start_s, to_s: lift_end_s },
          { name: "hold", from_s: lift_end_s, to_s: lower_start_s },
          { name: "lower", from_s: lower_start_s, to_s: lower_end_s },
        ];
    return [...own, { name: "rest", from_s: lower_end_s, to_s: next_s }];
  }

  /** The angle, degrees; `null` where there are no samples, `undefined` where it has not come yet. */
  angleAt(t_s) {
    if (!this.curve || this.isGap(t_s)) return null;
    const part = this.part(this.partOf(t_s));
    if (!part?.runs) return undefined;
    const run = part.runs[after(part.runs, t_s, (one) => one.start_s) - 1];
    if (!run) return null;
    const place = (t_s - run.start_s) / part.step_s;
    const from = Math.floor(place);
    const a = run.angles_deg[from];
    if (a === undefined) return place - run.angles_deg.length < 1 ? (run.angles_deg.at(-1) ?? null) : null;
    const b = run.angles_deg[from + 1] ?? a;
    return a + (b - a) * (place - from);
  }

  /** The stretches of the curve between two times, as far as they have come: lists of [s, degrees]. */
  runs(from_s, to_s) {
    if (!this.curve) return [];
    const found = [];
    for (let number = this.partOf(from_s); number <= this.partOf(to_s); number += 1) {
      const part = this.part(number);
      for (const run of part?.runs ?? []) {
        const first = Math.max(0, Math.floor((from_s - run.start_s) / part.step_s));
        const last = Math.min(run.angles_deg.length - 1, Math.ceil((to_s - run.start_s) / part.step_s));
        const points = [];
        for (let at = first; at <= last; at += 1) points.push([run.start_s + at * part.step_s, run.angles_deg[at]]);
        if (points.length > 1) found.push(points);
      }
    }
    return found;
  }

  partOf(t_s) {
    const inside_s = Math.min(Math.max(t_s, this.start_s), this.end_s) - this.start_s;
    return Math.floor(inside_s / this.curve.part_s);
  }

  /** A part that has come; else it is asked for, and so is the one after it. */
  part(number) {
    const part = this.have(number);
    if (part?.runs && this.start_s + (number + 1) * this.curve.part_s <= this.end_s) this.have(number + 1);
    return part;
  }

  have(number) {
    const known = this.parts.get(number);
    if (known && !(known.failed_ms < performance.now() - 3000)) return known;
    const part = { runs: null };
    this.parts.set(number, part);
    while (this.parts.size > PARTS_KEPT) {
      const farthest = [...this.parts.keys()].reduce((a, b) => (Math.abs(b - number) > Math.abs(a - number) ? b : a));
      this.parts.delete(farthest);
    }
    fetch(`/curve.json?set=${this.number}&part=${number}`)
      .then((answer) => (answer.ok ? answer.json() : Promise.reject(new Error(String(answer.status)))))
      .then((own) => Object.assign(part, own))
      .then(() => this.told(true))
      .catch(() => {
        part.failed_ms = performance.now();
        this.told(false);
      });
    return part;
  }
}
