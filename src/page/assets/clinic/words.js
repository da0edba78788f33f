// Every word of the clinic's page that is not the program's own answer.

const plural = (count, one, many) => `${count} ${count === 1 ? one : many}`;

export const words = {
  brand: "The clinic’s desk",
  here: (store) => `Everything stays on this computer, in ${store}`,
  people: "Patients",
  gone: "The program behind this page has ended. What is written here is still here: copy the file’s text if you need it, then start the program again.",
  refused: "The program did not take this. Reload the page; what was kept is safe.",
  waiting: "One moment.",

  list: {
    title: (on) => `Patients on ${on}`,
    none: "No patients in this store yet.",
    invented: "* Invented data: played by a simulator. Nobody’s record.",
    review: "Review",
    prescribe: "Prescribe",
    unread: (count) => `Not in these figures: ${plural(count, "session", "sessions")} not read yet.`,
    read: "Read them now",
    reading: (done, of) => `Reading: ${done} of ${plural(of, "patient", "patients")}.`,
    leftOut: "Left out: ",
    new: "Write a prescription for",
    code: "Patient’s code",
    codeHint: "Letters, digits, - and _; never a name.",
    badCode: "A code has 1 to 32 letters, digits, - and _, and no name in it.",
    go: "Write",
    brought: "Open what a patient brought…",
    broughtHint: "The sealed file that the patient’s page saved for the clinic. Nothing in the store is written over.",
    noKey: "The clinic has no key yet: it is made when a prescription is handed over for the first time.",
    opened: ({ patient, new_count, grown_count, already_count, different }) =>
      [
        `${patient}: ${plural(new_count, "session", "sessions")} put into the store`,
        grown_count > 0 ? `, ${plural(grown_count, "session", "sessions")} made whole` : "",
        already_count > 0 ? `, ${plural(already_count, "session", "sessions")} there already` : "",
        ".",
        different.length > 0
          ? ` Not taken, since something else of that name is in the store: ${different.join(", ")}.`
          : "",
      ].join(""),
  },

  since: {
    title: "Review",
    from: "Sessions from",
    age: "Age, for published norms; kept nowhere",
    sex: "Sex, for published norms; kept nowhere",
    unsaid: "not said",
    female: "female",
    male: "male",
    open: "Open the review",
    badAge: "A whole number from 1 to 120, or nothing.",
  },

  draft: {
    title: (patient) => `Prescription for ${patient}`,
    begin: "Begin with",
    present: "the one in force",
    last: (on) => `as in the session of ${on}`,
    begunAnew: "Begun anew. “Take back” brings back what was there.",
    usual: (usual) => `usual: ${usual}`,
    file: "a routine file…",
    starting: ({ title, exercise_count, session_min }) =>
      `${title}: ${plural(exercise_count, "exercise", "exercises")}, about ${Math.round(session_min)} min`,
    page: "A starting routine is a page to edit, never a prescription by itself.",
    back: "Take back",
    before: "Before a weight is offered",
    beforeHint: "Without these three the patient practises with an empty hand.",
    questions: "The questions before the first session",
    today: "today",
    weeks: (count) => `in ${count} weeks`,
    whole: "The whole routine",
    limits: "Limits: when the patient is stopped",
    fine: "Form rule and tempo band",
    dose: "Dose",
    add: "Add",
    addTitle: "Add an exercise",
    more: "more",
    up: (name) => `${name}: earlier`,
    down: (name) => `${name}: later`,
    strike: (name) => `${name}: strike out`,
    unit: (name) => `${name}: unit of the weight`,
    shape: (name) => `${name}: posture, shape of the weight, own words`,
    text: "The file itself (TOML)",
    textHint: "The table above writes this text; it can be written here as well. Comments stay.",
    wrong: (count) => (count === 1 ? "1 thing is wrong" : `${count} things are wrong`),
    line: ({ line, column, words }) => `line ${line}, column ${column}: ${words}`,
    field: (number, name, said) => `${number ? `Exercise ${number}` : ""}${number && name ? ", " : ""}${name}: ${said}`,
    yes: "Where one of these is a yes: no exercise yet; it is yours to decide.",
    unready: "Not a prescription yet",
  },

  reading: {
    title: "In the patient’s words",
    ask: "Whom to ask: ",
    look: "To look at once more",
    lookHint: "Nothing is changed by these.",
    nothing: "Nothing to remark.",
    count: (count) => (count === 0 ? "" : `${count} to look at`),
    item: (number) => `Exercise ${number}: `,
    length: ({ session_min, work_min, weight_change_count, strap_change_count }) =>
      `About ${Math.round(session_min)} minutes, ${Math.round(work_min)} of them at work; ` +
      `${plural(weight_change_count, "weight change", "weight changes")}, ` +
      `${plural(strap_change_count, "strap change", "strap changes")}.`,
  },

  doing: {
    keep: "Keep",
    kept: (path) => `Kept: ${path}.`,
    keptBefore: (before) => ` The one before is ${before}.`,
    unkept: "Not kept yet.",
    print: "Print the handout",
    printed: "The handout is ready to print.",
    keptToo: " The prescription is kept.",
    open: "Open it in a window of its own",
    paper: "Paper",
    hand: "Hand over",
    handed: (name) => `${name} was saved by the browser, in its folder of downloads. Give it to the patient yourself; nothing in it is secret.`,
    steps: (name) => [
      `Once, on the patient’s computer, by you or whoever helps: copy ${name} there and type, in the folder it lies in:`,
      `carpotempo session --clinic ${name} --launcher "Wrist exercises"`,
      "From then on the patient opens “Wrist exercises” by a double-click. The first and the last screen save for the clinic.",
      "What the patient brings back is opened here, under “Patients”.",
    ],
    keyTitle: "Make the clinic’s key first?",
    key: "The patient’s page seals what it saves to the clinic’s key, and only the clinic can open it. It is made once. Whoever has the secret file can open what patients save; without it nobody can. It will lie here:",
    keyKeep: "Keep a copy in a second safe place, such as a stick that is locked away, and never send it.",
    makeKey: "Make the key",
    notNow: "Not now",
    keyMade: (path) => `The secret key is ${path}. Keep a copy of it in a second safe place.`,
    leave: "This prescription is not kept. Leave without keeping?",
    over: "What is written here is not kept. Begin anew over it?",
  },
};

