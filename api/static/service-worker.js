// Answers for the service where there is no network: pages as they were last known, with a mark
// that says so, and the files they need. It keeps no entries and decides nothing about them.
// The first line is put before it by the service: const APP = {version, files, missing, entries}.

const FILES = `files:${APP.version}`;
const PAGES = "pages:";
const PATIENCE = 8000;
const MOST = 600;
const STALE = 60 * 60_000;

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));

async function install() {
  const cache = await caches.open(FILES);
  await Promise.all([...APP.files, APP.missing].map((one) => fetched(cache, one)));
  await self.skipWaiting();
}

// Without network there is no installation; a file that is not there must not stop the rest.
async function fetched(cache, url) {
  const answer = await fetch(url, { cache: "reload" });
  if (answer.ok) await cache.put(url, answer);
}

// Files of an older version go; kept pages stay until they are fetched anew.
async function activate() {
  const old = (await caches.keys()).filter((name) => name.startsWith("files:") && name !== FILES);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.registration.navigationPreload?.enable();
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (address.origin !== self.location.origin) return;
  const isFile = address.pathname.startsWith("/static/");
  if (request.mode === "navigate" && request.method === "POST") event.respondWith(posted(event));
  else if (request.mode === "navigate" && request.method === "GET") event.respondWith(page(event));
  else if (isFile && request.method === "GET") event.respondWith(file(request));
});

// -- Files ---------------------------------------------------------------------------------------

let poorUntil = 0;

// From the network, so that a new page never meets old files; while that is poor, as kept.
async function file(request) {
  const kept = await (await caches.open(FILES)).match(request, { ignoreSearch: true });
  if (kept && Date.now() < poorUntil) return kept;
  try {
    return await within(fetch(request), kept ? 3000 : 60_000);
  } catch {
    poorUntil = Date.now() + 30_000;
    return kept ?? Response.error();
  }
}

function within(promise, ms) {
  return new Promise((resolve, reject) => {
    setTimeout(() => reject(new Error("slow")), ms);
    promise.then(resolve, reject);
  });
}

// -- Pages ---------------------------------------------------------------------------------------

async function page(event) {
  const coming = fromNetwork(event);
  try {
    const answer = await within(coming, PATIENCE);
    if (answer.status < 502) return answer;
  } catch {
    poorUntil = Date.now() + 30_000;
  }
  const kept = await known(event.request.url);
  // Slow is better than nothing.
  return kept ?? coming.catch(missing);
}

async function fromNetwork(event) {
  const began = leavings;
  const answer = (await event.preloadResponse) || (await fetch(event.request));
  if (isPage(answer)) event.waitUntil(keep(event.request.url, answer.clone(), began));
  return answer;
}

async function posted(event) {
  const { pathname } = new URL(event.request.url);
  const isLeaving = pathname === APP.leaving || pathname.endsWith("/leave");
  try {
    const answer = await fetch(event.request);
    if (isLeaving) await leave();
    return answer;
  } catch {
    // Whether it arrived nobody knows; what was to be kept is kept already.
    return Response.redirect(`${APP.entries}#not-sent`, 303);
  }
}

async function leave() {
  leavings += 1;
  await forget([]);
}

async function missing() {
  return (await (await caches.open(FILES)).match(APP.missing)) ?? Response.error();
}

const isPage = (answer) => answer.status === 200 && !answer.redirected
  && (answer.headers.get("Content-Type") || "").startsWith("text/html");

// Only pages of a tablet on which somebody is signed in; what was just recorded is said once.
// Nor is anything kept that was asked for before somebody left.
async function keep(url, answer, began, list = lastTold) {
  const html = await answer.text();
  const frame = /<body[^>]*>/.exec(html)?.[0] ?? "";
  const person = /data-person="([^"]+)"/.exec(frame)?.[1];
  if (!person || !/data-device="[^"]+"/.test(frame)) return false;
  const said = html.replace(/<!--said-->[\s\S]*?<!--\/said-->/g, "");
  const headers = new Headers(answer.headers);
  headers.set("Fillmark-Kept", String(Date.now()));
  headers.set("Fillmark-List", String(list));
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  if (began !== leavings) return false;
  const cache = await caches.open(PAGES + person);
  await cache.put(url, new Response(said, { status: 200, headers }));
  return true;
}

let lastTold = 0;
let leavings = 0;

async function pageCaches() {
  return (await caches.keys()).filter((name) => name.startsWith(PAGES));
}

// The page as it was kept, marked as such; without its query where that was never asked for.
async function known(url) {
  const bare = new URL(url);
  bare.search = bare.hash = "";
  for (const name of await pageCaches()) {
    const cache = await caches.open(name);
    const found = (await cache.match(url.split("#")[0])) ?? (await cache.match(bare.href))
      ?? (bare.pathname === "/" ? await shiftIn(cache) : null);
    if (found) return marked(found);
  }
  return null;
}

// The first page of all only leads on to the shift.
async function shiftIn(cache) {
  const shift = (await cache.keys()).find((one) => new URL(one.url).pathname.endsWith("/shift"));
  return shift ? cache.match(shift) : null;
}

async function marked(answer) {
  const html = (await answer.text()).replace(/<body/, "<body data-kept");
  return new Response(html, { status: 200, headers: answer.headers });
}

// -- What pages ask for ----------------------------------------------------------------------------

self.addEventListener("message", (event) => {
  const { data } = event;
  if (data.do === "people") event.waitUntil(forget(data.people));
  if (data.do === "keep") event.waitUntil(keepAll(data));
});

async function forget(people) {
  const gone = (await pageCaches()).filter((name) => !people.includes(name.slice(PAGES.length)));
  await Promise.all(gone.map((name) => caches.delete(name)));
}

let isKeeping = false;
let newest = null;

// One after the other, the oldest first: people wait for their own pages meanwhile.
async function keepAll(list) {
  newest = list;
  if (isKeeping) return;
  isKeeping = true;
  while (newest) {
    const next = newest;
    newest = null;
    await keepList(next);
  }
  isKeeping = false;
}

async function keepList({ person, pages, known: told }) {
  lastTold = told;
  try {
    const began = leavings;
    for (const url of await stale(person, pages, told)) {
      if (newest) return;
      const answer = await fetch(url, { headers: { "Fillmark-Keep": "1" }, redirect: "manual", cache: "no-store" });
      if (isPage(answer)) await keep(url, answer, began, told);
      if (answer.type === "opaqueredirect" || began !== leavings) return;
    }
    await prune(await caches.open(PAGES + person));
  } catch {
    // No network after all, or no room: what is kept stays, the page says how old it is.
  }
}

// What was told since then changes pages; what the clock alone changes, within the hour.
async function stale(person, pages, told) {
  const found = [];
  for (const path of pages) {
    const url = new URL(path, self.location.origin).href;
    const headers = (await caches.match(url, { cacheName: PAGES + person }))?.headers;
    const at = Number(headers?.get("Fillmark-Kept") ?? 0);
    if (headers?.get("Fillmark-List") !== String(told) || Date.now() - at > STALE) found.push(url);
  }
  return found;
}

async function prune(cache) {
  const all = await cache.keys();
  await Promise.all(all.slice(0, Math.max(0, all.length - MOST)).map((one) => cache.delete(one)));
}
