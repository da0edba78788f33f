// Notes what a person sees of a set and how far the course is, in order, without anything twice in
// a row; and whether the screen was asked to stay awake.
(() => {
  const seen = { counts: [], words: [], parts: [], awake: 0 };
  window.__seen = seen;
  const note = (list, text) => {
    if (text && list.at(-1) !== text) list.push(text);
  };
  const look = () => {
    const words = (selector) => document.querySelector(selector)?.textContent ?? "";
    note(seen.counts, words(".count"));
    note(seen.words, words(".word"));
    note(seen.parts, words("#top .progress"));
  };
  new MutationObserver(look).observe(document, { subtree: true, childList: true, characterData: true });
  const lock = navigator.wakeLock;
  const request = lock?.request.bind(lock);
  if (lock) {
    lock.request = (...has) => {
      seen.awake += 1;
      return request(...has);
    };
  }
})();
