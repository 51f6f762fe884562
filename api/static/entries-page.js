// The page "Entries on this tablet": what waits and for what, what the service answered, and
// what a person can do about an entry that does not go by itself.

import { isAble } from "./tablet.js";
import { serviceNow } from "./entries-time.js";
import { amend, answers, entries } from "./entries-store.js";
import { giveUp, onChange, send } from "./entries-send.js";
import { reviewed } from "./offline.js";
import { nameOf } from "./offline-bar.js";
import { moment, say } from "./tablet-words.js";

const root = document.getElementById("entries");
const part = (of, name) => of.querySelector(`[data-${name}]`);
const model = document.getElementById("entry").content.firstElementChild;

function status(text) {
  part(root, "said").textContent = text;
}

// The moment of the press by the service's clock.
const at = (entry) => moment(entry.wall + (entry.offset ?? 0), serviceNow());

function pairs(list, of) {
  list.replaceChildren(...of.flatMap(([label, text]) => {
    const row = document.createElement("div");
    row.append(Object.assign(document.createElement("dt"), { textContent: label }));
    row.append(Object.assign(document.createElement("dd"), { textContent: text }));
    return [row];
  }));
}

function drawn(entry, state) {
  const one = model.cloneNode(true);
  part(one, "title").textContent = entry.title;
  const number = entry.no ? `, ${say("number", { no: entry.no })}` : "";
  part(one, "when").textContent = say("at", { time: at(entry), name: nameOf(entry.doer) }) + number;
  part(one, "state").textContent = state;
  for (const text of entry.answer?.says ?? []) {
    part(one, "says").append(Object.assign(document.createElement("li"), { textContent: text }));
  }
  pairs(part(one, "shown"), entry.shown);
  return one;
}

// -- Not sent yet --------------------------------------------------------------------------------

function stateOf(entry) {
  const name = nameOf(entry.doer);
  if (entry.state === "look") return say("state_look");
  if (entry.delivered) return say("state_delivered", { name });
  if (entry.state === "sign_in") return say("state_sign_in", { name });
  return entry.tries ? say("state_tried", { n: entry.tries }) : say("state_kept");
}

function waiting(entry) {
  const one = drawn(entry, stateOf(entry));
  const there = entry.answer?.existing;
  if (entry.state === "look" && there) showThere(one, there);
  part(one, "ways").append(...waysOf(entry, one));
  return one;
}

// The service's version beside the tablet's: names and values as it sent them, without uids.
function showThere(one, there) {
  pairs(part(one, "there"), flat(there));
  part(one, "existing").hidden = false;
  one.querySelector("details").open = true;
}

const UID = /^[0-9a-f]{8}-[0-9a-f-]{27}$/;

function flat(value, name = "") {
  if (value === null || value === undefined || UID.test(value)) return [];
  if (typeof value !== "object") return [[name.replaceAll("_", " "), String(value)]];
  return Object.entries(value).flatMap(([key, one]) => flat(one, Number.isNaN(Number(key)) ? key : name));
}

function waysOf(entry, one) {
  const ways = [];
  if (entry.state === "look") {
    if (entry.answer?.href) ways.push(link(say("anew"), entry.answer.href));
    ways.push(button(say("again"), () => change(entry, { state: "kept" })));
    ways.push(button(say("give_up"), () => askWhy(entry, one)));
  }
  if (entry.state === "sign_in") {
    ways.push(link(say("sign"), `/tablet?next=${encodeURIComponent(location.pathname)}`));
  }
  if (entry.state === "sign_in" && !entry.delivered) {
    const name = nameOf(entry.doer);
    ways.push(button(say("deliver", { name }), () => change(entry, { state: "kept", delivered: true })));
  }
  return ways;
}

function link(text, href) {
  return Object.assign(document.createElement("a"), { textContent: text, href, className: "way-back" });
}

function button(text, press) {
  const one = Object.assign(document.createElement("button"), {
    textContent: text, type: "button", className: "action quiet",
  });
  one.addEventListener("click", press);
  return one;
}

async function change(entry, members) {
  await amend(entry.seq, members);
  await draw();
  await send(true);
}

function askWhy(entry, one) {
  const form = part(one, "reason");
  form.hidden = false;
  form.querySelector("input").focus();
  form.onsubmit = async (event) => {
    event.preventDefault();
    const reason = form.querySelector("input").value.trim();
    if (!reason) return;
    const told = await giveUp(entry.seq, reason);
    status(told ? say("answer_given_up", { reason }) : say("no_contact"));
    form.hidden = Boolean(told);
    await draw();
  };
}

// -- Answered ------------------------------------------------------------------------------------

function sent(entry) {
  const { answer } = entry;
  const text = say(`answer_${answer.answer}`, { reason: answer.reason ?? "" });
  const time = moment(entry.answered_at + (entry.offset ?? 0), serviceNow());
  const one = drawn(entry, `${text} ${say("sent", { time })}.`);
  if (answer.href) part(one, "ways").append(link(say("anew"), answer.href));
  return one;
}

// Not while somebody types a reason: what is drawn anew would lose it.
async function draw() {
  if (root.querySelector("[data-reason]:not([hidden]) input")?.value) return;
  const left = (await entries()).filter((one) => one.state !== "pressed");
  part(root, "unsent").replaceChildren(...left.map(waiting));
  part(root, "none").hidden = left.length > 0;
  part(root, "send").hidden = !left.length;
  part(root, "sent").replaceChildren(...(await answers()).map(sent));
}

// Led here by a post that got no answer: said only if it is not among the entries, kept or sent.
async function sayWhatWasLost() {
  const box = document.getElementById("not-sent");
  const all = [...(await entries()), ...(await answers())];
  box.hidden = location.hash !== "#not-sent" || all.some((one) => Math.abs(Date.now() - one.wall) < 120_000);
  if (!box.hidden) box.focus();
}

part(root, "send").addEventListener("click", async () => {
  await send(true);
  const left = (await entries()).filter((one) => one.state === "kept");
  status(left.length ? say("no_contact") : say("tried"));
});

if (isAble) {
  onChange(draw);
  await draw();
  await reviewed;
  await sayWhatWasLost();
}
