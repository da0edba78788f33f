// What a person marked: repetitions of four times each, in turn, with a way back from everything.

/** The four times of a repetition, in turn. */
export const PARTS = ["lift_start_s", "lift_end_s", "lower_start_s", "lower_end_s"];
/** Changes that can be taken back. */
const STEPS = 300;

const known = (times) => times.filter((time_s) => time_s !== null);
const start = (rep) => known(rep.times)[0] ?? Infinity;
/** A hundredth of a second is finer than an eye. */
const rounded = (time_s) => Math.round(time_s * 100) / 100;

export class Marks {
  /** `key` names the recording in this window's own store; `changed` is called after each change. */
  constructor(key, changed) {
    this.key = `carpotempo-marks ${key}`;
    this.changed = changed;
    this.before = [];
    /** {id, set, times}, in order of time. */
    this.reps = [];
    /** The repetition that is being marked, and its part that comes next. */
    this.open = null;
    try {
      Object.assign(this, JSON.parse(sessionStorage.getItem(this.key) ?? "{}"));
    } catch {
      // What cannot be read was not left by this page.
    }
  }

  /** Changes something so that it can be taken back, and is kept over a reload. */
  change(how) {
    this.before.push(JSON.stringify({ reps: this.reps, open: this.open }));
    if (this.before.length > STEPS) this.before.shift();
    how();
    this.done();
  }

  done() {
    this.reps = this.reps.filter((rep) => rep.id === this.open?.id || known(rep.times).length > 0).sort((a, b) => start(a) - start(b));
    try {
      sessionStorage.setItem(this.key, JSON.stringify({ reps: this.reps, open: this.open }));
    } catch {
      // A window without a store forgets at a reload.
    }
    this.changed();
  }

  /** They are saved elsewhere. */
  forget() {
    try {
      sessionStorage.removeItem(this.key);
    } catch {
      // As above.
    }
  }

  undo() {
    const before = this.before.pop();
    if (!before) return false;
    Object.assign(this, JSON.parse(before));
    this.done();
    return true;
  }

  of(set) {
    return this.reps.filter((rep) => rep.set === set);
  }

  find(id) {
    return this.reps.find((rep) => rep.id === id);
  }

  /** What comes next in a set: the number of the repetition within it, and the part. */
  next(set) {
    const own = this.of(set);
    const at = own.findIndex((rep) => rep.id === this.open?.id);
    return at < 0 ? { number: own.length + 1, part: 0 } : { number: at + 1, part: this.open.part };
  }

  /** The times between which a part may lie. */
  room(rep, part) {
    return [known(rep.times.slice(0, part)).at(-1) ?? -Infinity, known(rep.times.slice(part + 1))[0] ?? Infinity];
  }

  /** Marks what comes next; gives what is in the way, if anything. */
  put(set, time_s) {
    const at_s = rounded(time_s);
    const rep = this.find(this.open?.id);
    if (rep && rep.set === set) {
      const { part } = this.open;
      const [from_s, to_s] = this.room(rep, part);
      if (at_s < from_s) return { before: rep.times.lastIndexOf(from_s, part - 1), time_s: from_s };
      if (at_s > to_s) return { after: rep.times.indexOf(to_s, part + 1), time_s: to_s };
      const own = this.of(set);
      const beyond = own.findIndex((other) => other !== rep && start(other) >= start(rep) && start(other) < at_s);
      if (beyond >= 0) return { beyond: beyond + 1, time_s: start(own[beyond]) };
      this.change(() => {
        rep.times[part] = at_s;
        this.on(rep, part);
      });
      return null;
    }
    const own = this.of(set);
    const within = own.findIndex((other) => known(other.times)[0] < at_s && at_s < known(other.times).at(-1));
    if (within >= 0) return { within: within + 1 };
    this.change(() => {
      const id = this.reps.reduce((most, other) => Math.max(most, other.id), 0) + 1;
      const fresh = { id, set, times: [at_s, null, null, null] };
      this.reps.push(fresh);
      this.on(fresh, 0);
    });
    return null;
  }

  /** Goes on to the next part that is not marked. */
  on(rep, part) {
    const next = rep.times.findIndex((time_s, at) => at > part && time_s === null);
    this.open = next < 0 ? null : { id: rep.id, part: next };
  }

  /** Leaves out what comes next: it was not seen. */
  skip(set) {
    const rep = this.find(this.open?.id);
    if (!rep || rep.set !== set) return false;
    this.change(() => this.on(rep, this.open.part));
    return true;
  }

  /** Another time, or none: then it is what comes next. */
  edit(id, part, time_s) {
    const rep = this.find(id);
    if (!rep || rep.times[part] === time_s) return;
    this.change(() => {
      rep.times[part] = time_s === null ? null : rounded(time_s);
      if (time_s === null) this.open = { id, part };
      else if (this.open?.id === id && this.open.part === part) this.on(rep, part);
    });
  }

  remove(id) {
    this.change(() => {
      this.reps = this.reps.filter((rep) => rep.id !== id);
      if (this.open?.id === id) this.open = null;
    });
  }

  /** All of them as they are saved, and the ids in the same order. */
  all() {
    const own = this.reps.filter((rep) => known(rep.times).length > 0);
    const marks = own.map(({ times }, at) => ({ rep: at + 1, ...Object.fromEntries(PARTS.map((name, part) => [name, times[part]])) }));
    return { marks, ids: own.map((rep) => rep.id) };
  }

  /** Repetitions that lack a time. */
  lacking() {
    return this.reps.filter((rep) => rep.times.includes(null));
  }

  /** The whole ones of a set, as the curve draws repetitions. */
  drawn(set) {
    return this.of(set)
      .filter(({ times }) => !times.includes(null) && times.every((time_s, at) => at === 0 || times[at - 1] <= time_s))
      .map(({ times }) => ({ ...Object.fromEntries(PARTS.map((name, part) => [name, times[part]])), doubts: [] }));
  }
}
