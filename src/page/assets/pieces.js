// What the screens that are read and answered are made of.

import { el } from "./dom.js";

export const heading = (text) => el("h1", { tabindex: "-1" }, text);
export const lines = (texts, tag = "ul") => el(`${tag}.lines`, {}, texts.map((text) => el("li", {}, text)));
export const button = (text, press, kind = "") => el(`button${kind}`, { type: "button", onclick: press }, text);
export const row = (...buttons) => el("div.row", {}, buttons);
export const beside = (picture, ...text) => el("div.beside", {}, picture, el("div", {}, text));
