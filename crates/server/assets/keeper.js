// A service worker: keeps the pages that were opened, so that a tablet that slept can show them
// while the laboratory cannot be reached. The laboratory is always asked first; a kept page is
// shown only when it does not answer, and says so. Entries are not its matter: see waiting.js.
"use strict";

const PAGES = "stonewear-pages";
const ASSETS = "stonewear-assets";
const MOST_PAGES = 40;
const PATIENCE_MS = 15_000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

/** The address of a page, without what only the last sending said. */
const nameOf = (url) => {
  const name = new URL(url);
  name.searchParams.delete("kept");
  name.hash = "";
  return name.href;
};

const keep = async (store, name, answer) => {
  const cache = await caches.open(store);
  // Deleted first, so that the oldest are the first of the list.
  await cache.delete(name);
  const headers = new Headers(answer.headers);
  headers.set("stonewear-kept-at", new Date().toISOString());
  await cache.put(name, new Response(await answer.blob(), { headers }));
  if (store !== PAGES) return;
  const all = await cache.keys();
  await Promise.all(all.slice(0, Math.max(0, all.length - MOST_PAGES)).map((old) => cache.delete(old)));
};

/** The kept page, which says from when it is: its script reads it and tells it in words. */
const shown = async (kept) => {
  const html = await kept.text();
  const at = kept.headers.get("stonewear-kept-at");
  const headers = new Headers(kept.headers);
  headers.delete("content-length");
  return new Response(html.replace("<body ", `<body data-kept-at="${at}" `), { headers });
};

const answer = async (event, isPage) => {
  const { request } = event;
  const name = nameOf(request.url);
  const store = isPage ? PAGES : ASSETS;
  try {
    const late = new Promise((_, fail) => setTimeout(fail, PATIENCE_MS, new Error("no answer")));
    const fresh = await Promise.race([fetch(request), late]);
    const isHtml = fresh.headers.get("content-type")?.startsWith("text/html");
    if (fresh.ok && fresh.type === "basic" && (!isPage || isHtml)) {
      event.waitUntil(keep(store, name, fresh.clone()).catch(() => {}));
    }
    return fresh;
  } catch (error) {
    const kept = await (await caches.open(store)).match(name);
    if (!kept) throw error;
    return isPage ? shown(kept) : kept;
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  const isPage = request.mode === "navigate";
  if (isPage || url.pathname.startsWith("/assets/")) event.respondWith(answer(event, isPage));
});
