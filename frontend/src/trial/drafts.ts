/**
 * What is being typed, kept at every keystroke.
 *
 * Each tab types into a draft of its own, under the id with which its entry will be sent. The tab's
 * id outlives a reload; a draft whose tab is gone (its sign of life is old) is taken up by the next
 * tab that opens the form.
 */

import type { Draft } from "./model";
import { freshEntryId } from "./model";

const ALIVE_MS = 2_000;
const GONE_MS = 6_000;
const stem = (trial: string): string => `woold.entry.${trial}.`;
const lifeKey = (id: string): string => `woold.alive.${id}`;
const tabKey = (trial: string): string => `woold.tab.${trial}`;

export function keepDraft(draft: Draft): void {
  localStorage.setItem(stem(draft.trial) + draft.id, JSON.stringify(draft));
}

export function dropDraft(draft: Draft): void {
  localStorage.removeItem(stem(draft.trial) + draft.id);
  localStorage.removeItem(lifeKey(draft.id));
}

export function drafts(trial: string): Draft[] {
  const found: Draft[] = [];
  for (let place = 0; place < localStorage.length; place += 1) {
    const key = localStorage.key(place);
    if (!key?.startsWith(stem(trial))) continue;
    try {
      found.push(JSON.parse(localStorage.getItem(key) ?? "") as Draft);
    } catch {
      // not one of ours
    }
  }
  return found.sort((a, b) => a.begun - b.begun);
}

export function newDraft(trial: string): Draft {
  return { id: freshEntryId(), trial, begun: Date.now(), cells: {}, units: {}, photos: [], as_typed: [], reason: "" };
}

/** Whether anything was typed or photographed. */
export function isUsed(draft: Draft, given: ReadonlySet<string>): boolean {
  return draft.photos.length > 0 || Object.entries(draft.cells).some(([name, text]) => text !== "" && !given.has(name));
}

/** Whether another tab is typing into it. */
export function isElsewhere(id: string): boolean {
  if (sessionStorage.getItem("woold.mine") === id) return false;
  return Date.now() - Number(localStorage.getItem(lifeKey(id)) ?? 0) < GONE_MS;
}

/** This tab's draft: the one it had before a reload, else one whose tab is gone, else none. */
export function myDraft(trial: string): Draft | null {
  const mine = sessionStorage.getItem(tabKey(trial));
  const all = drafts(trial);
  return all.find((each) => each.id === mine) ?? all.filter((each) => !isElsewhere(each.id)).at(-1) ?? null;
}

let beat = 0;

/** Says from now on that this tab types into the draft. */
export function holdDraft(draft: Draft): void {
  sessionStorage.setItem(tabKey(draft.trial), draft.id);
  sessionStorage.setItem("woold.mine", draft.id);
  const life = (): void => localStorage.setItem(lifeKey(draft.id), String(Date.now()));
  clearInterval(beat);
  life();
  beat = window.setInterval(life, ALIVE_MS);
  addEventListener("pagehide", () => localStorage.removeItem(lifeKey(draft.id)), { once: true });
}
