// The screen stays awake while the page is in sight.

let awake = null;

/** To be called from a press, and when the page comes back in sight. */
export async function stayAwake() {
  if (!navigator.wakeLock || document.hidden || (awake && !awake.released)) return;
  try {
    awake = await navigator.wakeLock.request("screen");
  } catch {
    awake = null;
  }
}
