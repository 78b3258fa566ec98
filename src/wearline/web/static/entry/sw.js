// Keeps the form, its drawings and the catalogue on the tablet, so that it opens without a network. It never
// touches an entry: those go through the page, which knows when they are on disk. All files are taken together,
// under one version (written by tools/entry_form.py), so that old and new ones never meet.
const VERSION = "59ddd7ca5b65f45c";
const NAMES = ["app.js", "catalogue.js", "check_view.js", "dom.js", "draft.js", "drawing_parts.js", "drawings.js", "end_view.js", "entry.css", "events.js", "icon.svg", "judging.js", "keypad.js", "manifest.webmanifest", "order.js", "photo.js", "quantity.js", "reading_text.js", "ruler.js", "settle_view.js", "sha256.js", "start_view.js", "store.js", "sync.js", "tablet_view.js", "units_table.js", "vehicle.js", "walk_view.js", "words.js"];
const CACHE = `wearline-entry-${VERSION}`;
const CATALOGUES = "wearline-catalogue";
const HERE = "/static/entry/";
const FILES = ["/entry", ...NAMES.map((name) => HERE + name)];
const CATALOGUE = "/api/1/catalogue.json";

async function take(cache, path) {
  const answer = await fetch(path, { cache: "reload", credentials: "same-origin", redirect: "error" });
  if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
  await cache.put(path, answer);
}

addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    await Promise.all(FILES.map((path) => take(cache, path)));
    await caches.open(CATALOGUES).then((kept) => take(kept, CATALOGUE)).catch(() => {});
    await skipWaiting();
  })());
});

addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("wearline-entry-") && name !== CACHE) await caches.delete(name);
    await clients.claim();
  })());
});

async function fromDisk(request, path) {
  const kept = await (await caches.open(CACHE)).match(path);
  return kept ?? fetch(request);
}

// Fresh where the network answers soon, else as it was kept.
async function catalogueFor(request) {
  const cache = await caches.open(CATALOGUES);
  const fresh = fetch(request).then(async (answer) => {
    if (answer.ok && !answer.redirected) await cache.put(CATALOGUE, answer.clone());
    return answer;
  });
  const kept = await cache.match(CATALOGUE);
  if (!kept) return fresh;
  const soon = new Promise((resolve) => { setTimeout(() => resolve(kept), 2500); });
  return Promise.race([fresh.then((answer) => (answer.ok ? answer : kept)).catch(() => kept), soon]);
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin) return;
  if (pathname === "/entry" || (pathname.startsWith(HERE) && pathname !== `${HERE}sw.js`)) event.respondWith(fromDisk(request, pathname));
  else if (pathname === CATALOGUE) event.respondWith(catalogueFor(request));
});
