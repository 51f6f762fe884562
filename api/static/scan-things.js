// Which things bear a code. The service is asked; without network it is the list that was kept
// when there was some. The list holds labels only, nothing about people or animals.

const STORE = "fillmark-codes";
const FRESH = 10 * 60_000;

const address = (site) => `/api/v1/sites/${site}/codes`;

async function kept() {
  return "caches" in window ? caches.open(STORE) : null;
}

// The things with this code: [] where there are none, null where nobody could be asked.
export async function bearersOf(site, code) {
  try {
    const answer = await fetch(`${address(site)}?code=${code}`, { cache: "no-store" });
    if (answer.ok) return (await answer.json()).things;
    if (answer.status === 404 || answer.status === 400) return [];
  } catch {
    // No network: what was kept has to do.
  }
  return fromKept(site, code);
}

async function fromKept(site, code) {
  const found = await (await kept())?.match(address(site));
  if (!found) return null;
  return (await found.json()).things.filter((one) => one.code === code);
}

// On an enrolled tablet the list is renewed while there is network.
export async function keepList(site) {
  const store = await kept();
  if (!store || !navigator.onLine) return;
  const before = await store.match(address(site));
  const made = Number(before?.headers.get("Fillmark-Kept") ?? 0);
  if (Math.abs(Date.now() - made) < FRESH) return;
  try {
    const answer = await fetch(address(site), { cache: "no-store" });
    if (!answer.ok) return;
    const headers = { "Content-Type": "application/json", "Fillmark-Kept": String(Date.now()) };
    await store.put(address(site), new Response(await answer.text(), { headers }));
  } catch {
    // Next time.
  }
}