/** What a field is called; those not named here are called by their key. */
export const fieldNames = {
  title: "Title",
  source: "Where the dose comes from",
  words: "Own words",
  rounds: "Rounds",
  order: "Hands take turns",
  sessions_a_week: "Sessions a week",
  screened_on: "Questions gone through on",
  contact: "Whom to ask, and how",
  review_by: "Holds until",
  pain_max: "Highest pain, of 10",
  pain_rise_max: "Highest rise of pain",
  tingling_rise_max: "Highest rise of tingling",
  numbness_rise_max: "Highest rise of numbness",
  weight_when_numb: "Weight also with numb fingers",
  hurried_in_a_row: "Hurried or short in a row that end the set",
  least_range_ratio: "Short: below this share of the first three’s range",
  low_ratio: "Hurried below this share of the time",
  high_ratio: "Slower than asked above",
  side: "Hand",
  sets: "Sets",
  repetitions: "Repetitions",
  extra_repetitions_max: "More, if it goes easily",
  times: "Times",
  hold_s: "Hold, s",
  seconds: "Seconds",
  pause_s: "Each, s",
  load_kg: "kg",
  load_lb: "lb",
  load_shape: "Shape of the weight",
  rest_s: "Rest",
  provokes: "Can bring on tingling",
  lower_s: "Lower",
  lift_s: "Lift",
  push_s: "Out",
  back_s: "Back",
  target_deg: "To",
  no_further_deg: "No farther",
  elbow_deg: "Elbow, degrees",
  forearm: "Forearm",
  direction: "Forearm points",
  rotation: "Forearm turned",
};

/** A pause at the bottom is no rest between sets. */
export const tempoNames = { lower_s: "Lower", rest_s: "Bottom", lift_s: "Lift", hold_s: "Top" };

export const columns = ["", "Exercise", "Hand", "Dose", "Weight", "Pace, seconds", "Range, degrees", "Rest, s", ""];

/** Whether the browser may name an action that failed. */
export const said = (error) => words[error.message] ?? error.message;
