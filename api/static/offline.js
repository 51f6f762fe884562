// A tablet without network: what is pressed is kept and sent later. While the service can be
// reached a form is a form; the entry kept beside it only covers the loss of that one post.

import { device, isAble, isKept, person, tab } from "./tablet.js";
import { entryOf, keyOf } from "./entries-read.js";
import * as store from "./entries-store.js";
import { arrived, contact, onChange, send, tellChange } from "./entries-send.js";
import { doer, drawBar } from "./offline-bar.js";
import { keepPages, register } from "./keep.js";
import { say } from "./tablet-words.js";

const MINUTE = 60_000;
const QUICK = 4000;
const UNDER_WAY = 45_000;
// Where the service worker leads after a post that got no answer.
const LOST = "#not-sent";

const busy = new WeakSet();
const passing = new WeakSet();

// -- A press -----------------------------------------------------------------------------------

async function pressed(form, button) {
  busy.add(form);
  button?.setAttribute("aria-disabled", "true");
  try {
    const entry = entryOf(form, button, doer());
    const kept = await tried(() => store.add({ ...entry, state: "pressed" }));
    const here = navigator.onLine ? await contact(QUICK) : null;
    if (here && here.signed_in !== false && entry.doer === person) pass(form, button, here);
    else await keep(form, button, entry, kept);
  } finally {
    button?.removeAttribute("aria-disabled");
    busy.delete(form);
  }
}

function pass(form, button, here) {
  // A kept page, or a sign-in in another tab, left an old token in the form.
  const token = form.elements.namedItem("csrfmiddlewaretoken");
  if (token && here.csrf) token.value = here.csrf;
  passing.add(form);
  form.requestSubmit(button);
}

async function keep(form, button, entry, kept) {
  const row = await tried(() => (kept ? store.amend(kept.seq, { state: "kept" }) : store.add({ ...entry, state: "kept" })));
  if (!row) return tell(form, button, "full");
  tell(form, button, "kept");
  tellChange();
  send();
}

async function tried(work) {
  try {
    return await work();
  } catch {
    return null;
  }
}

// In place of the form: it is kept and must not be pressed again. Or it could not be kept, and
// then what was typed stays where it is.
function tell(form, button, name) {
  const about = button?.name === "request_key" ? button : form;
  about.parentElement.querySelector(":scope > .kept-here")?.remove();
  const box = document.getElementById(`tablet-${name}`).content.firstElementChild.cloneNode(true);
  for (const link of box.querySelectorAll("[data-again]")) link.href = location.href;
  about.before(box);
  if (name === "kept") about.hidden = true;
  box.focus();
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!isAble || event.defaultPrevented || !form.matches("form[data-entry]")) return;
  if (!keyOf(form, event.submitter)) return;
  if (passing.delete(form)) return;
  event.preventDefault();
  if (!busy.has(form)) pressed(form, event.submitter);
});

// A kept page can be pressed again and again: each time is another happening with its own key.
function renewKeys() {
  for (const key of document.querySelectorAll("form[data-entry] [name=request_key]")) {
    key.value = crypto.randomUUID().replaceAll("-", "");
  }
}

// -- What became of presses that went as plain forms -------------------------------------------

// The service has it: done. It stands in a form before the person: theirs. Else it is kept.
async function review() {
  const open = (await store.entries()).filter(isOver);
  if (!open.length) return;
  const shown = new Set([...document.querySelectorAll("[name=request_key]")].map((one) => one.value));
  const asked = open.filter((one) => !shown.has(one.key));
  const known = asked.length ? await arrived(asked.map((one) => one.key)) : [];
  for (const one of open) {
    const isKnown = known?.includes(one.key);
    if (isKnown && location.hash === LOST) await store.answered(one.seq, { answer: { answer: "again" }, answered_at: Date.now() });
    else if (isKnown || (shown.has(one.key) && !isKept)) await store.forget(one.seq);
    else await store.amend(one.seq, { state: "kept" });
  }
  tellChange();
}

// This tab shows another page by now, or it has been too long.
function isOver(entry) {
  return entry.state === "pressed" && (entry.tab === tab || Math.abs(Date.now() - entry.wall) > UNDER_WAY);
}

// -- Always ------------------------------------------------------------------------------------

async function tend(urgent) {
  await review();
  await send(urgent);
  await keepPages();
}

async function start() {
  if (isKept) renewKeys();
  onChange(drawBar);
  await drawBar();
  if (isAble) await review();
}

async function goOn() {
  // Sending waits for no service worker: that is only for pages.
  register().catch(() => null);
  window.addEventListener("online", () => tend(true));
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && tend(true));
  setInterval(() => tend(false), MINUTE);
  await tend(true);
}

const failed = () => drawBar(say("no_store"));

// Done with what the pages before left behind.
export const reviewed = device ? start().catch(failed) : Promise.resolve();
if (isAble) reviewed.then(goOn).catch(failed);
