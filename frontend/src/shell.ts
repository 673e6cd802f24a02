/** What every page of the workbench shares: fields, units, the case in hand. */

import { reason } from "./api";
import { byId } from "./dom";
import type { Draft, Fields } from "./draft";
import { keptDraft, loadFields } from "./draft";
import type { System } from "./units";
import { keepSystem, Shower } from "./units";

export interface Shell {
  fields: Fields;
  show: Shower;
  draft: Draft;
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
  return { fields, show, draft: keptDraft(fields.example) };
}

/** Runs a page's main; what goes wrong is told on the page. */
export function start(main: () => Promise<void>): void {
  main().catch((error: unknown) => {
    const line = byId("page-error");
    line.textContent = reason(error);
    line.hidden = false;
    byId("main").inert = false;
  });
}
