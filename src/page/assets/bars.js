// The bars above the screen: how far it is, the sensor, the sound.

import { el, write } from "./dom.js";
import * as voice from "./voice.js";
import { words } from "./words.js";

const [invented, top] = ["invented", "top"].map((id) => document.getElementById(id));

/** Screens on which the course goes on: there is told how far it is. */
const AT_WORK = new Set(["intro", "working", "timed", "rest", "paused", "hurt", "settling"]);

export function bars(view) {
  invented.hidden = !view.simulated;
  write(invented, words.invented);
  const told = (names, { link, battery_percent }) =>
    [names[link], battery_percent === null ? null : words.top.battery(battery_percent)].filter(Boolean).join(", ");
  const [done, of] = view.done_of;
  const parts = {
    progress: of > 0 && AT_WORK.has(view.screen.screen) ? words.top.progress(done, of) : "",
    weights: view.weights ? "" : words.top.noWeight,
    sensor: told(words.top.link, view.sensor),
    ...(view.forearm ? { forearm: told(words.top.forearm, view.forearm) } : {}),
  };
  for (const [name, text] of Object.entries(parts)) {
    let part = top.querySelector(name === "sensor" ? ".sensor:not(.forearm)" : `.${name}`);
    if (!part) {
      part = el(name === "forearm" ? "span.sensor.forearm" : `span.${name}`);
      top.append(part);
    }
    write(part, text);
    part.hidden = text === "";
  }
  top.querySelector(".sensor:not(.forearm)").dataset.link = view.sensor.link;
  if (view.forearm) top.querySelector(".forearm").dataset.link = view.forearm.link;
  document.body.dataset.heard = String(view.heard);
  if (!top.querySelector("button")) {
    const sound = el("button.quiet.sound", { type: "button" }, words.top.soundOff);
    sound.addEventListener("click", () => {
      voice.unlock();
      voice.mute(!voice.isMuted());
      write(sound, voice.isMuted() ? words.top.soundOn : words.top.soundOff);
    });
    // A page that was loaded again in the middle is silent until it is pressed, and in a set a press
    // stops: this one does not.
    const wake = el("button.main.wake", { type: "button", "data-set": "sound", onclick: () => voice.unlock() }, words.silent.button);
    top.append(sound, wake);
  }
  const silent = view.screen.screen !== "welcome" && voice.isSilent();
  top.querySelector(".wake").hidden = !silent;
  top.querySelector(".sound").hidden = silent;
}
