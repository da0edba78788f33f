// Every word of judging by eye, in one place, ready for translation.

const s = (seconds) => `${seconds} s`;
const deg = (degrees) => `${degrees}\u00b0`;

export const words = {
  page: "By eye",
  invented: "Invented data, played by the simulator. Nobody\u2019s record.",
  hint: "A hand does one set, at its own speed and without a curve. Say what you saw. Nothing of it is kept: close the page, and it is gone.",
  back: "Back to the recording",
  trouble: "The program does not answer. If it has ended, start it again and open the address that it prints.",

  stage: "The hand",
  picture: "A drawn hand that does one set. It can only be judged by looking at it.",
  what: (side, title) => `${side === "left" ? "Left" : "Right"} hand: ${title.toLowerCase()}`,
  zero: { bend: "Straight, in line with the forearm, is 0\u00b0.", rotation: "Seen from the front, along the forearm. Thumb up is 0\u00b0." },
  show: "Show the set",
  showing: "Look \u2026",
  again: "Show it again",

  ask: "What did you see?",
  watch: "Count. Then remember the last repetition: how long its lowering took, and how far it went.",
  fields: {
    count: { label: "How many repetitions?", unit: "", wrong: "A whole number from 0 to 99, or nothing." },
    lower_s: { label: "How long did the last lowering take?", unit: "s", wrong: "Seconds from 0 to 99 such as 2.6, or nothing." },
    end_deg: { label: "How far was the last one at its farthest?", unit: "\u00b0", wrong: "Degrees from 0 to 180 such as 45, or nothing." },
  },
  done: "That is what I saw",
  lookFirst: "Look at the set to its end first.",

  was: "What it was",
  names: { count: "Repetitions", lower_s: "Last lowering", end_deg: "Last one\u2019s farthest" },
  value: { count: (number) => String(number), lower_s: (number) => s(number.toFixed(1)), end_deg: (number) => deg(Math.round(number)) },
  sentence: (said, was, off) => `You said ${said}, it was ${was}${off}.`,
  notSaid: (was) => `It was ${was}.`,
  right: ": right",
  more: {
    count: (off) => (off > 0 ? `: ${off} too many` : `: ${-off} too few`),
    lower_s: (off) => (Math.abs(off) < 0.05 ? "" : off > 0 ? `: ${s(off.toFixed(1))} too long` : `: ${s((-off).toFixed(1))} too short`),
    end_deg: (off) => (Math.round(Math.abs(off)) === 0 ? "" : off > 0 ? `: ${deg(Math.round(off))} too far` : `: ${deg(Math.round(-off))} too little`),
  },
  watched: (times) => `Watched ${times} times.`,
  manner: {
    ordinary: "An ordinary set.",
    hurried: "A hurried set: the hand was let down in a second or two.",
    slow: "A slow set: the lowering took longer than is usual.",
    shrinking: "A shrinking set: the last repetition went far less than the first.",
    "sagging-hold": "A long hold that sags: the hand sinks before the lowering begins. Sinking that slowly is still hold.",
    stops: "A lowering with stops: the stops belong to the lowering.",
  },
  each: "Each repetition",
  columns: ["rep", "lift (s)", "hold (s)", "lower (s)", "range (\u00b0)"],
  next: "Next set",

  soFar: "So far",
  none: "No set judged yet.",
  sets: (count) => (count === 1 ? "1 set" : `${count} sets`),
  tally: {
    count: (right, of) => `right in ${right} of ${of}`,
    lower_s: (usual, mean) => `off by ${s(usual.toFixed(1))} (median)${Math.abs(mean) < 0.05 ? "" : mean > 0 ? `, ${s(mean.toFixed(1))} too long on average` : `, ${s((-mean).toFixed(1))} too short on average`}`,
    end_deg: (usual, mean) => `off by ${deg(Math.round(usual))} (median)${Math.round(Math.abs(mean)) === 0 ? "" : mean > 0 ? `, ${deg(Math.round(mean))} too far on average` : `, ${deg(Math.round(-mean))} too little on average`}`,
  },
  keys: "Tab goes from one thing to the next. Enter in a field says what you saw.",
};
