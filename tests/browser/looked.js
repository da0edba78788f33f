// What the page's own rules want of a screen, measured. Returns what is wrong.
const wrong = [];
const seen = (element) => element.checkVisibility() && !element.closest(".unseen, [hidden]");
const size = (element) => parseFloat(getComputedStyle(element).fontSize);
const words = (element) => element.textContent.trim().slice(0, 40);
const root = document.documentElement;
if (root.scrollWidth > innerWidth) wrong.push(`scrolls sideways by ${root.scrollWidth - innerWidth} px`);
for (const target of document.querySelectorAll("button, .choice label, textarea")) {
  const { width, height } = target.getBoundingClientRect();
  if (seen(target) && (width < 44 || height < 44)) wrong.push(`target ${words(target)}: ${width} x ${height} px`);
}
// The page speaks of what is on the screen, and that is focused which is read first.
if (!document.querySelector("h1")) wrong.push("no heading");
if (document.title.startsWith(" - ")) wrong.push("no title");
const { screen } = document.body.dataset;
if (innerWidth >= 1024) {
  const working = {
    working: ".set h1, .of, .word, .second-now, .prompt, .said, .more p, .more button, .stop-bar span, .stop-bar strong, #caption, .set svg.hill text",
    timed: ".page.timed:has(.runs) :is(h1, .big, .under, .how), .stop-bar span",
    rest: ".page :is(h1, .big, .under)",
    paused: ".page :is(h1, .big)",
    calibrate: ".page :is(h1, .big)",
  }[screen];
  for (const one of working ? document.querySelectorAll(working) : []) {
    if (words(one) && seen(one) && size(one) < 48) wrong.push(`"${words(one)}" is ${size(one)} px`);
  }
  const count = document.querySelector(".count, .countdown .clock");
  if (count && seen(count) && size(count) < 160) wrong.push(`the count is ${size(count)} px`);
  if (screen === "working" && root.scrollHeight > innerHeight) wrong.push("a set scrolls");
}
// What leads on is seen without scrolling, except under long lists of questions.
const short = ["welcome", "symptoms", "place", "wearing", "intro", "timed", "rest", "paused", "hurt", "settling"];
const first = document.querySelector("main .row button");
if (innerWidth >= 1024 && short.includes(screen) && first && !document.querySelector("#lost").innerText && !document.querySelector("#ask").open) {
  const below = first.getBoundingClientRect().bottom + scrollY - innerHeight;
  if (below > 0) wrong.push(`"${words(first)}" is ${below} px below the window`);
  const finish = document.querySelector("#foot .finish");
  const under = finish ? finish.getBoundingClientRect().bottom + scrollY - innerHeight : 0;
  if (["hurt", "paused"].includes(screen) && under > 0) wrong.push(`"${words(finish)}" is ${under} px below the window`);
}
// What is said and stands on the screen already is not written a second time.
for (const one of document.querySelectorAll("#caption span")) {
  const sentence = one.textContent.trim().replace(/[.?!]+$/, "");
  const twice = document.querySelector("main").innerText.includes(sentence);
  if (twice && seen(one) && one.checkVisibility({ opacityProperty: true })) wrong.push(`"${sentence}" stands twice`);
}
// Nothing is cut off at the sides that is not meant to be.
for (const one of document.querySelectorAll("main h1, main p, main button, main dd, main li, #foot button, #foot .stop-bar")) {
  const box = one.getBoundingClientRect();
  if (seen(one) && box.width > 0 && (box.left < -1 || box.right > innerWidth + 1)) wrong.push(`"${words(one)}" is cut off at the side`);
}
return wrong;
