/**
 * What is being typed, kept at every keystroke: in the store that is there at once after a reload, and
 * in the phone's database, which is on the disk even if the browser is killed.
 *
 * Each tab types into a draft of its own, under the id with which its entry will be sent. The tab's
 * draft outlives a reload; a draft that no tab holds is taken up by the next one that opens the form.
 */

import { randomId } from "../dom";
import { allDrafts, deleteDraft, putDraft } from "./kept";
import type { Draft } from "./model";

const LOCK = "woold-draft-";
const ANSWERS_MS = 600;
const stem = (trial: string): string => `woold.entry.${trial}.`;
const tabKey = (trial: string): string => `woold.tab.${trial}`;

/** Keeps a draft; the promise ends when it is on the disk. */
export function keepDraft(draft: Draft): Promise<void> {
  draft.touched = Date.now();
  localStorage.setItem(stem(draft.trial) + draft.id, JSON.stringify(draft));
  return putDraft(draft);
}

export function dropDraft(draft: Draft): void {
  localStorage.removeItem(stem(draft.trial) + draft.id);
  void deleteDraft(draft.id);
}

/** Brings back what only the database still has, or has newer. */
export async function restoreDrafts(): Promise<void> {
  for (const kept of await allDrafts()) {
    const key = stem(kept.trial) + kept.id;
    const here = JSON.parse(localStorage.getItem(key) ?? "null") as Draft | null;
    if (!here || here.touched < kept.touched) localStorage.setItem(key, JSON.stringify(kept));
  }
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
  return {
    id: randomId(),
    trial,
    begun: Date.now(),
    touched: 0,
    cells: {},
    units: {},
    photos: [],
    as_typed: [],
    reason: "",
  };
}

/** Whether anything was typed or photographed. */
export function isUsed(draft: Draft, given: ReadonlySet<string>): boolean {
  return draft.photos.length > 0 || Object.entries(draft.cells).some(([name, text]) => text !== "" && !given.has(name));
}

let mine = "";
let release: (() => void) | null = null;
const answers = new Set<string>();
const channel = new BroadcastChannel("woold-drafts");
channel.addEventListener("message", (event: MessageEvent<{ ask?: boolean; held?: string }>) => {
  if (event.data.ask && mine) channel.postMessage({ held: mine });
  if (event.data.held) answers.add(event.data.held);
});

/** Ids of drafts that other tabs are typing into. */
export async function heldElsewhere(): Promise<Set<string>> {
  if ("locks" in navigator) {
    const { held } = await navigator.locks.query();
    const ids = (held ?? []).map((lock) => lock.name ?? "").filter((name) => name.startsWith(LOCK));
    return new Set(ids.map((name) => name.slice(LOCK.length)).filter((id) => id !== mine));
  }
  // A plain http page has no locks: the other tabs are asked.
  answers.clear();
  channel.postMessage({ ask: true });
  await new Promise((done) => setTimeout(done, ANSWERS_MS));
  return new Set(answers);
}

/** This tab's draft: the one it had before a reload, else one that no tab holds, else none. */
export async function myDraft(trial: string): Promise<Draft | null> {
  const own = sessionStorage.getItem(tabKey(trial));
  const all = drafts(trial);
  const elsewhere = await heldElsewhere();
  return all.find((each) => each.id === own) ?? all.filter((each) => !elsewhere.has(each.id)).at(-1) ?? null;
}

/** Says from now on that this tab types into the draft. */
export function holdDraft(draft: Draft): void {
  sessionStorage.setItem(tabKey(draft.trial), draft.id);
  mine = draft.id;
  release?.();
  release = null;
  if ("locks" in navigator) {
    void navigator.locks.request(LOCK + draft.id, () => new Promise<void>((done) => (release = done)));
  }
}
