/** What this phone keeps in its own database: entries not sent yet, their photos, trials as last seen. */

import type { DBSchema, IDBPDatabase } from "idb";
import { openDB } from "idb";
import type { Problem } from "../api";
import type { OpenTrial } from "../generated/api";
import type { Draft, EntryBody } from "./model";

export type ItemState = "waiting" | "refused" | "sent";

/** One entry on its way to the server. */
export interface Item {
  id: string;
  trial: string;
  load: string;
  state: ItemState;
  body: EntryBody;
  draft: Draft;
  saved: number;
  problems: Problem[];
  sentAt: number | null;
}

interface Kept extends DBSchema {
  outbox: { key: string; value: Item };
  photos: { key: string; value: { id: string; content: ArrayBuffer; type: string } };
  trials: { key: string; value: OpenTrial };
  drafts: { key: string; value: Draft };
}

let opened: Promise<IDBPDatabase<Kept>> | null = null;

function database(): Promise<IDBPDatabase<Kept>> {
  opened ??= openDB<Kept>("woold", 1, {
    upgrade(db) {
      db.createObjectStore("outbox", { keyPath: "id" });
      db.createObjectStore("photos", { keyPath: "id" });
      db.createObjectStore("trials", { keyPath: "key" });
      db.createObjectStore("drafts", { keyPath: "id" });
    },
  });
  return opened;
}

/** Puts an item on disk; the promise ends when it is there. */
export async function keepItem(item: Item): Promise<void> {
  const transaction = (await database()).transaction("outbox", "readwrite", { durability: "strict" });
  await Promise.all([transaction.store.put(item), transaction.done]);
}

export async function items(): Promise<Item[]> {
  return (await (await database()).getAll("outbox")).sort((a, b) => a.saved - b.saved);
}

export async function item(id: string): Promise<Item | undefined> {
  return (await database()).get("outbox", id);
}

export async function forgetItem(id: string): Promise<void> {
  await (await database()).delete("outbox", id);
}

export async function keepPhoto(file: Blob): Promise<string> {
  const id = crypto.getRandomValues(new Uint32Array(4)).join("-");
  const content = await file.arrayBuffer();
  const transaction = (await database()).transaction("photos", "readwrite", { durability: "strict" });
  await Promise.all([transaction.store.put({ id, content, type: file.type }), transaction.done]);
  return id;
}

export async function photo(id: string): Promise<Blob | null> {
  const kept = await (await database()).get("photos", id);
  return kept ? new Blob([kept.content], { type: kept.type }) : null;
}

export async function forgetPhoto(id: string): Promise<void> {
  await (await database()).delete("photos", id);
}

export async function keepTrial(trial: OpenTrial): Promise<void> {
  await (await database()).put("trials", trial);
}

export async function keptTrial(key: string): Promise<OpenTrial | undefined> {
  return (await database()).get("trials", key);
}

/** Writes at once to the disk, where the browser's other store for pages may wait a minute. */
export async function putDraft(draft: Draft): Promise<void> {
  await (await database()).put("drafts", draft);
}

export async function deleteDraft(id: string): Promise<void> {
  await (await database()).delete("drafts", id);
}

export async function allDrafts(): Promise<Draft[]> {
  return (await database()).getAll("drafts");
}
