// What is heard: local voices only, else tones. One thing at a time; what has gone stale is dropped.

const STALE_MS = { second: 350, count: 1500, remark: 4000, other: 12000 };
/** The lowest is said first; only "other" cuts off what is being said. */
const RANK = { other: 0, count: 1, remark: 2, second: 3 };
/** Of these one does not take another's place. */
const EACH = new Set(["other", "remark"]);

let context = null; // sound is allowed after the first key or click
let voice = null;
let muted = false;
let holder = false; // of several windows only one speaks
let waiting = [];
let speaking = null;
let guard = 0;

const speech = window.speechSynthesis;

function findVoice() {
  const local = (speech?.getVoices() ?? []).filter(
    (one) => one.localService && /^en\b/i.test(one.lang),
  );
  voice = local.find((one) => one.default) ?? local[0] ?? null;
}
findVoice();
speech?.addEventListener?.("voiceschanged", findVoice);

/** Whether a voice of this computer is there. */
export const hasVoice = () => voice !== null;
export const isMuted = () => muted;
/** Nothing is heard, though nobody wanted it so: this page has not been pressed yet. */
export const isSilent = () => !muted && !mayBeHeard();
export const mayBeHeard = () => context !== null && context.state === "running";

/** To be called from a key or a click. */
export function unlock() {
  if (context === null && window.AudioContext) {
    context = new AudioContext();
    if (navigator.locks) {
      navigator.locks.request("carpotempo-voice", () => {
        holder = true;
        return new Promise(() => {});
      });
    } else {
      holder = true;
    }
  }
  context?.resume();
}

export function mute(value) {
  muted = value;
  if (muted) hush();
}

export function hush() {
  waiting = [];
  speaking = null;
  clearTimeout(guard);
  speech?.cancel();
}

function tone(hz, lasting_s, loud) {
  if (!mayBeHeard() || muted || !holder) return;
  const at = context.currentTime;
  const source = context.createOscillator();
  const gain = context.createGain();
  source.frequency.value = hz;
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(loud, at + 0.008);
  gain.gain.exponentialRampToValueAtTime(0.001, at + lasting_s);
  source.connect(gain).connect(context.destination);
  source.start(at);
  source.stop(at + lasting_s);
}

/** The tick of a second of the tempo. */
export const tick = () => tone(660, 0.05, 0.12);

function sound(kind) {
  if (kind === "count") tone(520, 0.28, 0.3);
  else if (kind === "other") {
    tone(440, 0.5, 0.3);
    setTimeout(() => tone(587, 0.5, 0.3), 180);
  } else tone(660, 0.09, 0.2);
}

/** Says a line {words, kind}: now, or when its turn comes, or not at all. */
export function say(line) {
  if (muted || !holder || !mayBeHeard()) return;
  if (voice === null) {
    sound(line.kind);
    return;
  }
  const now = performance.now();
  waiting = waiting.filter((one) => one.kind !== line.kind || EACH.has(line.kind));
  waiting.push({ ...line, at: now });
  waiting.sort((a, b) => RANK[a.kind] - RANK[b.kind] || a.at - b.at);
  if (speaking !== null && RANK[line.kind] === 0 && RANK[speaking.kind] > 0) {
    speaking = null;
    clearTimeout(guard);
    speech.cancel();
  }
  if (speaking === null) turn();
}

function turn() {
  const now = performance.now();
  waiting = waiting.filter((one) => now - one.at < STALE_MS[one.kind]);
  const line = waiting.shift();
  if (line === undefined) return;
  const told = new SpeechSynthesisUtterance(line.words);
  told.voice = voice;
  told.lang = voice.lang;
  told.rate = line.kind === "second" ? 1.15 : 1;
  speaking = line;
  const over = () => {
    if (speaking !== line) return;
    speaking = null;
    clearTimeout(guard);
    turn();
  };
  told.addEventListener("end", over);
  told.addEventListener("error", over);
  // Some voices never say that they have ended.
  guard = setTimeout(over, 1500 + 110 * line.words.length);
  speech.speak(told);
}
