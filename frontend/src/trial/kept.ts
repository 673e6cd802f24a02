/**
 * What this phone keeps in its own database: drafts, entries not sent yet, their photos, trials as last
 * seen. Where the browser denies storage, or it is full, the same stands in this page's memory: it can
 * still be sent or saved to a file, and the page says so.
 */

import type { DBSchema, IDBPDatabase } from "idb";
import { openDB } from "idb";
import type { Problem } from "../api";
import { randomId } from "../dom";
import type { OpenTrial } from "../generated/api";
import type { Draft, EntryBody } from "./model";

/** waiting: nothing is there yet; photos: the numbers are, photos are on their way. */
export type ItemState = "waiting" | "photos" | "refused" | "sent";

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
  /** What the server calls photos that it has. */
  sentPhotos?: string[];
  /** Its numbers are on record. */
  isOnRecord?: boolean;
}

export interface KeptPhoto {
  id: string;
  content: ArrayBuffer;
  type: string;
}

/** Whether what is kept outlives this page. */
export type Keeping = "on the disk" | "full" | "denied";

interface Kept extends DBSchema {
  outbox: { key: string; value: Item };
  photos: { key: string; value: KeptPhoto };
  trials: { key: string; value: OpenTrial };
  drafts: { key: string; value: Draft };
}
type Place = "outbox" | "photos" | "trials" | "drafts";

const LATEST = 1;
const memory = {
  outbox: new Map<string, Item>(),
  photos: new Map<string, KeptPhoto>(),
  trials: new Map<string, OpenTrial>(),
  drafts: new Map<string, Draft>(),
};
let database: IDBPDatabase<Kept> | null = null;
let opening: Promise<void> | null = null;
let isDenied = false;
let isFull = false;

/** Opens the database; afterwards a change is on its way to the disk as soon as it is made. */
export function openKept(): Promise<void> {
  opening ??= opened().then(
    (db) => {
      database = db;
    },
    () => {
      isDenied = true;
    },
  );
  return opening;
}

/** Async, since a browser that denies storage may say so by an error at once. */
async function opened(): Promise<IDBPDatabase<Kept>> {
  return openDB<Kept>("woold", LATEST, {
    upgrade(db) {
      db.createObjectStore("outbox", { keyPath: "id" });
      db.createObjectStore("photos", { keyPath: "id" });
      db.createObjectStore("trials", { keyPath: "key" });
      db.createObjectStore("drafts", { keyPath: "id" });
    },
    terminated() {
      database = null;
      opening = null;
    },
  });
}

export function keeping(): Keeping {
  if (isDenied) return "denied";
  const isHeld = isFull || memory.outbox.size + memory.photos.size + memory.drafts.size > 0;
  return isHeld ? "full" : "on the disk";
}

/** Puts a value on the disk, else into memory; true where it is on the disk. */
async function put<P extends Place>(place: P, key: string, value: Kept[P]["value"]): Promise<boolean> {
  if (!database) await openKept();
  const held = memory[place] as Map<string, Kept[P]["value"]>;
  if (database) {
    try {
      const transaction = database.transaction(place, "readwrite", { durability: "strict" });
      const stored = transaction.store.put(value as never);
      // At once, so that a reload in the same moment finds it.
      transaction.commit();
      await Promise.all([stored, transaction.done]);
      held.delete(key);
      isFull = false;
      return true;
    } catch (error) {
      isFull = error instanceof DOMException && error.name === "QuotaExceededError";
    }
  }
  held.set(key, value);
  return false;
}

async function get<P extends Place>(place: P, key: string): Promise<Kept[P]["value"] | undefined> {
  if (!database) await openKept();
  const held = memory[place].get(key) as Kept[P]["value"] | undefined;
  if (held || !database) return held;
  try {
    return await database.get(place, key);
  } catch {
    return undefined;
  }
}

async function all<P extends Place>(place: P): Promise<Kept[P]["value"][]> {
  if (!database) await openKept();
  const found = new Map<string, Kept[P]["value"]>();
  const nameOf = (value: Kept[P]["value"]): string => ("key" in value ? value.key : value.id);
  try {
    for (const each of (await database?.getAll(place)) ?? []) found.set(nameOf(each), each);
  } catch {
    // what is held in memory is still there
  }
  for (const [key, each] of memory[place]) found.set(key, each as Kept[P]["value"]);
  return [...found.values()];
}

async function forget(place: Place, key: string): Promise<void> {
  memory[place].delete(key);
  try {
    await database?.delete(place, key);
  } catch {
    // a disk that takes nothing keeps the old value; it is sent again, which changes nothing
  }
}

/** Keeps an item; the promise ends when it is on the disk, or in memory where the disk takes nothing. */
export const keepItem = (item: Item): Promise<boolean> => put("outbox", item.id, item);
export const items = async (): Promise<Item[]> => (await all("outbox")).sort((a, b) => a.saved - b.saved);
export const item = (id: string): Promise<Item | undefined> => get("outbox", id);
export const forgetItem = (id: string): Promise<void> => forget("outbox", id);

export async function keepPhoto(content: Blob): Promise<string> {
  const id = randomId();
  await put("photos", id, { id, content: await content.arrayBuffer(), type: content.type });
  return id;
}

export async function photo(id: string): Promise<Blob | null> {
  const kept = await get("photos", id);
  return kept ? new Blob([kept.content], { type: kept.type }) : null;
}

export const forgetPhoto = (id: string): Promise<void> => forget("photos", id);
export const keepTrial = (trial: OpenTrial): Promise<boolean> => put("trials", trial.key, trial);
export const keptTrial = (key: string): Promise<OpenTrial | undefined> => get("trials", key);
export const putDraft = (draft: Draft): Promise<boolean> => put("drafts", draft.id, structuredClone(draft));
export const deleteDraft = (id: string): Promise<void> => forget("drafts", id);
export const allDrafts = (): Promise<Draft[]> => all("drafts");
