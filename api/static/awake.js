// Keeps the screen awake while somebody works with wet hands at a rack: a tablet that sleeps
// between two counts asks for a PIN that nobody can type. The browser takes the lock away when
// the page is hidden, so it is asked for again when it is seen.

let lock = null;

async function ask() {
  if (document.visibilityState !== "visible" || (lock && !lock.released)) return;
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    lock = null; // low battery, or not allowed: the work goes on all the same
  }
}

export function stayAwake() {
  if (!("wakeLock" in navigator)) return;
  document.addEventListener("visibilitychange", ask);
  ask();
}
