/** Sends kept entries when the server can be reached, again and again until it has them. */

import type { Problem } from "../api";
import { address, problemsOf, proof } from "../api";
import type { KeptPhoto } from "../generated/api";
import type { Item } from "./kept";
import { forgetItem, forgetPhoto, items, keepItem, photo } from "./kept";

export type Reach = "reached" | "out of reach" | "sign in";

const AGAIN_MS = 5_000;
const ANSWER_MS = 20_000;
const SENT_SHOWN = 30;
const channel = "BroadcastChannel" in window ? new BroadcastChannel("woold-outbox") : null;

export class Outbox {
  reach: Reach = "reached";
  private isSending = false;
  private isAsked = false;

  /** `changed` is called whenever something was kept, sent or refused, here or in another tab. */
  constructor(private readonly changed: () => void) {
    channel?.addEventListener("message", () => this.changed());
    addEventListener("online", () => void this.send());
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") void this.send();
    });
    setInterval(() => void this.send(), AGAIN_MS);
  }

  async keep(item: Item): Promise<void> {
    await keepItem(item);
    this.tell();
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
        await this.sendAll();
      } while (this.isAsked);
    } finally {
      this.isSending = false;
    }
    this.changed();
  }

  private async sendAll(): Promise<void> {
    for (const each of await items()) {
      if (each.state !== "waiting") continue;
      const reach = await this.sendOne(each);
      const isNew = this.reach !== reach;
      this.reach = reach;
      if (isNew) this.changed();
      if (reach !== "reached") return;
    }
  }

  private async sendOne(each: Item): Promise<Reach> {
    const photos: string[] = [];
    for (const id of each.draft.photos) {
      const content = await photo(id);
      if (!content) continue;
      const answer = await ask("POST", "/api/photos", content, "application/octet-stream");
      const reach = reachOf(answer);
      if (reach) return reach;
      if (!answer.ok) return this.settle(each, await problemsOf(answer));
      photos.push(((await answer.json()) as KeptPhoto).sha256);
    }
    const path = address("/api/trials/{key}/entries/{id}", { key: each.trial, id: each.id });
    const answer = await ask("PUT", path, JSON.stringify({ ...each.body, photos }), "application/json");
    const reach = reachOf(answer);
    if (reach) return reach;
    return this.settle(each, answer.ok ? null : await problemsOf(answer));
  }

  private async settle(each: Item, problems: Problem[] | null): Promise<Reach> {
    if (problems) await keepItem({ ...each, state: "refused", problems });
    else {
      await keepItem({ ...each, state: "sent", problems: [], sentAt: Date.now() });
      for (const id of each.draft.photos) await forgetPhoto(id);
      const sent = (await items()).filter((one) => one.state === "sent");
      for (const old of sent.slice(0, -SENT_SHOWN)) await forgetItem(old.id);
    }
    this.tell();
    return "reached";
  }

  private tell(): void {
    channel?.postMessage("changed");
    this.changed();
  }
}

async function ask(method: string, path: string, body: BodyInit, type: string): Promise<Response> {
  const headers = { "content-type": type, accept: "application/json", ...proof() };
  try {
    return await fetch(path, { method, body, headers, signal: AbortSignal.timeout(ANSWER_MS) });
  } catch {
    return Response.error();
  }
}

/** Why an answer means "later"; null where the server has judged. */
function reachOf(answer: Response): Reach | null {
  if (answer.type === "error" || answer.status >= 500 || answer.status === 429) return "out of reach";
  return answer.status === 401 ? "sign in" : null;
}
