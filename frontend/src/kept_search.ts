/** A finished search, what it was asked, and its front: kept in this browser until the next one. */

import type { Table } from "./draft";
import type { DesignAsk, DesignView } from "./generated/api";
import { forgetText, keepInMind, remembered, rememberedValue } from "./remembered";

const KEPT = "woold.search";
const RUNNING = "woold.search.running";

export interface KeptSearch {
  job: string;
  asked: Pick<DesignAsk, "goal" | "profiled" | "probability">;
  /** The case that was searched, as text: what is shown is of it, and of no later one. */
  searched: string;
  view: DesignView;
  units: string;
}

/** Keeps what was found, and for this tab alone which search it was: its report is made on another page. */
export function keepSearch(search: KeptSearch): void {
  keepInMind(KEPT, search.job, "sessionStorage");
  if (!keepInMind(KEPT, JSON.stringify(search))) forgetText(KEPT);
}

export function keptSearch(): KeptSearch | null {
  const kept = rememberedValue<KeptSearch | null>(KEPT, null);
  return kept && typeof kept.view?.is_offered === "boolean" ? kept : null;
}

/** The search of this tab that found something last. */
export function latestJob(): string | null {
  return remembered(KEPT, "sessionStorage");
}

/** A search that this tab waits for, and what it was asked. */
export type RunningSearch = Pick<KeptSearch, "job" | "asked" | "searched">;

/** Keeps for this tab that it waits for a search; null once it waits no more. */
export function keepRunning(search: RunningSearch | null): void {
  keepInMind(RUNNING, JSON.stringify(search), "sessionStorage");
}

export function runningSearch(): RunningSearch | null {
  return rememberedValue<RunningSearch | null>(RUNNING, null, "sessionStorage");
}

/** A case as it counts for a search. */
export function searchedText(table: Table): string {
  return JSON.stringify(table);
}
