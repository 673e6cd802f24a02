/** A file of what this phone could not send, which the server and `woold trial import` read. */

import { clockAheadS } from "../api";
import { randomId } from "../dom";
import { stamped, stampOf } from "./clock";
import type { Item } from "./kept";
import { keptTrial, photo } from "./kept";
import type { Draft, EntryBody } from "./model";
import { rowsOf } from "./rows";

interface UnsentEntry {
  id: string;
  trial: string;
  body: Pick<EntryBody, "load" | "widths" | "pulls" | "as_typed" | "reason">;
  typed_by: string;
  typed_at: string | null;
  clock_s: number | null;
  photos: string[];
}

/** The text of the file: entries that wait or were refused, and drafts that somebody has begun. */
export async function unsentFile(all: Item[], drafts: Draft[]): Promise<string> {
  const entries: UnsentEntry[] = [];
  for (const each of all.filter((one) => one.state !== "sent")) {
    entries.push(await entry(each.id, each.draft, each.body, each.saved));
  }
  const done = new Set(entries.map((each) => each.id));
  for (const draft of drafts.filter((one) => !done.has(one.id))) {
    const trial = await keptTrial(draft.trial);
    // Under a name of its own: what is typed on may be sent later, under the draft's.
    if (trial) entries.push(await entry(randomId(), draft, rowsOf(trial, draft).body, draft.touched));
  }
  return JSON.stringify({ schema: "entries-not-sent", entries }, null, 1);
}

async function entry(id: string, draft: Draft, body: EntryBody, at: number): Promise<UnsentEntry> {
  const photos: string[] = [];
  for (const name of draft.photos) {
    const content = await photo(name);
    if (content) photos.push(await base64(content));
  }
  const { load, widths, pulls, as_typed, reason } = body;
  return {
    id,
    trial: draft.trial,
    body: { load, widths, pulls, as_typed, reason },
    typed_by: body.typed_by ?? draft.typed_by ?? "",
    typed_at: stamped(body.typed_at) ?? stampOf(at || Date.now()),
    clock_s: clockAheadS(),
    photos,
  };
}

async function base64(content: Blob): Promise<string> {
  const bytes = new Uint8Array(await content.arrayBuffer());
  let text = "";
  // In pieces: a call takes no more arguments than that.
  for (let start = 0; start < bytes.length; start += 8192)
    text += String.fromCharCode(...bytes.subarray(start, start + 8192));
  return btoa(text);
}
