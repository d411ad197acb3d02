/* Keeps the bench page for when there is no network. Its cache is named by its content: a new page has a new name. */
const KEPT = "bench-{{VERSION}}";
const FILES = ["./", "index.html", "manifest.webmanifest", "icon.svg"];

self.addEventListener("install", (event) => {
  const fresh = FILES.map((file) => new Request(file, { cache: "reload" })); // not what the browser kept of an older page
  event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(fresh)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const folder = new URL("./", self.location).pathname;
  const old = (name) => name.startsWith("bench-") && name !== KEPT;
  const ours = async (name) => {
    const kept = await (await caches.open(name)).keys();
    return kept.length === 0 || kept.some((request) => new URL(request.url).pathname.startsWith(folder));
  };
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(names.filter(old).map(async (name) => (await ours(name)) && caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  if (event.request.method !== "GET") return;
  event.respondWith(
    caches.open(KEPT).then(async (cache) => (await cache.match(event.request, { ignoreSearch: true })) ?? fetch(event.request)),
  );
});
