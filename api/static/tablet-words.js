// Sentences and moments for scripts. The sentences stand in the page, where they are translated;
// a script names one and gives its numbers.

const kept = [...document.querySelectorAll("#tablet-words, #entry-words")].map((one) => one.content);
const zone = document.getElementById("tablet")?.dataset.zone || undefined;
const lang = document.documentElement.lang || "en";

export function say(name, values = {}) {
  const found = kept.map((one) => one.querySelector(`[data-word="${name}"]`)).find(Boolean);
  const text = found?.textContent ?? name;
  return text.replace(/\{(\w+)\}/g, (whole, key) => values[key] ?? whole);
}

// One or many: the page holds both sentences, since languages differ in more than an s.
export function count(name, n, values = {}) {
  return say(n === 1 ? `${name}_one` : `${name}_many`, { n, ...values });
}

const clock = new Intl.DateTimeFormat(lang, { timeZone: zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
const dated = new Intl.DateTimeFormat(lang, {
  timeZone: zone, weekday: "short", day: "numeric", month: "short",
  hour: "2-digit", minute: "2-digit", hourCycle: "h23",
});

// With its day where that is not today.
export function moment(ms, now) {
  const near = Math.abs(now - ms) < 20 * 3600 * 1000;
  return (near ? clock : dated).format(new Date(ms));
}

export function age(ms) {
  const minutes = Math.max(0, Math.round(ms / 60_000));
  if (minutes < 90) return count("minutes", minutes);
  const hours = Math.round(minutes / 60);
  return hours < 72 ? count("hours", hours) : count("days", Math.round(hours / 24));
}
