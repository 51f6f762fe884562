// Brings kept entries to the service: one sender over all tabs, in order within a batch, each
// until the service has said in its own form what became of it. A sign-in page, an error page
// or the page of a foreign network is never taken for an answer.

import { device } from "./tablet.js";
import { look, measured, offsetOf, rawNow } from "./entries-time.js";
import * as store from "./entries-store.js";

const DONE = ["stored", "again", "parked"];
const ANSWERS = [...DONE, "look", "sign_in", "later"];
const PATIENCE = 30_000;
const MOST_WAIT = 15 * 60_000;

const heard = new EventTarget();
const others = "BroadcastChannel" in window ? new BroadcastChannel("fillmark-entries") : null;
others?.addEventListener("message", () => heard.dispatchEvent(new Event("change")));

// Called after each change of the queue, in this tab or another.
export const onChange = (told) => heard.addEventListener("change", told);

export function tellChange() {
  others?.postMessage("change");
  heard.dispatchEvent(new Event("change"));
}

async function asked(address, options = {}, patience = PATIENCE) {
  const answer = await fetch(address, {
    cache: "no-store", credentials: "same-origin", redirect: "manual",
    ...options, signal: AbortSignal.timeout(patience),
  });
  const isJson = (answer.headers.get("Content-Type") || "").startsWith("application/json");
  return { status: answer.status, body: isJson ? await answer.json() : null };
}

// Whether the service itself can be reached, who is signed in, and what its clock says.
export async function contact(patience = PATIENCE) {
  const sent = Date.now();
  try {
    const { body } = await asked("/tablet/contact", {}, patience);
    if (!body?.csrf || !body.now) return null;
    // The service says whole seconds; on average it is half a second later.
    const service = Date.parse(body.now) + 500;
    if (Number.isFinite(service)) measured(service, sent, Date.now());
    if (body.everybody) localStorage.setItem("fillmark-everybody", JSON.stringify(body.everybody));
    if (body.device === device) await store.countFrom(device, body.last_entry_no);
    return body;
  } catch {
    return null;
  }
}

// -- One entry ---------------------------------------------------------------------------------

function headersOf(entry, csrf) {
  const offset = offsetOf(entry, look());
  return {
    "X-CSRFToken": csrf,
    "Accept": "application/json",
    "Fillmark-Entry": String(entry.no),
    "Fillmark-Device": entry.device,
    "Fillmark-Raw-At": entry.raw_at,
    ...(offset === null ? {} : { "Fillmark-Clock-Offset": String(offset) }),
    "Fillmark-Monotonic": String(entry.steady),
    "Fillmark-Doer": entry.doer,
    ...(entry.delivered ? { "Fillmark-Delivered": "1" } : {}),
  };
}

function bodyOf(entry) {
  const body = entry.multipart ? new FormData() : new URLSearchParams();
  for (const [name, value] of entry.fields) body.append(name, value);
  return body;
}

// The answer in the service's own form; null for anything else, whatever its status.
async function post(entry, csrf) {
  const { body } = await asked(entry.action, {
    method: "POST", headers: headersOf(entry, csrf), body: bodyOf(entry),
  });
  return ANSWERS.includes(body?.answer) ? body : null;
}

// -- All of them -------------------------------------------------------------------------------

function isReady(entry, people) {
  if (entry.device !== device || !entry.no || entry.state === "pressed" || entry.state === "look") return false;
  return entry.delivered || people.some((one) => one.uid === entry.doer);
}

// Ends with true where nothing more can be done now, with false where it should be tried again.
async function run() {
  const here = await contact();
  if (!here || here.device !== device) return false;
  let isWhole = true;
  const waiting = new Set();
  for (const { seq } of await store.entries()) {
    // As it is now: somebody may have given it up or settled it meanwhile.
    const entry = (await store.entries()).find((one) => one.seq === seq);
    if (!entry || entry.state === "pressed") continue;
    if (!isReady(entry, here.people ?? [])) {
      waiting.add(entry.batch);
      if (entry.state === "kept") await store.amend(seq, { state: "sign_in" });
      continue;
    }
    if (entry.batch && waiting.has(entry.batch)) continue;
    const answer = await post(entry, here.csrf);
    isWhole = await settle(entry, answer, waiting) && isWhole;
    if (answer?.answer === "later") break;
  }
  // A report that is lost comes with the next one.
  await report(here.csrf).catch(() => null);
  return isWhole;
}

async function settle(entry, answer, waiting) {
  if (DONE.includes(answer?.answer)) {
    await store.answered(entry.seq, { answer, answered_at: Date.now() });
    tellChange();
    return true;
  }
  waiting.add(entry.batch);
  const tries = entry.tries + 1;
  const isKnown = answer?.answer === "look" || answer?.answer === "sign_in";
  await store.amend(entry.seq, { tries, answer, state: isKnown ? answer.answer : "kept" });
  tellChange();
  return isKnown;
}

// So that the service knows what is still to come, and from when.
async function report(csrf) {
  const left = (await store.entries()).filter((one) => one.state !== "pressed" && one.device === device);
  const oldest = left[0];
  const body = {
    sent_at: rawNow(),
    unsent: left.length,
    last_entry_no: await store.lastNumber(device),
    oldest_unsent_at: oldest?.raw_at ?? null,
    monotonic_ms: Math.round(look().steady),
  };
  const headers = { "X-CSRFToken": csrf, "Content-Type": "application/json" };
  await asked("/tablet/reports", { method: "POST", headers, body: JSON.stringify(body) });
}

// -- When --------------------------------------------------------------------------------------

let failed = 0;
let notBefore = 0;
let isWaiting = false;

// `urgent`: something happened that makes a try worth while; else the pause after failures counts.
export async function send(urgent = false) {
  if (!device || isWaiting || (!urgent && Date.now() < notBefore)) return;
  isWaiting = true;
  await navigator.locks.request("fillmark-send", async () => {
    isWaiting = false;
    const isWhole = await run().catch(() => false);
    failed = isWhole ? 0 : failed + 1;
    notBefore = isWhole ? 0 : Date.now() + Math.min(MOST_WAIT, 30_000 * 2 ** Math.min(failed, 6));
  });
  tellChange();
}

// Given up by a person: out of the queue only once the service keeps it with its reason.
export async function giveUp(seq, reason) {
  const here = await contact();
  const entry = (await store.entries()).find((one) => one.seq === seq);
  if (!here || !entry?.no) return null;
  const headers = { "X-CSRFToken": here.csrf, "Content-Type": "application/json" };
  const body = JSON.stringify({ reason });
  const told = await asked(`/tablet/entries/${entry.no}/given-up`, { method: "POST", headers, body })
    .catch(() => ({ body: null }));
  if (told.body?.answer !== "given_up") return null;
  await store.answered(entry.seq, { answer: { answer: "given_up", reason }, answered_at: Date.now() });
  tellChange();
  return told.body;
}

// Which of these presses the service has already, as plain forms.
export async function arrived(keys) {
  const query = new URLSearchParams(keys.map((key) => ["key", key]));
  try {
    const { status, body } = await asked(`/tablet/answered?${query}`);
    return status === 200 && Array.isArray(body?.answered) ? body.answered : null;
  } catch {
    return null;
  }
}
