/**
 * What is being typed, kept at every keystroke in the phone's database, where it is on the disk even if
 * the browser is killed.
 *
 * A draft belongs to its trial for ever. Each tab types into a draft of its own, under the id with which
 * its entry will be sent. The tab's draft outlives a reload; a draft that no tab holds is taken up by the
 * next one that opens the form of its trial.
 */

import { randomId } from "../dom";
import { forgetText } from "../remembered";
import { allDrafts, deleteDraft, putDraft } from "./kept";
import type { Draft } from "./model";

const LOCK = "woold-draft-";
const ANSWERS_MS = 600;
const OLD_STEM = "woold.entry.";
const tabKey = (trial: string): string => `woold.tab.${trial}`;

const known = new Map<string, Draft>();

/** Keeps a draft; the promise ends when it is kept: true on the disk, false in this page only. */
export async function keepDraft(draft: Draft): Promise<boolean> {
  draft.touched = Date.now();
  known.set(draft.id, draft);
  const isKept = await putDraft(draft);
  tellOthers();
  return isKept;
}

export function dropDraft(draft: Draft): void {
  known.delete(draft.id);
  void deleteDraft(draft.id).then(tellOthers);
}

/** Reads what is kept; takes over what an older page kept elsewhere. */
export async function restoreDrafts(): Promise<void> {
  for (const old of await olderDrafts()) await putDraft(old);
  const kept = await allDrafts();
  const here = new Set(kept.map((each) => each.id));
  for (const id of known.keys()) if (!here.has(id) && id !== mine) known.delete(id);
  // The draft that this tab types into is newer here than anywhere.
  for (const each of kept) if (each.id !== mine) known.set(each.id, each);
}

async function olderDrafts(): Promise<Draft[]> {
  const found: Draft[] = [];
  try {
    const keys = Array.from({ length: localStorage.length }, (_, place) => localStorage.key(place) ?? "");
    const newer = new Map((await allDrafts()).map((each) => [each.id, each.touched]));
    for (const key of keys.filter((name) => name.startsWith(OLD_STEM))) {
      const draft = JSON.parse(localStorage.getItem(key) ?? "null") as Draft | null;
      if (draft?.id && draft.touched > (newer.get(draft.id) ?? -1)) found.push(draft);
      forgetText(key);
    }
  } catch {
    // the browser gives nothing, or it is none of ours
  }
  return found;
}

export function drafts(trial: string): Draft[] {
  return [...known.values()].filter((each) => each.trial === trial).sort((a, b) => a.begun - b.begun);
}

/** Every draft on this phone, of whichever trial. */
export function draftsOfAll(): Draft[] {
  return [...known.values()];
}

export function newDraft(trial: string, typedBy: string): Draft {
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
    typed_by: typedBy,
  };
}

/** Whether anything was typed or photographed. */
export function isUsed(draft: Draft, given: ReadonlySet<string>): boolean {
  return draft.photos.length > 0 || Object.entries(draft.cells).some(([name, text]) => text !== "" && !given.has(name));
}

let mine = "";
let release: (() => void) | null = null;
let onOthers: () => void = () => undefined;
const answers = new Set<string>();
const channel = "BroadcastChannel" in window ? new BroadcastChannel("woold-drafts") : null;
channel?.addEventListener("message", (event: MessageEvent<{ ask?: boolean; held?: string; changed?: boolean }>) => {
  if (event.data.ask && mine) channel.postMessage({ held: mine });
  if (event.data.held) answers.add(event.data.held);
  if (event.data.changed) void restoreDrafts().then(onOthers);
});

let isTelling = 0;
function tellOthers(): void {
  // Not at every keystroke: the other tabs only show which loads are begun.
  clearTimeout(isTelling);
  isTelling = window.setTimeout(() => channel?.postMessage({ changed: true }), 300);
}

/** Called when another tab began, changed or saved a draft. */
export function whenOthersChange(action: () => void): void {
  onOthers = action;
}

/** Ids of drafts that other tabs are typing into. */
export async function heldElsewhere(): Promise<Set<string>> {
  if ("locks" in navigator) {
    try {
      const { held } = await navigator.locks.query();
      const ids = (held ?? []).map((lock) => lock.name ?? "").filter((name) => name.startsWith(LOCK));
      return new Set(ids.map((name) => name.slice(LOCK.length)).filter((id) => id !== mine));
    } catch {
      return new Set();
    }
  }
  // A plain http page has no locks: the other tabs are asked.
  answers.clear();
  channel?.postMessage({ ask: true });
  await new Promise((done) => setTimeout(done, ANSWERS_MS));
  return new Set(answers);
}

/** This tab's draft: the one it had before a reload, else one that no tab holds, else none. */
export async function myDraft(trial: string): Promise<Draft | null> {
  let own: string | null = null;
  try {
    own = sessionStorage.getItem(tabKey(trial));
  } catch {
    // the browser gives nothing
  }
  const all = drafts(trial);
  const elsewhere = await heldElsewhere();
  return all.find((each) => each.id === own) ?? all.filter((each) => !elsewhere.has(each.id)).at(-1) ?? null;
}

/** Says from now on that this tab types into the draft. */
export function holdDraft(draft: Draft): void {
  try {
    sessionStorage.setItem(tabKey(draft.trial), draft.id);
  } catch {
    // without it a reload takes up the latest draft that no tab holds, which is this one
  }
  mine = draft.id;
  known.set(draft.id, draft);
  release?.();
  release = null;
  if ("locks" in navigator) {
    navigator.locks
      .request(LOCK + draft.id, () => new Promise<void>((done) => (release = done)))
      .catch(() => undefined);
  }
}
