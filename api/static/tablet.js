// Which tablet this page is on, who acts, and whether the page comes from the network or was
// kept. The frame of every page writes it on <body>; nothing else needs to know how.

const body = document.body.dataset;

export const device = body.device || "";
export const person = body.person || "";
export const people = (body.people || person).split(" ").filter(Boolean);

// Set by the service worker when there was no network and it answered with a kept page.
export const isKept = "kept" in body;

// When the service wrote this page, in ms; NaN on pages that say nothing of a moment.
export const writtenAt = Date.parse(document.querySelector("[data-as-of] time")?.dateTime ?? "");

// One tab, over all the pages that it shows one after the other.
export const tab = (() => {
  const known = sessionStorage.getItem("fillmark-tab") || crypto.randomUUID?.() || String(Math.random());
  sessionStorage.setItem("fillmark-tab", known);
  return known;
})();

// Without a secure address a browser gives neither a service worker nor locks.
export const isAble = Boolean(device) && window.isSecureContext
  && "serviceWorker" in navigator && "locks" in navigator && "indexedDB" in window;
