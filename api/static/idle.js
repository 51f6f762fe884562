// Lets a shared tablet that nobody touched ask who is there, so that nobody works on in another
// one's name, and tells the service that it is touched where a page is worked with for long.
// The service decides whether it was too long; this only takes the page away. Without network
// nothing happens: work goes on, and its entries wait for their doer.

const TELL_MS = 60_000;
const MARGIN_MS = 2000; // the service counts whole seconds
const rests = Number(document.body.dataset.idle ?? 0) * 1000;
let touched = Date.now();
let told = touched;

function contact(headers) {
  return fetch("/tablet/contact", { cache: "no-store", headers }).catch(() => null);
}

async function ask() {
  if (!navigator.onLine) return;
  const now = Date.now();
  if (touched > told && now - told >= TELL_MS && now - touched < TELL_MS) {
    told = now;
    await contact({ "Fillmark-Touched": "1" });
  } else if (now - touched >= rests + MARGIN_MS) {
    const answer = await contact({});
    if (answer?.ok && !(await answer.json()).signed_in) {
      location.assign(`/tablet?next=${encodeURIComponent(location.pathname + location.search)}`);
    }
  }
}

if (rests) {
  for (const kind of ["pointerdown", "keydown"]) {
    document.addEventListener(kind, () => { touched = Date.now(); }, { passive: true });
  }
  document.addEventListener("visibilitychange", ask);
  setInterval(ask, 15_000);
}
