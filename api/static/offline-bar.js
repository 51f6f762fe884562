// The line on every page of a tablet: how old it is, what is not sent yet, what waits for whom.

import { device, isAble, isKept, people, person, writtenAt } from "./tablet.js";
import { look, offsetNow, serviceNow } from "./entries-time.js";
import { entries } from "./entries-store.js";
import { age, count, moment, say } from "./tablet-words.js";

const bar = document.getElementById("tablet");
const LARGE = 2 * 60_000;

function everybody() {
  try {
    return JSON.parse(localStorage.getItem("fillmark-everybody") || "[]");
  } catch {
    return [];
  }
}

export const nameOf = (uid) => everybody().find((one) => one.uid === uid)?.name ?? say("somebody");

function line(text, isStrong = false) {
  const one = document.createElement("p");
  one.textContent = text;
  one.classList.toggle("strong", isStrong);
  return one;
}

function ageLine() {
  if (!isKept || !Number.isFinite(writtenAt)) return [];
  const now = serviceNow();
  return [line(say("known", { time: moment(writtenAt, now), age: age(now - writtenAt) }), true)];
}

function unsentLines(all) {
  const kept = all.filter((one) => one.state !== "pressed");
  if (!kept.length) return [];
  const oldest = Math.min(...kept.map((one) => one.wall + (one.offset ?? 0)));
  const lines = [line(count("unsent", kept.length, { time: moment(oldest, serviceNow()) }), true)];
  const look = kept.filter((one) => one.state === "look").length;
  if (look) lines.push(line(count("look", look)));
  for (const uid of new Set(kept.filter((one) => one.state === "sign_in").map((one) => one.doer))) {
    lines.push(line(say("sign_in", { name: nameOf(uid) })));
  }
  return lines;
}

function clockLines() {
  const offset = offsetNow(look());
  if (offset === null || Math.abs(offset) < LARGE) return [];
  return [line(say(offset < 0 ? "fast" : "slow", { age: age(Math.abs(offset)) }))];
}

export async function drawBar(trouble) {
  if (!bar) return;
  const words = bar.querySelector("[data-lines]");
  const said = typeof trouble === "string" ? [line(trouble, true)] : [];
  if (device && !isAble) said.push(line(say("unable"), true));
  let all = [];
  try {
    all = isAble ? await entries() : [];
  } catch {
    said.push(line(say("no_store"), true));
  }
  words.replaceChildren(...said, ...ageLine(), ...unsentLines(all), ...clockLines());
  bar.hidden = !words.children.length;
  bar.querySelector("[data-doer]").hidden = !isKept;
}

// -- Who does it, while nobody can sign in -----------------------------------------------------

const chooser = bar?.querySelector("[data-doer] select");
const CHOSEN = "fillmark-doer";

function offer() {
  const here = [...new Set([person, ...people])].filter(Boolean);
  const rest = everybody().map((one) => one.uid).filter((uid) => !here.includes(uid));
  const options = [...here, ...rest].map((uid) => new Option(nameOf(uid), uid));
  chooser.replaceChildren(...options);
  const chosen = sessionStorage.getItem(CHOSEN);
  chooser.value = chosen && options.some((one) => one.value === chosen) ? chosen : person;
  chooser.addEventListener("change", () => sessionStorage.setItem(CHOSEN, chooser.value));
}

// Only where the page is a kept one: with network whoever acts is signed in.
export const doer = () => (isKept && chooser?.value) || person;

if (chooser && isKept) offer();
setInterval(drawBar, 60_000);
