// Keeps remaining times right while a page is looked at. A tablet that shows last hour's
// remaining time would be worse than none. Counts from what the service wrote, never from the
// tablet's own idea of the time of day. A page that was kept for the time without network counts
// from when the service wrote it, by the service's clock as it was measured.

import { isKept, writtenAt } from "./tablet.js";

const STALE = 5 * 60;
const says = document.documentElement.dataset;
const wall = Date.now();
const steady = performance.now();
const kept = isKept ? (await import("./entries-time.js")).serviceNow() - writtenAt : 0;

// A sleeping tablet stops one of the two clocks; the larger one has seen more.
function passed() {
  return Math.floor((Math.max(Date.now() - wall, performance.now() - steady, 0) + (kept || 0)) / 1000);
}

function figures(seconds) {
  const size = Math.abs(seconds);
  const two = (n) => String(n).padStart(2, "0");
  const text = `${Math.floor(size / 3600)}:${two(Math.floor(size / 60) % 60)}`;
  return size < 60 && size > 0 ? `${text}:${two(size)}` : text;
}

function show(since) {
  for (const one of document.querySelectorAll("[data-left]")) {
    const start = Number(one.dataset.since ?? 0);
    one.dataset.since = start;
    const left = Number(one.dataset.left) - (since - start);
    one.querySelector("b").textContent = figures(left);
    one.querySelector("span").textContent = left < 0 ? says.overSays : says.leftSays;
    one.classList.toggle("is-over", left < 0);
    one.closest(".slip")?.classList.toggle("is-over", left < 0);
  }
}

function tick() {
  const since = passed();
  show(since);
  document.querySelector("[data-as-of]")?.classList.toggle("is-stale", since > STALE);
}

// A fragment that came later counts from its own arrival.
document.addEventListener("htmx:load", (event) => {
  const since = passed();
  for (const one of event.detail.elt.querySelectorAll("[data-left]")) one.dataset.since ??= since;
});

tick();
document.addEventListener("visibilitychange", tick);
setInterval(tick, 10_000);
