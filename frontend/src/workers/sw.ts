/**
 * Lets the trial pages open while the server is out of reach. It keeps pages and scripts only; what
 * was typed is kept by the page itself, and the interface for programs is never answered from here.
 */

// The worker's own types clash with the window's, so the few that are needed are told here.
interface WorkerScope {
  skipWaiting(): Promise<void>;
  clients: { claim(): Promise<void> };
  addEventListener(type: string, listener: (event: never) => void): void;
}
interface Lasting extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface Fetching extends Lasting {
  request: Request;
  respondWith(answer: Promise<Response>): void;
}
interface Telling extends Lasting {
  data: { keep?: string[] };
  ports: MessagePort[];
}

const worker = self as unknown as WorkerScope;
const CACHE = "woold-1";
const PATIENCE_MS = 4_000;

worker.addEventListener("install", (event: Lasting) => event.waitUntil(worker.skipWaiting()));
worker.addEventListener("activate", (event: Lasting) => event.waitUntil(worker.clients.claim()));

worker.addEventListener("message", (event: Telling) => {
  const { keep } = event.data;
  if (!keep) return;
  const work = keepAll(keep).then(
    () => event.ports[0]?.postMessage(true),
    () => event.ports[0]?.postMessage(false),
  );
  event.waitUntil(work);
});

worker.addEventListener("fetch", (event: Fetching) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  const isPage = request.mode === "navigate" && url.pathname.startsWith("/trials");
  if (isPage || url.pathname.startsWith("/static/")) event.respondWith(newestOrKept(request));
});

async function keepAll(addresses: string[]): Promise<void> {
  const cache = await caches.open(CACHE);
  await Promise.all(
    addresses.map(async (address) => {
      try {
        const answer = await fetch(address, { credentials: "same-origin" });
        if (!answer.ok || answer.redirected) throw new Error(address);
        await cache.put(address, answer);
      } catch (error) {
        if (!(await cache.match(address))) throw error;
      }
    }),
  );
}

async function newestOrKept(request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(request, { ignoreVary: true });
  try {
    const stop = kept ? { signal: AbortSignal.timeout(PATIENCE_MS) } : {};
    const answer = await fetch(request, stop);
    if (answer.ok && !answer.redirected && answer.type === "basic") await cache.put(request, answer.clone());
    return answer.status >= 500 && kept ? kept : answer;
  } catch (error) {
    if (kept) return kept;
    throw error;
  }
}
