// Keeps the whole build as one set, so that the page works without a server
// and never mixes the program of one build with the page of another.
const BUILD = '__BUILD__';
const FILES = "__FILES__";
const PREFIX = 'sweepbook-';
const CACHE = PREFIX + BUILD;

self.addEventListener('install', (event) => {
  const keep = async () => {
    const cache = await caches.open(CACHE);
    // Past the browser's own cache: what it holds may be of another build.
    await cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' })));
  };
  event.waitUntil(keep());
});

self.addEventListener('activate', (event) => {
  const tidy = async () => {
    const names = await caches.keys();
    const old = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
    await Promise.all(old.map((name) => caches.delete(name)));
    await self.clients.claim();
  };
  event.waitUntil(tidy());
});

// A new build waits until the page asks for it.
self.addEventListener('message', (event) => {
  if (event.data === 'take over') self.skipWaiting();
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin) return;
  event.respondWith(answer(request, url));
});

async function answer(request, url) {
  const scope = new URL(self.registration.scope);
  const isPage = url.pathname === scope.pathname;
  const key = isPage ? new URL('index.html', scope).href : request;
  const cache = await caches.open(CACHE);
  const kept = await cache.match(key, { ignoreSearch: true, ignoreVary: true });
  return kept ?? fetch(request);
}
