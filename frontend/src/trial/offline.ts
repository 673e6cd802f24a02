/** Whether the form can be opened while the server is out of reach. */

import { byId } from "../dom";
import { say } from "../words";

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

/** Says so on the page, and what to do where it cannot. */
export function showOffline(state: Offline): void {
  const line = byId("offline");
  line.textContent = {
    ready: say("This form also opens while the server is out of reach."),
    preparing: say("Getting ready for work out of reach …"),
    "no https": say(
      "This address is plain http: what you type and save is kept on this phone, but the form cannot be opened anew while the server is out of reach. Keep this page open, or ask for the https address (docs/server.md).",
    ),
    "not trusted": say(
      "This phone does not trust the server's certificate, so the form cannot be opened anew while the server is out of reach. Keep this page open; whoever runs the server finds the way out in docs/server.md.",
    ),
    "not offered": say(
      "This browser cannot open the form while the server is out of reach. Keep this page open; what you type and save is kept.",
    ),
  }[state];
  line.className = ["no https", "not trusted", "not offered"].includes(state) ? "caution" : "quiet-words";
}
