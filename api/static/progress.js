// Says so when an answer takes longer than a second, and lets one press count once.
// The button stays reachable: it is marked busy, not disabled, and keeps its focus.

const SLOW = 1000;
const TOO_LONG = 30_000;
const busy = new Map();
const says = document.getElementById("working")?.dataset;

function say(text) {
  const line = document.getElementById("working");
  if (!line) return;
  line.textContent = text ?? "";
  line.hidden = !text;
}

function begin(form, button) {
  button?.setAttribute("aria-disabled", "true");
  const timers = [
    setTimeout(() => say(says?.slow), SLOW),
    setTimeout(() => {
      end(form);
      say(says?.none);
    }, TOO_LONG),
  ];
  busy.set(form, { button, timers });
}

function end(form) {
  const work = busy.get(form);
  if (!work) return;
  work.timers.forEach(clearTimeout);
  work.button?.removeAttribute("aria-disabled");
  busy.delete(form);
  if (!busy.size) say("");
}

document.addEventListener("submit", (event) => {
  if (!busy.has(event.target)) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}, true);

// Last of all: by now another script may have stopped it, which htmx does to send it itself.
window.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented && !form.matches("[hx-get], [hx-post], [hx-put], [hx-delete]")) return;
  begin(form, event.submitter);
  // A file comes without a new page: nobody would tell that the work has ended.
  if (form.hasAttribute("data-download")) setTimeout(() => end(form), 4000);
});

document.addEventListener("htmx:afterRequest", () => {
  for (const form of [...busy.keys()]) {
    if (!form.isConnected || form.matches("[hx-get], [hx-post], [hx-put], [hx-delete]")) end(form);
  }
});

// Back from another page: the browser shows this one as it was left.
window.addEventListener("pageshow", () => [...busy.keys()].forEach(end));

// What must be put right is read out and stands in view.
document.querySelector(".problems")?.focus();
