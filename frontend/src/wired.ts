/** Nothing is pressed in vain: a page's content takes no press before its script listens, and keys wait for it. */

import { byId } from "./dom";

let held: (() => void) | null = null;

/** Whether all that can be pressed on the page is listened to. */
export function isWired(): boolean {
  return !byId("main").inert;
}

/** Does it now, or as soon as the page listens; of several that wait, the last. */
export function onceWired(action: () => void): void {
  if (isWired()) action();
  else held = action;
}

/** All listeners of the page stand, or will before anything else happens: `main` was inert until now. */
export function wired(): void {
  byId("main").inert = false;
  const action = held;
  held = null;
  if (action) setTimeout(action);
}
