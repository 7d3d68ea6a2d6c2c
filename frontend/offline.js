// The service worker: keeps the page in the browser, so that it opens with no network as it was
// left. What the planner sends comes first; what was kept stands in where nothing comes.
const KEPT = "yardfall-page-1";
const PATIENCE_MS = 4000;

// What makes the page and holds nobody's data.
const PAGE = /^\/($|crew$|static\/|leaflet\/|demo\.json$|api\/v1\/(pipes|page-settings)$)/;
// Somebody's, kept only where the planner does not forbid it, as it does for what a key opens.
const OWN = /^\/api\/v1\/(rasters\/[^/]+\/relief\.png|site-plans\/[^/]+\/picture)$/;

addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin) return;
  if (PAGE.test(pathname) || OWN.test(pathname)) event.respondWith(answer(event, pathname));
});

// The page names what it was made of before this worker was there to see it.
addEventListener("message", (event) => {
  event.waitUntil(Promise.all(event.data.keep.map(keepNew)));
});

async function answer(event, pathname) {
  const sent = fetch(event.request).then((response) => {
    event.waitUntil(keep(event.request, response.clone(), pathname));
    return response;
  });
  const kept = await caches.match(event.request, { ignoreVary: true });
  if (!kept) return sent;
  const late = new Promise((done) => {
    setTimeout(() => done(kept), PATIENCE_MS);
  });
  return Promise.race([sent.catch(() => kept), late]);
}

async function keep(request, response, pathname) {
  const forbidden = response.headers.get("Cache-Control")?.includes("no-store");
  if (response.status !== 200 || (forbidden && !PAGE.test(pathname))) return;
  await (await caches.open(KEPT)).put(request, response);
}

async function keepNew(url) {
  const { origin, pathname } = new URL(url);
  if (origin !== location.origin || !(PAGE.test(pathname) || OWN.test(pathname))) return;
  if (await caches.match(url, { ignoreVary: true })) return;
  await fetch(url).then(
    (response) => keep(url, response, pathname),
    () => null,
  );
}
