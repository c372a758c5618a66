// Keeps the tablet's page and its files, so that it opens without signal. VERSION
// and FILES stand before this text when it is served. Nothing that anybody entered
// is kept here: that is in the page's own store and outlives every update.
const SCOPE = new URL(self.registration.scope).pathname;
const PREFIX = `tablet|${SCOPE}|`;
const CACHE = PREFIX + VERSION;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    const shell = await fetch(SCOPE, { cache: "reload", credentials: "same-origin" });
    // A sign-in page in its place must not be kept as the tablet's page.
    if (!shell.ok || shell.redirected || shell.headers.get("X-Tablet-Version") !== VERSION) throw new Error("the page of this version is not to be had now");
    await cache.addAll(FILES);
    await cache.put(SCOPE, shell);
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith(PREFIX) && name !== CACHE) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("message", (event) => {
  if (event.data === "now") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && (url.pathname === SCOPE || url.pathname.startsWith(`${SCOPE}/at/`))) {
    event.respondWith((async () => (await (await caches.open(CACHE)).match(SCOPE)) ?? fetch(request))());
  } else if (url.pathname.startsWith("/static/")) {
    event.respondWith((async () => (await (await caches.open(CACHE)).match(request, { ignoreVary: true })) ?? fetch(request))());
  }
});
