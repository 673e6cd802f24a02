/**
 * Sends kept entries when the server can be reached, again and again until it has them: numbers first,
 * photos afterwards in pieces, and one that is stuck holds up no other.
 */

import type { Problem } from "../api";
import { address, noteClock, problemsOf, proof } from "../api";
import type { KeptPhoto, Upload } from "../generated/api";
import { stamped, stampOf } from "./clock";
import type { Item } from "./kept";
import { forgetItem, forgetPhoto, items, keepItem, photo } from "./kept";

export type Reach = "reached" | "out of reach" | "sign in" | "not allowed" | "keeps nothing";

const AGAIN_MS = 5_000;
/** Numbers are a few kilobytes; a piece of a photo grows and shrinks with the link. */
const ANSWER_MS = 30_000;
const SENT_SHOWN = 30;
const FIRST_PIECE = 64_000;
const LEAST_PIECE = 8_000;
const LARGEST_PIECE = 512_000;
const QUICK_MS = 2_000;
/** Entries that fail one after another before the server is taken to be out of reach. */
const FAILURES = 2;
const channel = "BroadcastChannel" in window ? new BroadcastChannel("woold-outbox") : null;

export class Outbox {
  reach: Reach = "reached";
  /** What the server says of why it keeps nothing. */
  why: Problem[] = [];
  /** Photos that are on their way: bytes sent of bytes. */
  progress: { sent: number; size: number } | null = null;
  private isSending = false;
  private isAsked = false;
  private piece = FIRST_PIECE;
  private readonly failed = new Set<string>();

