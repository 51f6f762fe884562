// Shows the sections of a move one after the other: one thing to do, one large key. The form and
// its sections are the page's own, so without this script the same form stands there whole, and
// without network its last key posts the same form.

import { stayAwake } from "./awake.js";
import { fieldsOf, fill, read, teller, write } from "./steps-kept.js";

const form = document.querySelector("form[data-steps]");
const steps = [...form.querySelectorAll("[data-step]")];
const names = steps.map((one) => one.dataset.step);
const line = document.querySelector("[data-line]");
const batch = form.dataset.batch;
const stay = form.elements.ended_stay.value;
const RECOUNTS = 3;
const MINUTE = 60; // what is recorded sooner was recorded at once

let now = form.dataset.steps;
let version = Number(form.dataset.version);
let pressed = false; // from then on the form stays as it was sent, also when it is sent again
let countedIn = null; // by this device's own clock, only ever compared with itself

const part = (name) => form.querySelector(`[data-step="${name}"]`);
const field = (name) => form.elements[name];
const within = (name, what) => part(name).querySelector(what);

// -- Keeping what was said ---------------------------------------------------------------------

const tell = teller(form, (status, said) => {
  if (status === 200) version = said.version;
  if (status === 412 && said.href) return askWhich(said);
  if (status === 409) form.querySelector("[data-told]").hidden = false;
  keep();
  say(status === 200 ? "both" : "here");
});

function keep() {
  setAgo();
  const values = fieldsOf(form);
  const kept = write(batch, { stay, step: now, values, version, countedIn, person: form.dataset.doer });
  say(kept ? "here" : "nowhere");
}

function say(how) {
  const words = form.querySelector("[data-kept]");
  if (words.textContent !== words.dataset[how]) words.textContent = words.dataset[how];
}

function setAgo() {
  if (pressed) return;
  const seconds = countedIn === null ? 0 : Math.round((Date.now() - countedIn) / 1000);
  field("ago_s").value = seconds < MINUTE ? "" : seconds;
}

function askWhich(said) {
  const other = form.querySelector("[data-other]");
  const words = other.querySelector("[data-words]");
  words.textContent = words.dataset.words.replace("{by}", said.by).replace("{at}", said.at);
  other.querySelector("a").href = said.href;
  other.querySelector("[data-mine]").onclick = () => {
    version = said.version;
    other.hidden = true;
    tell(now, version);
  };
  other.hidden = false;
}

// -- Going from step to step -------------------------------------------------------------------

function show(name, focus = true) {
  now = name;
  const place = names.indexOf(name);
  steps.forEach((one, n) => { one.hidden = n !== place; });
  [...line.children].forEach((one, n) => {
    one.className = n < place ? "was" : n === place ? "is" : "will";
    if (n === place) one.setAttribute("aria-current", "step");
    else one.removeAttribute("aria-current");
  });
  document.querySelector("[data-scans]").hidden = name !== names[0];
  if (name === "out") within("out", "[data-counted]").hidden = !field("earlier").value;
  if (name === "record") summary();
  if (!focus) return;
  (part(name).querySelector("input[inputmode]") ?? part(name).querySelector("h2")).focus();
  scrollTo({ top: 0 });
}

function go(by) {
  if (by > 0 && !leaves(now)) return;
  const name = names[names.indexOf(now) + by];
  if (!name) return;
  show(name);
  keep();
  tell(now, version);
}

// Whether what the step needs was said; what is wrong with it stands beside its key.
function leaves(name) {
  const empty = [...part(name).querySelectorAll("[required]")].find((one) => !one.value);
  const odd = [...part(name).querySelectorAll("[inputmode=numeric]")].find(
    (one) => one.value.trim() && !/^\d+$/.test(one.value.trim()));
  const wrong = within(name, "[data-wrong]");
  const at = empty ?? odd;
  wrong.hidden = !at;
  if (at) {
    wrong.querySelector("span").textContent = at.tagName === "SELECT" ? wrong.dataset.choose : wrong.dataset.type;
    at.focus();
    return false;
  }
  if (name === "out") hideCount("count_out");
  return name !== "in" || agrees();
}

// -- Counts that nobody is led to ----------------------------------------------------------------

const earlier = () => field("earlier").value.split(",").filter(Boolean);

// Whoever counts them in must not read what was counted out, here or after taking it over.
function hideCount(name) {
  const typed = field(name).value.trim();
  if (!typed) return;
  field("earlier").value = [...earlier(), typed].join(",");
  field(name).value = "";
}

