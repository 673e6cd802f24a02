/** Times by a phone's clock, which may stand anywhere. */

import { say } from "../words";

const LAST_YEAR = 9999;

/** A time as it is sent; null where the clock stands in a year that has no date. */
export function stampOf(at: number): string | null {
  const time = new Date(at);
  const year = time.getUTCFullYear();
  return Number.isFinite(at) && year >= 1 && year <= LAST_YEAR ? time.toISOString() : null;
}

/** A time that was kept to be sent, if it is one that can be. */
export function stamped(kept: string | null | undefined): string | null {
  return kept ? stampOf(Date.parse(kept)) : null;
}

/** How long that is, in a unit that can be read. */
export function timeWords(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  if (minutes <= 180) return say("{count} min", { count: minutes });
  const hours = Math.round(seconds / 3600);
  return hours <= 72 ? say("{count} h", { count: hours }) : say("{count} days", { count: Math.round(hours / 24) });
}

/** That the clock is wrong, and that no time is lost by it. */
export function clockWords(ahead: number): string {
  const time = timeWords(Math.abs(ahead));
  return ahead > 0
    ? say("This phone's clock is {time} ahead of the server's. Times of loads are set right; set the clock.", { time })
    : say("This phone's clock is {time} behind the server's. Times of loads are set right; set the clock.", { time });
}
