// A form as an entry: the same fields that the browser itself would post, with who pressed it
// and when by which clock. What was typed is kept in words too, so that people can read it later.

import { device, person, tab } from "./tablet.js";
import { look, offsetNow, rawNow } from "./entries-time.js";

// A browser sends line ends as CR LF. Sent otherwise, the service would take it for another question.
function asSent(value) {
  return typeof value === "string" ? value.replace(/\r\n|\r|\n/g, "\r\n") : value;
}

export function fieldsOf(form, button) {
  return [...new FormData(form, button)]
    .filter(([name]) => name !== "csrfmiddlewaretoken")
    .map(([name, value]) => [asSent(name), asSent(value)]);
}

// The request key: of the form, or of the one button that was pressed among many.
export function keyOf(form, button) {
  if (button?.name === "request_key") return button;
  const found = form.elements.namedItem("request_key");
  return found?.type === "hidden" ? found : null;
}

// A button of a list says what it is about beside it.
function titleOf(button) {
  const slip = button?.name === "request_key" ? button.closest(".slip") : null;
  const of = slip ? [button, ...slip.querySelectorAll("h3, .where")] : [document.querySelector("h1")];
  return of.map((one) => one?.textContent.trim()).filter(Boolean).join(", ") || document.title;
}

export function entryOf(form, button, doer) {
  const time = look();
  const address = new URL(button?.getAttribute("formaction") || form.getAttribute("action") || "", location.href);
  return {
    key: keyOf(form, button).value,
    action: address.pathname + address.search,
    back: location.pathname + location.search,
    title: titleOf(button),
    batch: form.dataset.batch || "",
    device,
    doer: doer || person,
    pressed_by: person,
    raw_at: rawNow(),
    wall: Date.now(),
    steady: Math.round(time.steady),
    epoch: time.epoch,
    offset: offsetNow(time),
    fields: fieldsOf(form, button),
    multipart: form.enctype === "multipart/form-data",
    shown: shownOf(form),
    no: null,
    tries: 0,
    tab,
  };
}

// Label and value of everything that was filled in.
function shownOf(form) {
  const found = new Map();
  for (const one of form.elements) {
    if (!one.name || one.type === "hidden" || one.type === "password" || one.tagName === "BUTTON") continue;
    const text = textOf(one);
    if (!text) continue;
    const label = labelOf(one);
    found.set(label, found.has(label) ? `${found.get(label)}, ${text}` : text);
  }
  return [...found];
}

function textOf(one) {
  if (one.tagName === "SELECT") return [...one.selectedOptions].filter((o) => o.value).map((o) => o.label).join(", ");
  if (one.type === "checkbox" || one.type === "radio") return one.checked ? ownLabel(one) : "";
  if (one.type === "file") return [...one.files].map((file) => file.name).join(", ");
  return one.value.trim();
}

function labelOf(one) {
  const group = one.closest("fieldset")?.querySelector("legend");
  const isChoice = one.type === "checkbox" || one.type === "radio";
  return (isChoice && group ? group.textContent : ownLabel(one)).trim();
}

function ownLabel(one) {
  return (one.labels?.[0]?.textContent || one.getAttribute("aria-label") || one.name).trim();
}
