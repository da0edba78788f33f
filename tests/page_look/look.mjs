// The patient's page, looked at: every screen at three widths, in light, dark and forced colours,
// as a picture and through axe-core. Every view is invented.
//
//     npm install --prefix target/page-look axe-core@4.10.3 playwright-core@1.49.1
//     node tests/page_look/look.mjs OUT [NAME...]
//
// Serves the page's own files with the views of views.json, and a few moments of an invented set.
// Ends with status 1 where axe-core finds anything, a script fails, the page scrolls sideways, a
// target is under 44 px, or the words of a set are under 48 px (the count 160 px) from 1024 px.
// The drawings are the program's; here a frame stands for each.

import fs from "node:fs";
import http from "node:http";
import { createRequire } from "node:module";
import path from "node:path";

const here = import.meta.dirname;
const root = path.resolve(here, "../..");
const modules = createRequire(`${root}/target/page-look/`);
const { chromium } = modules("playwright-core");
const axe = fs.readFileSync(modules.resolve("axe-core/axe.min.js"), "utf8");
const [out, ...only] = process.argv.slice(2);
const SIZES = [[360, 740], [1024, 768], [1920, 1080]];

// ---- an invented set: up, hold, down (seconds), how far (degrees)

const REPS = [[2.1, 1.0, 4.0, 46], [1.9, 1.1, 1.9, 47], [2.0, 0.9, 3.8, 31], [2.2, 1.0, 4.1, 60], [2.0, 1.0, 7.0, 45]];
const START_DEG = -18;
const ASKED = { lift: 2, hold: 1, lower: 4 };

function moment(time_s, more) {
  const gently = (u) => u * u * (3 - 2 * u);
  const live = { standing: "ready", count: 0, phase: "rest", phase_s: time_s, angle_deg: START_DEG, latest: null };
  let begins_s = 1;
  for (const [up_s, hold_s, down_s, far_deg] of REPS) {
    const rise = far_deg - START_DEG;
    for (const [phase, lasts_s, deg] of [
      ["lift", up_s, (u) => START_DEG + rise * gently(u)],
      ["hold", hold_s, () => far_deg],
      ["lower", down_s, (u) => far_deg - rise * gently(u)],
      ["rest", 0.9, () => START_DEG],
    ]) {
      if (time_s < begins_s) break;
      const phase_s = time_s - begins_s;
      Object.assign(live, { standing: "going", phase, phase_s, angle_deg: deg(Math.min(1, phase_s / lasts_s)) });
      begins_s += lasts_s;
      if (phase === "lower" && time_s >= begins_s) {
        live.count += 1;
        live.latest = {
          verdict: down_s < 3 ? "hurried" : down_s > 6 ? "slower" : "in-band",
          reach: far_deg < 40 ? "short" : far_deg > 55 ? "far-enough" : "within",
          lower_s: down_s,
          range_deg: rise,
        };
      }
    }
  }
  live.word = { lift: "up", hold: "hold", lower: "down" }[live.phase] ?? "";
  live.asks_tingling = more.asks === true && live.standing === "going" && live.count === 1;
  const asked_s = more.untimed ? null : (ASKED[live.phase] ?? null);
  return { ...live, asked_s, target_deg: more.noBand ? null : 40, no_further_deg: more.noBand ? null : 55 };
}

const views = JSON.parse(fs.readFileSync(`${here}/views.json`, "utf8"));
const sets = {
  "set-up": [2.2, {}],
  "set-down": [6.2, {}],
  "set-hurrying": [12.6, {}],
  "set-hurried": [14.6, {}],
  "set-short": [23.0, {}],
  "set-too-far": [33.8, {}],
  "set-slower": [42.4, {}],
  "set-asks-tingling": [11, { asks: true }],
  "set-dose-done": [21, { target: 2 }],
  "set-without-tempo-and-band": [14.6, { untimed: true, noBand: true }],
};

function* course(name) {
  if (!(name in sets)) {
    yield views[name];
    return;
  }
  const [until_s, more] = sets[name];
  const view = structuredClone(views["working-ready"]);
  const { exercise } = view.screen;
  if (more.target) exercise.target = more.target;
  if (more.untimed) {
    exercise.tempo_words = null;
    exercise.asked = null;
  }
  for (let frame = 0; frame <= until_s * 30; frame += 1) {
    view.screen.live = moment(frame / 30, more);
    yield view;
  }
}

// ---- the page's files, and the views

const KINDS = { html: "text/html; charset=utf-8", css: "text/css", js: "text/javascript", svg: "image/svg+xml" };
const FRAME = '<svg xmlns="http://www.w3.org/2000/svg" class="drawing" viewBox="0 0 360 300" role="img" aria-label="A drawing"><path fill="none" stroke="currentColor" d="M5 5h350v290h-350z"/></svg>';

