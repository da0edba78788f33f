// The replay's page, looked at: recordings of several kinds at three widths, in light, dark and
// forced colours, as a picture and through axe-core.
//
//     npm install --prefix target/page-look axe-core@4.10.3 playwright-core@1.49.1
//     cargo build && node tests/page_look/replay.mjs OUT [NAME...]
//
// The program serves its data; the page's own files are taken from the sources, so that a change is
// seen without a build. Ends with status 1 where axe-core finds anything, a script fails, the page
// scrolls sideways, a target is under 44 px (24 px in the table), or what is shown is not so.

import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import os from "node:os";
import path from "node:path";

const root = path.resolve(import.meta.dirname, "../..");
const modules = createRequire(`${root}/target/page-look/`);
const { chromium } = modules("playwright-core");
const axe = fs.readFileSync(modules.resolve("axe-core/axe.min.js"), "utf8");
const program = process.env.CARPOTEMPO ?? `${root}/target/debug/carpotempo`;
const [out, ...only] = process.argv.slice(2);
const LOOKS = [[360, 740, "light"], [1024, 768, "light"], [1920, 1080, "light"], [1024, 768, "dark"], [1024, 768, "forced"]];

// ---- recordings: real, simulated, with a gap and doubts, of hours, with nothing in them

const made = fs.mkdtempSync(path.join(os.tmpdir(), "replay-look-"));
const own = (name) => `${root}/recordings/${name}`;
const rows = (name) => fs.readFileSync(own(name), "utf8").trim().split("\n");

function write(name, lines) {
  fs.writeFileSync(path.join(made, name), lines.join("\n") + "\n");
  return path.join(made, name);
}

/** The same recording without what lies between two times. */
function gapped(from_s, to_s) {
  const [head, ...all] = rows("flexion-hurried.csv");
  const kept = all.filter((row) => !(Number(row.split(",")[0]) > from_s && Number(row.split(",")[0]) < to_s));
  return write("with-a-gap.csv", [head, ...kept]);
}

/** The same forwards and backwards, for hours: what runs backwards turns the other way. */
function long(hours) {
  const [head, ...all] = rows("flexion-hurried.csv");
  const cells = all.map((row) => row.split(",").map(Number));
  const lasts_s = cells.at(-1)[0] + 0.02;
  const back = cells.toReversed().map(([t_s, ...rest]) => [lasts_s - 0.02 - t_s, ...rest.slice(0, 3), ...rest.slice(3).map((rate) => -rate)]);
  const lines = [head];
  for (let number = 0; number * lasts_s < hours * 3600; number += 1) {
    for (const [t_s, ...rest] of number % 2 === 0 ? cells : back) lines.push([(t_s + number * lasts_s).toFixed(4), ...rest].join(","));
  }
  return write("hours.csv", lines);
}

/** A still hand, and a session of answers alone. */
const still = () => write("still.csv", ["t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s", ...Array.from({ length: 500 }, (_, at) => `${(at / 50).toFixed(2)},0,0,9.81,0,0,0`)]);
function answers() {
  const folder = path.join(made, "answers");
  fs.mkdirSync(folder);
  fs.writeFileSync(`${folder}/session.json`, '{"format":"carpotempo-recording","version":1,"started_at":"2026-03-02T08:00:00+01:00","patient":"P-0001","routine":null}');
  fs.writeFileSync(`${folder}/events.csv`, 't_s,event,detail\n0,night,"{""woke"":true}"\n');
  return folder;
}

/** A session of several sets, of the demo. */
function demo() {
  const folder = path.join(made, "demo");
  execFileSync(program, ["demo", "--out", folder], { stdio: "ignore" });
  const patient = path.join(folder, "store", "P-0042");
  return path.join(patient, fs.readdirSync(patient).sort()[0]);
}

const hurried = ["--exercise", "wrist-flexion", "--side", "left", "--tempo", "4-0-2-1"];
const recordings = {
  real: () => [own("forward-elevation-real.csv"), "--accel-unit", "g", "--column", "ax_m_s2=ax_g", "--column", "ay_m_s2=ay_g", "--column", "az_m_s2=az_g"],
  hurried: () => [own("flexion-hurried.csv"), ...hurried],
  gap: () => [gapped(20.3, 23.1), ...hurried],
  calibrated: () => [own("extension-calibrated")],
  circles: () => [own("arm-circles.csv")],
  still: () => [still()],
  answers: () => [answers()],
  sets: () => [demo()],
  hours: () => [long(Number(process.env.HOURS ?? 1)), ...hurried],
};

