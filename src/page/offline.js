// Keeps one version of the page for use without a network, whole or not at all.
//
// The list is filled in when the page is built for a host (`cargo xtask dist`), so every version has another text here,
// and that is how a browser notices that there is a new one. While the page is being worked on the list is empty: then
// nothing is kept, and what an earlier build left behind is cleared away.
const FILES = {};

const names = Object.keys(FILES);
const folder = new URL("./", self.location);
// All folders of a host share one set of stores.
const PREFIX = `lapmargin ${folder.pathname} `;
const STORE = PREFIX + "VERSION";
const address = (name) => new URL(name, folder);

self.addEventListener("install", (event) => {
  // A version that is complete waits until no tab uses the one before.
  event.waitUntil(names.length ? fill() : leave());
});

self.addEventListener("activate", (event) => {
  event.waitUntil(clear());
});

self.addEventListener("fetch", (event) => {
  const { method, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== folder.origin || !pathname.startsWith(folder.pathname)) return;
  const name = pathname.slice(folder.pathname.length) || "index.html";
  if (Object.hasOwn(FILES, name)) event.respondWith(kept(name, event.request));
});

self.addEventListener("message", (event) => {
  if (event.data === "use") event.waitUntil(use(event.source));
});

// Takes every file, and only if each is the one that this version was built with.
async function fill() {
  const store = await caches.open(STORE);
  try {
    await Promise.all(names.map(async (name) => {
      const response = await fetch(address(name), { cache: "no-cache" });
      const body = await response.arrayBuffer();
      const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
      const hash = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
      if (!response.ok || !hash.startsWith(FILES[name])) throw new Error(`${name} is not of this version`);
      // A copy without the address it came from: a page must not be a redirected answer.
      const headers = { "content-type": response.headers.get("content-type") ?? "" };
      await store.put(address(name), new Response(body, { headers }));
    }));
  } catch (error) {
    await caches.delete(STORE);
    throw error;
  }
}

// Clears away what other versions of this folder left.
async function clear() {
  for (const store of await caches.keys()) {
    if (store.startsWith(PREFIX) && store !== STORE) await caches.delete(store);
  }
}

// Takes itself out of the browser, with the worker of an earlier build; it is not installed in its place.
async function leave() {
  await clear();
  // Not waited for: the browser gets to it when this installation has come to its end.
  self.registration.unregister();
  throw new Error("this page is being worked on and is not kept");
}

async function kept(name, request) {
  const store = await caches.open(STORE);
  const response = await store.match(address(name));
  if (response) return response;
  // The browser has made room. Half a version is none: from now on everything comes from the host.
  await caches.delete(STORE);
  return fetch(request);
}

// Lets the new version take over, if that pulls nothing from under another tab.
async function use(asking) {
  const windows = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  const open = windows.filter((client) => client.url.startsWith(folder.href));
  if (open.length > 1) asking.postMessage("others");
  else await self.skipWaiting();
}
