// One place for everything that is scanned: by a hand scanner on any page, by the camera, or
// typed. A code fills the field of the step that asks for it, else it leads to its thing. What it
// says stands in a <template> of the page, so that it can be translated.

import { certificateOf, readCode } from "./scan-code.js";
import { fill, isBegun, wayTo } from "./scan-fill.js";
import { bearersOf, keepList } from "./scan-things.js";

const AGAIN = 1000; // ms within which the same code is one
const BURST = 50; // ms between two characters of a scanner at most; no finger is as quick
const LEAST = 6;

const place = document.getElementById("scanning");
const line = place?.querySelector("[data-says]");
const last = { text: "", at: -Infinity };

function say(name, values = {}, href = "") {
  const words = place.querySelector(`template[data-say="${name}"]`).innerHTML.trim();
  line.textContent = words.replace(/\{(\w+)\}/g, (_, key) => values[key] ?? "");
  if (href) {
    const way = document.createElement("a");
    way.href = href;
    way.textContent = place.querySelector('template[data-say="open"]').innerHTML.trim();
    line.append(" ", way);
  }
  place.hidden = false;
  place.classList.toggle("is-wrong", !["filled", "looking"].includes(name));
}

// Gives whether it led anywhere; says why not.
export async function scanned(text, now = performance.now()) {
  const bare = text.trim();
  if (bare === last.text && now - last.at < AGAIN) return true;
  Object.assign(last, { text: bare, at: now });
  const certificate = certificateOf(bare);
  if (certificate) return go(certificate);
  const read = readCode(bare);
  if (read.wrong) return say(read.wrong), false;
  say("looking", read);
  const things = await bearersOf(place.dataset.site, read.code);
  if (things === null) return say("unreached", read), false;
  if (!things.length) return say("nowhere", read), false;
  return use(things, read.code);
}

function use(things, code) {
  const [first] = things;
  const field = fill(things);
  if (field) {
    const label = field.tagName === "SELECT" ? field.selectedOptions[0].text : first.label;
    say("filled", { label, code });
    navigator.vibrate?.(60);
    return true;
  }
  if (isBegun()) return say("not_asked", { label: first.label, code }, first.page), false;
  const way = wayTo(things);
  if (way) return go(way.href);
  // Several things with one code: the page lets a person choose.
  return go(things.length === 1 ? first.page : `/sites/${place.dataset.site}/scan?code=${code}`);
}

function go(href) {
  location.assign(href);
  return true;
}

// -- A hand scanner types fast and ends with Enter ----------------------------------------------

const burst = { text: "", at: 0, field: null, before: "" };

function begin(event) {
  const field = event.target.closest?.("input, textarea, select");
  Object.assign(burst, { text: "", field, before: field?.value ?? "" });
}

// What the scanner typed into a field goes out of it again, and whoever listens hears of it.
function putBack(field, before) {
  if (field.value === before) return;
  field.value = before;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function isScan(text) {
  return text.length >= LEAST && (certificateOf(text) || readCode(text).wrong !== "length");
}

document.addEventListener("keydown", (event) => {
  if (!place || event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return;
  const quick = event.timeStamp - burst.at <= BURST;
  if (event.key === "Enter") {
    const { text, field, before } = burst;
    burst.text = "";
    const typed = !quick && field?.matches("[data-scan]") ? field.value : "";
    if (!(quick && isScan(text)) && !typed) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (!typed && field) putBack(field, before);
    if (typed) return scanned(typed);
    return scanned(text);
  }
  if (event.key.length !== 1) return;
  if (!quick || !burst.text) begin(event);
  burst.text += event.key;
  burst.at = event.timeStamp;
}, true);

// -- The camera ---------------------------------------------------------------------------------

document.addEventListener("click", async (event) => {
  if (!event.target.closest("[data-camera]")) return;
  const { look } = await import("./scan-camera.js");
  look(document.getElementById("camera"), scanned, say);
});

// A code that is typed into its own field is tried here before the form asks the service.
document.addEventListener("submit", async (event) => {
  const field = event.target.querySelector("[data-scan=open]");
  if (!field?.value.trim()) return;
  const read = readCode(field.value);
  if (read.wrong) {
    event.preventDefault();
    event.stopImmediatePropagation();
    say(read.wrong);
    field.focus();
  }
}, true);

if (place) {
  for (const one of document.querySelectorAll("[data-camera]")) one.hidden = false;
  if (document.body.dataset.device) keepList(place.dataset.site);
}
