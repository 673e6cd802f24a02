/** Nothing moves under a reader: what a page begins with is shown at once, when it is there. */

const LONGEST_MS = 5_000;

/** Shows the parts of the page that settle, once what they begin with is there; at the latest after a while. */
export function settles(first: Promise<unknown>): void {
  const show = (): void => document.body.classList.add("settled");
  const late = setTimeout(show, LONGEST_MS);
  first
    .catch(() => undefined)
    .finally(() => {
      clearTimeout(late);
      show();
    });
}

/** Room for an answer that was asked for, so that what stands below it moves now and not later. */
export function makeRoom(host: HTMLElement): void {
  host.classList.add("has-room");
}

/** Nothing came: what stands below comes up again. */
export function noRoom(host: HTMLElement): void {
  host.classList.remove("has-room");
}

/** Brings the card of what was asked for into sight, where it stands below the window. */
export function bringIntoSight(card: HTMLElement): void {
  const { top } = card.getBoundingClientRect();
  if (top < 0 || top > innerHeight - 160) card.scrollIntoView({ block: "start" });
}