// Two counts that differ are counted once more, not for ever: a difference is asked about later.
function agrees() {
  const before = earlier();
  const same = !before.length || before.includes(field("count").value.trim());
  within("in", "[data-differ]").hidden = true;
  if (!same && before.length < RECOUNTS) {
    hideCount("count");
    within("in", "[data-differ]").hidden = false;
    field("count").focus();
    keep();
    return false;
  }
  countedIn ??= Date.now();
  return true;
}

// -- What the steps show ---------------------------------------------------------------------------

const label = (name) => field(name).selectedOptions[0]?.textContent.split(",")[0] ?? "";

function summary() {
  const said = within("record", "[data-said]");
  const whole = field("container").value && field("kit").value;
  said.hidden = !whole;
  said.textContent = said.dataset.said.replace("{container}", label("container")).replace("{kit}", label("kit"));
  const ago = within("record", "[data-ago]");
  const minutes = countedIn === null ? 0 : Math.floor((Date.now() - countedIn) / 60000);
  ago.hidden = minutes < 1;
  ago.textContent = ago.dataset.ago.replace("{minutes}", minutes);
}

// The rules are asked before hands go in; the door asks them again when it is recorded.
async function check(ask = true) {
  const container = field("container").value;
  const readIt = within("target", "[data-read]");
  const way = readIt.querySelector("a");
  readIt.hidden = !container;
  way.href = way.href.replace(/[0-9a-f-]{36}(?=\/read)/, container || "00000000-0000-0000-0000-000000000000");
  readIt.querySelector("span").textContent = label("container");
  const checked = within("target", "[data-checked]");
  checked.replaceChildren();
  if (!ask || !container || !field("kit").value) return;
  try {
    const answer = await fetch(form.dataset.check, { method: "POST", body: new FormData(form), redirect: "error" });
    if (answer.ok && container === field("container").value) checked.innerHTML = await answer.text();
  } catch {
    checked.textContent = checked.dataset.unasked;
  }
}

// -- Beginning ------------------------------------------------------------------------------------

function begin() {
  for (const one of form.querySelectorAll("[data-way], [data-prev]")) one.hidden = false;
  line.hidden = false;
  form.classList.add("stepwise");
  const kept = read(batch, stay);
  const begun = document.querySelector("[data-begun]");
  if (!form.hasAttribute("data-bound") && !form.hasAttribute("data-goes-on")) {
    if (kept) restore(kept);
    if (begun && Number(begun.dataset.begun) !== version) return choose(begun, kept);
    begun?.remove();
  }
  const bound = form.hasAttribute("data-bound");
  if (kept && bound) version = kept.version;
  const ago = field("ago_s").value;
  countedIn = (bound && kept?.countedIn) || (ago ? Date.now() - 1000 * ago : null);
  start();
}

function start() {
  show(now, form.hasAttribute("data-bound") || now !== names[0]);
  check(!form.hasAttribute("data-bound")); // what the door said stands there already
  stayAwake();
}

function restore(kept) {
  fill(form, kept.values);
  version = kept.version;
  if (kept.countedIn) field("ago_s").value = Math.round((Date.now() - kept.countedIn) / 1000);
  if (names.includes(kept.step)) now = kept.step;
  // Somebody else stands at the same tablet now: both did it.
  const other = kept.person !== form.dataset.doer && !field("beside")?.value;
  if (other && field("beside")) field("beside").value = kept.person;
  if (other && field("beside") && field("beside").selectedIndex < 0) field("beside").value = "";
}

// Nobody goes on beside what another tablet knows without having chosen to.
function choose(begun, kept) {
  const anew = begun.querySelector("[data-anew]");
  if (kept) anew.textContent = anew.dataset.keep;
  anew.hidden = false;
  form.hidden = line.hidden = document.querySelector("[data-scans]").hidden = true;
  anew.onclick = () => {
    version = Number(begun.dataset.begun);
    countedIn = kept?.countedIn ?? null;
    begun.remove();
    form.hidden = line.hidden = false;
    start();
  };
}

form.addEventListener("click", (event) => {
  if (event.target.closest("[data-next]")) go(1);
  if (event.target.closest("[data-prev]")) go(-1);
});

// Enter is the large key of the step, for keyboards and for scanners that end with it.
form.addEventListener("keydown", (event) => {
  const typing = event.target.matches("input, select");
  if (event.key !== "Enter" || !typing || event.defaultPrevented || now === names.at(-1)) return;
  event.preventDefault();
  go(1);
});

form.addEventListener("change", (event) => {
  pressed = false;
  if (["container", "kit"].includes(event.target.name)) check();
  keep();
});
form.addEventListener("submit", () => {
  keep();
  pressed = true;
}, true);
addEventListener("online", () => { if (version) tell(now, version); });

begin();
