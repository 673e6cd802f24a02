/** How many loads of a trial are wrapped, in words. */

import { say } from "./words";

export function loadsWrapped(count: number): string {
  return count === 1 ? say("1 load wrapped") : say("{count} loads wrapped", { count });
}