/** Runs the program; gives the address that it prints and how to end it. */
async function served(name) {
  const given = recordings[name]();
  const truth = JSON.parse(execFileSync(program, ["replay", ...given, "--json"], { maxBuffer: 1 << 28 }));
  const child = spawn(program, ["replay", ...given, "--page", "--no-browser"], { stdio: ["ignore", "pipe", "inherit"] });
  let text = "";
  for await (const some of child.stdout) {
    text += some;
    if (text.includes("Ctrl-C")) break;
  }
  return { url: /http:\/\/127\S+/.exec(text)[0], truth, child };
}

// ---- looked at

function measured() {
  const wrong = [];
  if (document.documentElement.scrollWidth > innerWidth) wrong.push(`scrolls sideways by ${document.documentElement.scrollWidth - innerWidth} px`);
  for (const target of document.querySelectorAll("button, select, summary, .speed label, input[type=range]")) {
    const { width, height } = target.getBoundingClientRect();
    const least = target.closest("table") ? 24 : 44;
    if (width > 0 && (width < least || height < least)) wrong.push(`target ${target.textContent}: ${width} x ${height}`);
  }
  return wrong;
}

/** Steps through a set, and holds what is seen against the program's own numbers. */
async function agrees(page, truth) {
  const wrong = [];
  const set = truth.sets[0];
  const count = Math.min(set?.reps.length ?? 0, 6);
  for (let at = 0; at < count; at += 1) {
    await page.getByRole("button", { name: /^Next/ }).click();
    const text = await page.locator(".repetition").innerText();
    const rep = set.reps[at];
    for (const part of [` ${at + 1} of ${set.reps.length}`, `${Math.round(rep.range_deg)}\u00b0`, `${(rep.lift_end_s - rep.lift_start_s).toFixed(2)} s`]) {
      if (!text.includes(part)) wrong.push(`repetition ${at + 1} does not say "${part}": ${text}`);
    }
  }
  return wrong;
}

fs.mkdirSync(out, { recursive: true });
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking", "--disable-component-update", "--disable-sync"] });
const names = Object.keys(recordings).filter((name) => only.length === 0 || only.includes(name));
let wrong_count = 0;
for (const name of names) {
  const { url, truth, child } = await served(name);
  for (const [width, height, look] of LOOKS) {
    const context = await browser.newContext({ viewport: { width, height }, colorScheme: look === "dark" ? "dark" : "light", forcedColors: look === "forced" ? "active" : "none", reducedMotion: "reduce", bypassCSP: true });
    const page = await context.newPage();
    const wrong = [];
    page.on("pageerror", (error) => wrong.push(error.message));
    page.on("console", (message) => message.type() === "error" && wrong.push(message.text()));
    await page.route(/\/replay\/|\/dom\.js/, (route) => route.fulfill({ path: `${root}/src/page/assets${new URL(route.request().url()).pathname}` }));
    await page.goto(url, { waitUntil: "domcontentloaded" });
    await page.waitForSelector("main:not([aria-busy])");
    await page.waitForTimeout(300);
    await page.screenshot({ path: `${out}/${name}-${width}-${look}-0.png`, fullPage: true });
    wrong.push(...(await agrees(page, truth)));
    const play = page.getByRole("button", { name: "Play", exact: true });
    if (await play.count()) {
      await play.click();
      await page.waitForTimeout(1300);
      await page.getByRole("button", { name: "Pause", exact: true }).click();
    }
    const all = page.locator(".all summary");
    if (await all.isVisible()) await all.click();
    await page.screenshot({ path: `${out}/${name}-${width}-${look}-1.png`, fullPage: true });
    wrong.push(...(await page.evaluate(measured)));
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => window.axe.run());
    wrong.push(...violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`));
    for (const line of wrong) console.log(`${name} ${width} ${look}: ${line}`);
    wrong_count += wrong.length;
    await context.close();
  }
  child.kill("SIGINT");
  const [code] = await new Promise((done) => child.on("exit", (...how) => done(how)));
  if (code !== 0) {
    console.log(`${name}: Ctrl-C ended it with ${code}`);
    wrong_count += 1;
  }
}
console.log(`${names.length} recordings, ${LOOKS.length} looks each, ${wrong_count} complaints`);
await browser.close();
fs.rmSync(made, { recursive: true });
process.exitCode = wrong_count > 0 ? 1 : 0;
