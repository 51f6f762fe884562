// Checks a certificate in the reader's own browser, with nothing but the open standards: the
// signature (Ed25519) by the published key, the fingerprint of that key, both status lists and
// their signatures. The words stand in the page; this only shows which of them are so.

const part = document.getElementById("check-here");
const words = Object.fromEntries(
  [...(part?.querySelector("template").content.querySelectorAll("[data-word]") ?? [])].map((one) => [one.dataset.word, one.textContent]));
const AGED_MS = 10 * 60_000;

const utf8 = new TextEncoder();
const bytes = (text) => Uint8Array.from(
  atob(text.replaceAll("-", "+").replaceAll("_", "/")), (one) => one.charCodeAt(0));
const said = (text) => JSON.parse(new TextDecoder().decode(bytes(text)));
const base64url = (data) => btoa(String.fromCharCode(...new Uint8Array(data)))
  .replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

class Wrong extends Error {}

async function fetched(address) {
  const answer = await fetch(address, { cache: "no-store", referrerPolicy: "no-referrer" });
  if (!answer.ok) throw new Wrong("unreachable");
  return answer;
}

// The fingerprint of a key follows from the key (RFC 7638): nobody can give it another one.
async function keyOf(kid, keys) {
  const jwk = keys.find((one) => one.kid === kid);
  if (!jwk) throw new Wrong("key");
  const canonical = JSON.stringify({ crv: jwk.crv, kty: jwk.kty, x: jwk.x });
  const print = base64url(await crypto.subtle.digest("SHA-256", utf8.encode(canonical)));
  if (print !== kid || jwk.crv !== "Ed25519") throw new Wrong("key");
  return crypto.subtle.importKey("raw", bytes(jwk.x), { name: "Ed25519" }, false, ["verify"]);
}

// What a signed text says, once the signature fits.
async function verified(token, keys) {
  const [head, body, signature, ...more] = token.trim().split(".");
  const { alg, kid, typ, crit } = said(head);
  if (more.length || crit || typ !== "vc+jwt" || !["EdDSA", "Ed25519"].includes(alg)) throw new Wrong("signature");
  const fits = await crypto.subtle.verify(
    "Ed25519", await keyOf(kid, keys), bytes(signature), utf8.encode(`${head}.${body}`));
  if (!fits) throw new Wrong("signature");
  return said(body);
}

async function isSet(entry, keys) {
  const list = await verified(await (await fetched(local(entry.statusListCredential))).text(), keys);
  const { statusPurpose, encodedList } = list.credentialSubject;
  if (statusPurpose !== entry.statusPurpose || list.id !== entry.statusListCredential) throw new Wrong("status");
  const packed = new Blob([bytes(encodedList.slice(1))]).stream().pipeThrough(new DecompressionStream("gzip"));
  const bits = new Uint8Array(await new Response(packed).arrayBuffer());
  const index = Number(entry.statusListIndex);
  return Boolean((bits[index >> 3] >> (7 - (index % 8))) & 1);
}

// A browser may ask this service alone; the signed address is compared, its place is asked here.
const local = (address) => new URL(address).pathname + new URL(address).search;

async function check(tell) {
  const here = location.pathname;
  const token = await (await fetched(`${here}?format=jwt`)).text();
  const { keys } = await (await fetched(part.dataset.keys)).json();
  const credential = await verified(token, keys);
  tell("signed");
  if (local(credential.id).toLowerCase() !== here.toLowerCase()) throw new Wrong("another");
  if (String(credential.credentialSubject.quarantine.counts.certified) !== part.dataset.certified) throw new Wrong("another");
  tell("same");
  for (const entry of credential.credentialStatus) {
    tell(`${entry.statusPurpose}-${await isSet(entry, keys) ? "yes" : "no"}`);
  }
  tell("today");
}

async function pressed(event) {
  const list = part.querySelector("ul");
  const tell = (word) => {
    const line = document.createElement("li");
    line.textContent = words[word];
    list.append(line);
  };
  list.replaceChildren();
  event.currentTarget.setAttribute("aria-busy", "true");
  try {
    await check(tell);
  } catch (error) {
    tell(error instanceof Wrong ? error.message : navigator.onLine ? "cannot" : "unreachable");
  }
  part.querySelector("button").removeAttribute("aria-busy");
}

// A page that was saved, printed to a file, or left open says nothing of today.
function sayAge() {
  const written = Date.parse(document.querySelector(".as-of time")?.dateTime ?? "");
  const old = document.getElementById("old-copy");
  if (old && Date.now() - written > AGED_MS) old.hidden = false;
}

if (part && globalThis.crypto?.subtle && "DecompressionStream" in globalThis) {
  part.hidden = false;
  part.querySelector("button").addEventListener("click", pressed);
}
sayAge();
setInterval(sayAge, 60_000);
