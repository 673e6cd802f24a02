/** What every page of the workbench shares: fields, units, the case in hand. */

import { reason } from "./api";
import { byId } from "./dom";
import type { Fields } from "./draft";
import { loadFields } from "./draft";
import { InHand } from "./in_hand";
import { wireKeys } from "./keys";
import type { System } from "./units";
import { keepSystem, Shower } from "./units";

export interface Shell {
  fields: Fields;
  show: Shower;
  draft: InHand;
}

/** Loads what a page needs; `again` asks anew when the reader wants other units. */
export async function openShell(again: () => void): Promise<Shell> {
  const fields = await loadFields();
  const show = new Shower(fields.kinds);
  const choice = byId<HTMLSelectElement>("units");
  choice.value = show.system;
  choice.addEventListener("change", () => {
    show.system = choice.value as System;
    keepSystem(show.system);
    again();
  });
  // The page is wired up in the same breath; until then no click could be lost on it.
  byId("main").inert = false;
  const draft = new InHand(fields.example);
  draft.wire();
  return { fields, show, draft };
}

/** Runs a page's main; what goes wrong is told on the page. */
export function start(main: () => Promise<void>): void {
  wireKeys();
  main().catch((error: unknown) => {
    const line = byId("page-error");
    line.textContent = reason(error);
    line.hidden = false;
    byId("main").inert = false;
  });
}
