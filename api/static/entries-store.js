// What was entered on this tablet and is not answered yet, in IndexedDB. A change is done only
// when the disk has it. Nothing here removes an entry but `answered`, and that keeps the answer.

const VERSION = 1;
const SHOWN = 200;

// state: pressed (on its way as a plain form), kept, look, sign_in; `no` counts up per device.

let opened = null;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open("fillmark", VERSION);
    asked.onupgradeneeded = () => {
      const db = asked.result;
      db.createObjectStore("entries", { keyPath: "seq", autoIncrement: true })
        .createIndex("key", "key", { unique: true });
      db.createObjectStore("answers", { keyPath: "seq" });
      db.createObjectStore("counters", { keyPath: "device" });
    };
    asked.onsuccess = () => {
      // A later version in another tab must not wait for this one.
      asked.result.onversionchange = () => { asked.result.close(); opened = null; };
      resolve(asked.result);
    };
    asked.onerror = () => { opened = null; reject(asked.error); };
    asked.onblocked = () => reject(new Error("blocked"));
  });
  return opened;
}

// Run `work` in one transaction; what it returns comes once the disk has all of it.
async function change(names, work) {
  const db = await open();
  return new Promise((resolve, reject) => {
    const all = db.transaction(names, "readwrite", { durability: "strict" });
    let result;
    all.oncomplete = () => resolve(result);
    all.onabort = () => reject(all.error ?? new Error("aborted"));
    Promise.resolve(work(...names.map((name) => all.objectStore(name))))
      .then((value) => { result = value; })
      .catch((error) => { all.abort(); reject(error); });
  });
}

function got(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function read(name) {
  const db = await open();
  return got(db.transaction(name).objectStore(name).getAll());
}

export const entries = () => read("entries");
export const answers = async () => (await read("answers")).reverse();

// The next number of a device, where its last one is known; else it waits for the service's word.
async function numbered(entry, counters) {
  const counter = await got(counters.get(entry.device));
  if (!counter || entry.no) return entry;
  const no = counter.last + 1;
  counters.put({ device: entry.device, last: no });
  return { ...entry, no };
}

// Keep it: pressed (without a number, it may still arrive by itself) or for good.
export function add(entry) {
  return change(["entries", "counters"], async (rows, counters) => {
    const before = await got(rows.index("key").get(entry.key));
    const whole = entry.state === "pressed" ? entry : await numbered(entry, counters);
    const row = before ? { ...whole, seq: before.seq, no: before.no ?? whole.no } : whole;
    return { ...row, seq: await got(rows.put(row)) };
  });
}

// Change what is known of an entry; nothing happens if it was answered meanwhile.
export function amend(seq, members) {
  return change(["entries", "counters"], async (rows, counters) => {
    const before = await got(rows.get(seq));
    if (!before) return null;
    const after = { ...before, ...members };
    const row = after.state === "pressed" ? after : await numbered(after, counters);
    await got(rows.put(row));
    return row;
  });
}

// A press that arrived as a plain form, or that stands before the person again.
export function forget(seq) {
  return change(["entries"], async (rows) => {
    const before = await got(rows.get(seq));
    if (before?.state === "pressed") rows.delete(seq);
  });
}

// The service has it, or has been told why it was given up: out of the queue, into the answers.
export function answered(seq, answer) {
  return change(["entries", "answers"], async (rows, kept) => {
    const entry = await got(rows.get(seq));
    if (!entry) return;
    const { fields, ...shown } = entry;
    kept.put({ ...shown, ...answer });
    rows.delete(seq);
    const all = await got(kept.getAllKeys());
    all.slice(0, Math.max(0, all.length - SHOWN)).forEach((old) => kept.delete(old));
  });
}

// The service's word on the last number of this device. Only ever upwards: a number that was
// given here stays given. Entries without a number get theirs now, in the order of their presses.
export function countFrom(device, last) {
  return change(["entries", "counters"], async (rows, counters) => {
    const before = await got(counters.get(device));
    const most = Math.max(last ?? 0, before?.last ?? 0);
    counters.put({ device, last: most });
    for (const entry of await got(rows.getAll())) {
      if (entry.device !== device || entry.no || entry.state === "pressed") continue;
      rows.put(await numbered(entry, counters));
    }
  });
}

export async function lastNumber(device) {
  return (await read("counters")).find((one) => one.device === device)?.last ?? 0;
}
