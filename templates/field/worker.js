// The worker of the tablet page. BUILD and FILES stand above, put there by the server: a new build is a new worker.
//
// It does one thing: hand out the page and its files from the tablet. What is not in its list it does not touch: no request
// that sends something, nothing that asks for data. It never opens the store; a new worker waits until the page says "start".

const CACHE = `hingewood-field-${BUILD}`;
const PAGE = "/field/";
const known = new Set(FILES);

// A redirected answer (to a login page, say) kept under the page's address would break it for good.
async function fetchFresh(address) {
  const answer = await fetch(new Request(address, { cache: "reload", credentials: "omit" }));
  if (!answer.ok || answer.redirected || answer.type !== "basic") throw new Error(`${address}: ${answer.status}`);
  return answer;
}

async function install() {
  const answers = await Promise.all(FILES.map(fetchFresh));
  const cache = await caches.open(CACHE);
  await Promise.all(FILES.map((address, at) => cache.put(address, answers[at])));
}

async function activate() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith("hingewood-field-") && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function answer(address, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(address)) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", (event) => event.data === "start" && self.skipWaiting());

self.addEventListener("fetch", (event) => {
  const { method, url, mode } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== self.location.origin) return;
  if (pathname === PAGE ? mode === "navigate" : known.has(pathname)) event.respondWith(answer(pathname, event.request));
});