const server = http.createServer(async (request, answer) => {
  const { pathname } = new URL(request.url, "http://localhost");
  const send = (kind, body) => {
    answer.writeHead(200, { "Content-Type": kind, "Content-Security-Policy": "default-src 'self'" });
    answer.end(body);
  };
  if (pathname === "/events") {
    const name = /screen=([\w-]+)/.exec(request.headers.cookie ?? "")?.[1];
    answer.writeHead(200, { "Content-Type": "text/event-stream" });
    let first = true;
    for (const view of course(name)) {
      answer.write(`event: view\ndata: ${JSON.stringify(view)}\n\n`);
      // The first one builds the screen.
      if (first) await new Promise((done) => setTimeout(done, 700));
      first = false;
    }
    if (name in sets) answer.write('event: line\ndata: {"id":1,"kind":"other","words":"Slower on the way down."}\n\n');
  } else if (pathname === "/press") {
    answer.writeHead(204).end();
  } else if (pathname.startsWith("/drawing/")) {
    send(KINDS.svg, FRAME);
  } else {
    const file = pathname === "/drawing.css" ? `${root}/src/drawing/drawing.css` : `${root}/src/page/assets/${path.basename(pathname) || "index.html"}`;
    if (fs.existsSync(file)) send(KINDS[path.extname(file).slice(1)], fs.readFileSync(file));
    else answer.writeHead(404).end();
  }
});
await new Promise((done) => server.listen(0, "127.0.0.1", done));
const base = `http://127.0.0.1:${server.address().port}`;

// ---- looked at

/** What the program's own rules want, measured in the page. */
function measured() {
  const wrong = [];
  if (document.documentElement.scrollWidth > innerWidth) wrong.push(`scrolls sideways by ${document.documentElement.scrollWidth - innerWidth} px`);
  for (const target of document.querySelectorAll("button, .choice label, textarea")) {
    const { width, height } = target.getBoundingClientRect();
    if (width > 0 && (width < 44 || height < 44)) wrong.push(`target ${target.textContent}: ${width} x ${height}`);
  }
  if (document.body.dataset.screen === "working" && innerWidth >= 1024) {
    const size = (element) => parseFloat(getComputedStyle(element).fontSize);
    if (size(document.querySelector(".count")) < 160) wrong.push("the count is under 160 px");
    const words = document.querySelectorAll(".set h1, .of, .word, .prompt, .said, .more p, .stop-bar span, #caption, .set svg.hill text");
    for (const word of words) {
      if (word.textContent && word.checkVisibility() && size(word) < 48) wrong.push(`"${word.textContent}" is ${size(word)} px`);
    }
    if (document.documentElement.scrollHeight > innerHeight) wrong.push("a set scrolls");
  }
  return wrong;
}

fs.mkdirSync(out, { recursive: true });
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"] });
const names = [...Object.keys(views), ...Object.keys(sets)].filter((name) => only.length === 0 || only.includes(name));
const looks = SIZES.map((size) => [...size, "light"]).concat([[1024, 768, "dark"], [1024, 768, "forced"]]);
let wrong_count = 0;
for (const [width, height, look] of looks) {
  const context = await browser.newContext({ viewport: { width, height }, colorScheme: look === "dark" ? "dark" : "light", forcedColors: look === "forced" ? "active" : "none", reducedMotion: "reduce", bypassCSP: true });
  for (const name of names) {
    await context.addCookies([{ name: "screen", value: name, url: base }]);
    const page = await context.newPage();
    const wrong = [];
    page.on("pageerror", (error) => wrong.push(error.message));
    page.on("console", (message) => message.type() === "error" && wrong.push(message.text()));
    await page.goto(base, { waitUntil: "domcontentloaded" });
    await page.waitForSelector("body[data-screen]");
    await page.waitForTimeout(name in sets ? 1500 : 300);
    await page.screenshot({ path: `${out}/${name}-${width}-${look}.png`, fullPage: true });
    wrong.push(...(await page.evaluate(measured)));
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => window.axe.run());
    wrong.push(...violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`));
    for (const line of wrong) console.log(`${name} ${width} ${look}: ${line}`);
    wrong_count += wrong.length;
    await page.close();
  }
  await context.close();
}
console.log(`${names.length} screens, ${looks.length} looks each, ${wrong_count} complaints`);
await browser.close();
server.closeAllConnections();
server.close();
process.exitCode = wrong_count > 0 ? 1 : 0;
