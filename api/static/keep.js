// Keeps the pages that the work needs on the tablet, fresh while there is network. The service
// worker does the keeping; this asks the service for the list and passes it on.

import { isKept, people, person } from "./tablet.js";

const LIST_EVERY = 5 * 60_000;
let listed = 0;

export async function register() {
  await navigator.serviceWorker.register("/service-worker.js", { updateViaCache: "none" });
  const ready = await navigator.serviceWorker.ready;
  // Pages of somebody who has left are no longer needed; what was entered is kept elsewhere.
  if (!isKept && person) ready.active.postMessage({ do: "people", people: [person, ...people] });
  navigator.storage?.persist?.();
}

export async function keepPages() {
  if (!person || Date.now() - listed < LIST_EVERY) return;
  const list = await fetch("/tablet/pages", { cache: "no-store", redirect: "manual" })
    .then((answer) => (answer.ok ? answer.json() : null))
    .catch(() => null);
  if (!Array.isArray(list?.pages) || list.person !== person) return;
  listed = Date.now();
  const ready = await navigator.serviceWorker.ready;
  ready.active.postMessage({ do: "keep", person, ...list });
}
