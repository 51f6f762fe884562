// What was said on the way through a move, kept twice: on this tablet after every word, so that
// a reload or a dead battery loses nothing, and with network on the service after every step, so
// that somebody else goes on with it on another tablet. Nothing here is a record of what
// happened: that is the form itself when it is sent.

const OLD = 7 * 24 * 3600 * 1000;
const PREFIX = "fillmark.move.";
const LEFT_OUT = new Set(["csrfmiddlewaretoken", "request_key", "ended_stay"]);

export function fieldsOf(form) {
  const found = {};
  for (const [name, value] of new FormData(form)) {
    if (!LEFT_OUT.has(name) && value !== "") (found[name] ??= []).push(value);
  }
  return found;
}

export function fill(form, fields) {
  for (const one of form.elements) {
    if (!one.name || LEFT_OUT.has(one.name)) continue;
    const said = fields[one.name] ?? [];
    if (one.type === "checkbox" || one.type === "radio") one.checked = said.includes(one.value);
    else if (one.tagName === "SELECT") choose(one, said[0] ?? "");
    else one.value = said[0] ?? "";
  }
}

// A container that is no longer offered is not chosen; the others stay as they were said.
function choose(select, value) {
  if ([...select.options].some((option) => option.value === value)) select.value = value;
}

/** What this tablet knows of the move of this batch out of this stay; null for nothing. */
export function read(batch, stay) {
  try {
    forgetOld();
    const kept = JSON.parse(localStorage.getItem(PREFIX + batch));
    return kept?.stay === stay ? kept : null;
  } catch {
    return null;
  }
}

/** Whether it is kept on this tablet now. */
export function write(batch, kept) {
  try {
    localStorage.setItem(PREFIX + batch, JSON.stringify({ ...kept, at: Date.now() }));
    return true;
  } catch {
    return false;
  }
}

function forgetOld() {
  for (const key of Object.keys(localStorage)) {
    if (!key.startsWith(PREFIX)) continue;
    const at = JSON.parse(localStorage.getItem(key) ?? "{}")?.at ?? 0;
    if (Date.now() - at > OLD) localStorage.removeItem(key);
  }
}

/** Tell the service, one after the other; the newest word is enough. `answered` gets its data. */
export function teller(form, answered) {
  let busy = false;
  let again = null;

  async function tell(step, version) {
    if (busy) {
      again = step;
      return;
    }
    busy = true;
    const known = await send(step, version);
    busy = false;
    const next = again;
    again = null;
    if (next && known !== null) tell(next, known);
  }

  // The version that is known after it, or null where nobody answered.
  async function send(step, version) {
    const body = new FormData(form);
    body.set("step", step);
    body.set("version", version);
    try {
      // A sign-in page would come by a redirect: that is no answer.
      const answer = await fetch(form.dataset.keep, { method: "POST", body, redirect: "error" });
      const said = await answer.json();
      answered(answer.status, said);
      return said.version ?? null;
    } catch {
      answered(0, {});
      return null;
    }
  }

  return tell;
}
