/** Whether the form can be opened while the server is out of reach. */

export type Offline = "ready" | "preparing" | "no https" | "not trusted" | "not offered";

/** Has the service worker keep this page and what it is made of. */
export async function prepareOffline(tell: (state: Offline) => void): Promise<void> {
  if (!window.isSecureContext) return tell("no https");
  if (!("serviceWorker" in navigator)) return tell("not offered");
  tell("preparing");
  try {
    await navigator.serviceWorker.register("/sw.js");
    const { active } = await navigator.serviceWorker.ready;
    const parts = performance.getEntriesByType("resource").map((each) => each.name);
    const ours = parts.filter((name) => name.startsWith(`${location.origin}/static/`));
    const kept = new Promise<boolean>((done) => {
      const wire = new MessageChannel();
      wire.port1.onmessage = (event: MessageEvent<boolean>) => done(event.data);
      active?.postMessage({ keep: [location.pathname, ...ours] }, [wire.port2]);
    });
    // Asks the browser not to clear what is kept when space runs short.
    await navigator.storage?.persist?.();
    tell((await kept) ? "ready" : "not offered");
  } catch (error) {
    // The one place where a browser says that it is the certificate.
    tell(error instanceof Error && /certificate|SSL/i.test(error.message) ? "not trusted" : "not offered");
  }
}
