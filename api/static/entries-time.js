// The time of a device whose clock nobody trusts: it may be wrong, be set by hand, or sleep.
// One count of milliseconds goes on over pages, tabs and sleep; the service's clock is measured
// on every contact. Where the two clocks of the device part (a leap), a new epoch begins: what
// was entered in one epoch shares one offset, so one measurement before or after corrects it.

const KEPT = "fillmark-time";
export const SLACK = 2000;

const none = { steady: 0, wall: null, epoch: 0, moved: [], measured: null };

// How the count goes on. `gone` is what the steady clock saw, null over a change of page.
// A sleeping device stops the steady clock but not the wall clock, so a leap ahead is taken for
// sleep where sleep may have been; a leap back can only be a hand on the clock.
export function step(last, wall, gone, mayHaveSlept) {
  if (last.wall === null) return { ...last, wall };
  const seen = wall - last.wall;
  const leap = seen - (gone ?? Math.max(seen, 0));
  const longGap = gone === null && seen > 60_000;
  if (Math.abs(leap) <= SLACK && !longGap) return { ...last, wall, steady: last.steady + (gone ?? Math.max(seen, 0)) };
  const slept = longGap || (leap > 0 && mayHaveSlept);
  const passed = slept ? seen : gone ?? 0;
  const moved = slept ? last.moved : [...last.moved, { epoch: last.epoch + 1, ms: leap }].slice(-20);
  return { ...last, wall, steady: last.steady + passed, epoch: last.epoch + 1, moved };
}

// Service minus device for what is entered now; null where it was never measured.
export function offsetNow(state) {
  const { measured } = state;
  if (!measured) return null;
  const moves = state.moved.filter((one) => one.epoch > measured.epoch);
  return moves.reduce((sum, one) => sum - one.ms, measured.offset);
}

// What a later measurement says of an entry: exact within its own epoch, else as known then.
export function offsetOf(entry, state) {
  const { measured } = state;
  if (measured && measured.epoch === entry.epoch) return measured.offset;
  return entry.offset;
}

// -- This page ---------------------------------------------------------------------------------

let hidden = document.visibilityState === "hidden";
let perf = performance.now();
let state = step(read(), Date.now(), null, true);

function read() {
  try {
    return { ...none, ...JSON.parse(localStorage.getItem(KEPT) || "{}") };
  } catch {
    return none;
  }
}

function write() {
  try {
    localStorage.setItem(KEPT, JSON.stringify(state));
  } catch {
    // A full or closed storage is told by the store of entries; the count goes on in memory.
  }
}

// Another tab may have seen a leap or measured since.
function joined(own, other) {
  const measured = (other.measured?.at ?? -1) > (own.measured?.at ?? -1) ? other.measured : own.measured;
  const later = other.epoch > own.epoch ? other : own;
  return { ...own, epoch: later.epoch, moved: later.moved, measured, steady: Math.max(own.steady, other.steady) };
}

export function look() {
  const now = performance.now();
  const other = read();
  const next = step(state, Date.now(), now - perf, hidden || now - perf > 30_000);
  const isSame = other.epoch > state.epoch && next.epoch > state.epoch;
  state = joined(isSame ? { ...next, epoch: state.epoch, moved: state.moved } : next, other);
  perf = now;
  hidden = document.visibilityState === "hidden";
  write();
  return state;
}

// What the service said its time was, in ms, between two moments of the wall clock.
export function measured(service, sent, came) {
  const now = look();
  const trip = came - sent;
  const offset = Math.round(service - (sent + came) / 2);
  state = { ...now, measured: { offset, trip, service, at: now.steady, epoch: now.epoch } };
  write();
  return state;
}

// The service's time as well as it can be known here, in ms.
export function serviceNow() {
  const now = look();
  return Date.now() + (offsetNow(now) ?? 0);
}

// The device's own clock at the press, as a moment with its offset from UTC.
export function rawNow() {
  const now = new Date();
  const east = -now.getTimezoneOffset();
  const two = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0");
  const local = new Date(now.getTime() + east * 60_000).toISOString().slice(0, 23);
  return `${local}${east < 0 ? "-" : "+"}${two(east / 60)}:${two(east % 60)}`;
}

setInterval(look, 10_000);
document.addEventListener("visibilitychange", () => { look(); hidden = true; });
window.addEventListener("pagehide", look);
write();
