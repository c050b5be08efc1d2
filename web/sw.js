// Keeps the page for use without a network: one version of all its files, all or nothing.
//
// A version is installed beside the one in use and waits. It takes over only when somebody asks for it, and then the
// open pages load again, so a page never meets files of another version.

const VERSION = "{{version}}";
const FILES = {{offline}};

const OURS = `planeward ${registration.scope} `;
const CACHE = OURS + VERSION;

// The page's own requests go first.
const AT_ONCE = 3;

async function ofThisVersion(name) {
  const integrity = FILES[name];
  if (integrity === "") {
    const answer = await fetch(new Request(name, { cache: "reload" }));
    const text = answer.ok ? await answer.clone().text() : "";
    if (!text.includes(`"${VERSION}"`)) throw new Error(`${name} is of another version`);
    return answer;
  }
  // The name carries a hash of the content, so what the browser holds from the page's first visit is as good as new.
  const ask = (cache) => fetch(new Request(name, { cache, integrity }));
  const answer = await ask("default").catch(() => ask("reload"));
  if (!answer.ok) throw new Error(`${name}: status ${answer.status}`);
  return answer;
}

async function install() {
  await caches.delete(CACHE);
  const cache = await caches.open(CACHE);
  const waiting = Object.keys(FILES);
  const work = async () => {
    for (let name = waiting.pop(); name !== undefined; name = waiting.pop()) {
      await cache.put(name, await ofThisVersion(name));
    }
  };
  try {
    await Promise.all(Array.from({ length: AT_ONCE }, work));
  } catch (error) {
    waiting.length = 0;
    await caches.delete(CACHE);
    throw error;
  }
}

async function activate() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith(OURS) && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
  await clients.claim();
}

async function answer(name, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(name)) ?? fetch(request);
}

addEventListener("install", (event) => event.waitUntil(install()));
addEventListener("activate", (event) => event.waitUntil(activate()));
addEventListener("message", (event) => {
  if (event.data === "take over") skipWaiting();
});
addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  const scope = new URL(registration.scope);
  if (request.method !== "GET" || origin !== scope.origin || !pathname.startsWith(scope.pathname)) return;
  const name = pathname.slice(scope.pathname.length) || "index.html";
  if (Object.hasOwn(FILES, name)) event.respondWith(answer(name, request));
});