  /** `changed` is called whenever something was kept, sent or refused, here or in another tab. */
  constructor(private readonly changed: () => void) {
    channel?.addEventListener("message", () => this.changed());
    addEventListener("online", () => void this.send());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void this.send();
    });
    setInterval(() => void this.send(), AGAIN_MS);
  }

  /** Keeps an entry; false where it stands in this page only. */
  async keep(item: Item): Promise<boolean> {
    const isKept = await keepItem(item);
    this.tell();
    return isKept;
  }

  /** Takes an entry out whose draft, photos and all, goes back into the form. */
  async release(item: Item): Promise<void> {
    await forgetItem(item.id);
    this.tell();
  }

  /** Sends what waits, in the order in which it was saved. */
  async send(): Promise<void> {
    if (this.isSending) {
      this.isAsked = true;
      return;
    }
    this.isSending = true;
    try {
      do {
        this.isAsked = false;
        await withLock(() => this.sendAll());
      } while (this.isAsked);
    } finally {
      this.isSending = false;
      this.progress = null;
    }
    this.changed();
  }

  private async sendAll(): Promise<void> {
    let failures = 0;
    let worst: Reach = "reached";
    const waiting = (await items()).filter((each) => each.state === "waiting");
    // Whatever did not get through last time goes last: it may be stuck, and holds up no other.
    const late = waiting.filter((each) => this.failed.has(each.id));
    for (const each of [...waiting.filter((one) => !this.failed.has(one.id)), ...late]) {
      const reach = await this.sendNumbers(each);
      if (reach === "reached") {
        this.failed.delete(each.id);
        failures = 0;
        continue;
      }
      this.failed.add(each.id);
      worst = reach;
      failures += 1;
      // Without a session or a role nothing else gets through either.
      if (failures >= FAILURES || reach === "sign in" || reach === "not allowed") {
        this.setReach(reach);
        return;
      }
    }
    this.setReach(worst);
    for (const each of await items()) {
      if (each.state !== "photos") continue;
      const reach = await this.sendPhotos(each);
      if (reach) this.setReach(reach);
      // Numbers that were saved meanwhile go first.
      if (this.isAsked || (reach && reach !== "reached")) return;
    }
  }

  private setReach(reach: Reach): void {
    const isNew = this.reach !== reach;
    this.reach = reach;
    if (isNew) this.changed();
  }

  private async sendNumbers(each: Item): Promise<Reach> {
    const path = address("/api/trials/{key}/entries/{id}", { key: each.trial, id: each.id });
    const body = { ...each.body, typed_at: stamped(each.body.typed_at), sent_at: stampOf(Date.now()) };
    const answer = await ask("PUT", path, JSON.stringify(body), "application/json");
    const reach = await this.reachOf(answer);
    if (reach) return reach;
    return this.settle(each, answer.ok ? null : await problemsOf(answer));
  }

  private async settle(each: Item, problems: Problem[] | null): Promise<Reach> {
    if (problems) await keepItem({ ...each, state: "refused", problems });
    else if (each.draft.photos.length > (each.sentPhotos?.length ?? 0))
      await keepItem({ ...each, state: "photos", problems: [], isOnRecord: true });
    else {
      await keepItem({ ...each, state: "sent", problems: [], sentAt: Date.now() });
      for (const id of each.draft.photos) await forgetPhoto(id);
      const sent = (await items()).filter((one) => one.state === "sent");
      for (const old of sent.slice(0, -SENT_SHOWN)) await forgetItem(old.id);
    }
    this.tell();
    return "reached";
  }

  /** Sends an entry's photos, and says whose they are; null where it went on as far as it could. */
  private async sendPhotos(each: Item): Promise<Reach | null> {
    const sent = [...(each.sentPhotos ?? [])];
    for (const id of each.draft.photos.slice(sent.length)) {
      const content = await photo(id);
      if (!content) {
        // It is gone from this phone: what is there is sent all the same.
        sent.push("");
        continue;
      }
      const found = await this.upload(id, content);
      if (typeof found !== "string") {
        if (found.reach) return found.reach;
        if (found.problems) return this.settle({ ...each, sentPhotos: sent }, found.problems);
        return null;
      }
      sent.push(found);
      await keepItem({ ...each, sentPhotos: [...sent] });
      if (this.isAsked) return null;
    }
    const names = sent.filter(Boolean);
    if (names.length) {
      const path = address("/api/trials/{key}/photos", { key: each.trial });
      const { typed_by } = each.body;
      const times = { typed_at: stamped(each.body.typed_at), sent_at: stampOf(Date.now()) };
      const body = { load: each.load, photos: names, typed_by, ...times };
      const answer = await ask("PUT", path, JSON.stringify(body), "application/json");
      const reach = await this.reachOf(answer);
      if (reach) return reach;
      if (!answer.ok) return this.settle({ ...each, sentPhotos: sent }, await problemsOf(answer));
    }
    return this.settle({ ...each, sentPhotos: sent }, null);
  }

  /** Sends one photo in pieces, from where it stopped; its name with the server, or why not. */
  private async upload(id: string, content: Blob): Promise<string | { reach?: Reach; problems?: Problem[] }> {
    const path = (rest: string): string => `/api/photos/uploads/${encodeURIComponent(id)}${rest}`;
    const begun = await ask("GET", path(""), null, "");
    const reach = await this.reachOf(begun);
    if (reach) return { reach };
    if (!begun.ok) return { problems: await problemsOf(begun) };
    let { received } = (await begun.json()) as Upload;
    while (received < content.size) {
      const start = performance.now();
      const part = content.slice(received, received + this.piece);
      const answer = await ask("PUT", path(`/${received}`), part, "application/octet-stream");
      const failed = await this.reachOf(answer);
      if (failed === "out of reach" && this.piece > LEAST_PIECE) {
        // Perhaps only too slow for so large a piece.
        this.piece = Math.max(LEAST_PIECE, Math.round(this.piece / 4));
        if (await isThere()) continue;
      }
      if (failed) return { reach: failed };
      if (!answer.ok) return { problems: await problemsOf(answer) };
      received = ((await answer.json()) as Upload).received;
      if (performance.now() - start < QUICK_MS) this.piece = Math.min(LARGEST_PIECE, this.piece * 2);
      this.progress = { sent: received, size: content.size };
      this.setReach("reached");
      this.changed();
      if (this.isAsked) return {};
    }
    const answer = await ask("POST", path(`/${content.size}/end`), null, "");
    const failed = await this.reachOf(answer);
    if (failed) return { reach: failed };
    if (answer.status === 409) return {};
    if (!answer.ok) return { problems: await problemsOf(answer) };
    return ((await answer.json()) as KeptPhoto).sha256;
  }

  /** Why an answer means "later"; null where the server has judged. */
  private async reachOf(answer: Response): Promise<Reach | null> {
    if (answer.type === "error") return "out of reach";
    if (answer.status === 401) return "sign in";
    if (answer.status === 403) return "not allowed";
    if (answer.status >= 500 || answer.status === 429 || answer.status === 408) {
      this.why = answer.status === 502 || answer.status === 504 ? [] : await problemsOf(answer);
      return this.why.length ? "keeps nothing" : "out of reach";
    }
    return null;
  }

  private tell(): void {
    channel?.postMessage("changed");
    this.changed();
  }
}

/** One tab sends at a time, where the browser can tell them apart. */
async function withLock(action: () => Promise<void>): Promise<void> {
  if (!("locks" in navigator)) return action();
  await navigator.locks.request("woold-sending", { ifAvailable: true }, async (lock) => {
    if (lock) await action();
  });
}

async function isThere(): Promise<boolean> {
  return (await ask("GET", "/health", null, "")).type !== "error";
}

async function ask(method: string, path: string, body: BodyInit | null, type: string): Promise<Response> {
  const headers: Record<string, string> = { accept: "application/json", ...proof() };
  if (type) headers["content-type"] = type;
  try {
    const answer = await fetch(path, { method, body, headers, signal: AbortSignal.timeout(ANSWER_MS) });
    noteClock(answer);
    return answer;
  } catch {
    return Response.error();
  }
}
