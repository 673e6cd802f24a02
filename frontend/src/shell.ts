/** What every page of the workbench shares: fields, units, the case in hand. */

import { reason } from "./api";
import { careOnce } from "./care";
import { byId, debounced, el } from "./dom";
import type { Fields } from "./draft";
import { loadFields } from "./draft";
import { takeFiles } from "./given_files";
import { InHand } from "./in_hand";
import { keepTyped } from "./kept_fields";
import { wireKeys } from "./keys";
import { settles } from "./settled";
import type { System } from "./units";
import { keepSystem, Shower } from "./units";
import { wired } from "./wired";
import { say } from "./words";

const REDRAWN_MS = 300;

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
  // Drawings are made for the width that they are shown at: a phone that is turned gets new ones.
  let width = innerWidth;
  addEventListener(
    "resize",
    debounced(REDRAWN_MS, () => {
      if (innerWidth === width) return;
      width = innerWidth;
      again();
    }),
  );
  // The page is wired up in the same breath.
  wired();
  const draft = new InHand(fields.example);
  draft.wire();
  return { fields, show, draft };
}

/** Why the page is not there, and the way on; what it has not wired stays out of reach. */
export function tellFailure(error: unknown): void {
  const line = byId("page-error");
  const again = el("button", { type: "button", click: () => location.reload() }, say("Load the page again"));
  line.replaceChildren(reason(error), " ", again);
  line.hidden = false;
}

/**
 * Runs a page's main; what goes wrong is told on the page. Until main says that the page is wired, or is
 * through, nothing on it can be pressed.
 */
export function start(main: () => Promise<void>): void {
  wireKeys();
  keepTyped();
  careOnce();
  takeFiles();
  const first = main();
  settles(first);
  first.then(wired, tellFailure);
}
