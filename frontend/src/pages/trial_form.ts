/** The phone form for one wrapped load. */

import { ask, Refused, reason, sentence } from "../api";
import { byId, el, randomId } from "../dom";
import type { OpenTrial } from "../generated/api";
import {
  drafts,
  dropDraft,
  heldElsewhere,
  holdDraft,
  isUsed,
  keepDraft,
  myDraft,
  newDraft,
  restoreDrafts,
} from "../trial/drafts";
import { EntryForm } from "../trial/entry_form";
import type { Item } from "../trial/kept";
import { forgetPhoto, items, keepPhoto, keepTrial, keptTrial, photo } from "../trial/kept";
import type { Draft } from "../trial/model";
import type { Offline } from "../trial/offline";
import { prepareOffline } from "../trial/offline";
import { Outbox } from "../trial/outbox";
import { keptList, refusedList, stateLine } from "../trial/outbox_view";
import { givenCells, prepare, remember } from "../trial/preparing";
import { rowsOf } from "../trial/rows";
import { say } from "../words";

const key = decodeURIComponent(location.pathname.split("/")[2] ?? "");

class FormPage {
  private trial!: OpenTrial;
  private draft!: Draft;
  private form!: EntryForm;
  private outbox!: Outbox;
  private all: Item[] = [];
  private isSaving = false;

  async open(): Promise<void> {
    const trial = await newestTrial();
    if (!trial) return;
    this.trial = trial;
    byId("trial-title").textContent = trial.title || trial.key;
    this.outbox = new Outbox(() => void this.refresh());
    this.all = await items();
    await restoreDrafts();
    for (const each of this.all) dropDraft(each.draft);
    const kept = await myDraft(key);
    if (kept) this.show(kept);
    else this.next();
    byId("save").addEventListener("click", () => void this.save());
    byId<HTMLInputElement>("photo").addEventListener(
      "change",
      (event) => void this.addPhoto(event.target as HTMLInputElement),
    );
    addEventListener("storage", () => void this.showOthers());
    await this.refresh();
    void this.outbox.send();
    void prepareOffline(showOffline);
  }

  /** Loads that are on record, wait to be sent, or are being typed elsewhere on this phone. */
  private taken(): Set<string> {
    const typed = drafts(key).map((each) => each.cells["load.load"] ?? "");
    const sent = this.all.filter((each) => each.trial === key).map((each) => each.load);
    return new Set([...this.trial.wrapped, ...sent, ...typed]);
  }

  private next(): void {
    const taken = this.taken();
    const planned = this.trial.order.find((each) => !taken.has(String(each.number)));
    const draft = newDraft(key);
    prepare(this.trial, draft, planned ? String(planned.number) : "");
    void keepDraft(draft);
    this.show(draft);
  }

  private show(draft: Draft): void {
    this.draft = draft;
    holdDraft(draft);
    this.form = new EntryForm(
      this.trial,
      draft,
      () => this.typed(),
      (load) =>
        this.trial.wrapped.includes(load) ||
        this.all.some((each) => each.trial === key && each.state === "sent" && each.load === load),
    );
    byId("form-place").replaceChildren(this.form.element);
    this.nameButton();
    void this.showOthers();
    void this.showPhotos();
  }

  private typed(): void {
    const tell = (words: string): void => {
      byId("typed-state").textContent = words;
    };
    const full = say("This phone's memory for pages is full: what you type is not kept until you save.");
    try {
      keepDraft(this.draft).then(
        () => tell(say("Kept on this phone as you type.")),
        () => tell(full),
      );
    } catch {
      tell(full);
    }
    this.nameButton();
  }

  private nameButton(): void {
    byId("save").textContent = say("Save load {load}", { load: this.draft.cells["load.load"] ?? "" }).trim();
  }

  /** A double tap saves once: the entry's id was made when the draft was begun. */
  private async save(): Promise<void> {
    if (this.isSaving) return;
    const note = byId("save-note");
    note.hidden = true;
    const load = (this.draft.cells["load.load"] ?? "").trim();
    const complaint = !load
      ? say("Which load is it? Give its number.")
      : isUsed(this.draft, givenCells(this.trial))
        ? ""
        : say("Nothing was measured yet.");
    if (complaint) {
      note.textContent = complaint;
      note.hidden = false;
      if (!load) this.form.focus("load.load");
      return;
    }
    this.isSaving = true;
    try {
      const { body } = rowsOf(this.trial, this.draft);
      const item: Item = {
        id: this.draft.id,
        trial: key,
        load,
        state: "waiting",
        body,
        draft: this.draft,
        saved: Date.now(),
        problems: [],
        sentAt: null,
      };
      await this.outbox.keep(item);
      remember(this.draft);
      dropDraft(this.draft);
      this.all = await items();
      this.draw();
      this.next();
      scrollTo({ top: 0 });
      byId("saved-note").textContent = say("Load {load} is saved.", { load });
      void this.outbox.send();
    } catch (error) {
      note.textContent = say("Not saved: {reason} What you typed is still here.", { reason: reason(error) });
      note.hidden = false;
    } finally {
      this.isSaving = false;
    }
  }

  private async refresh(): Promise<void> {
    this.all = await items();
    this.draw();
  }

  private draw(): void {
    const line = stateLine(this.all, this.outbox);
    byId("sync").replaceWith(line);
    byId("outbox-place").replaceChildren(keptList(this.all));
    byId("outbox-head").hidden = this.all.every((each) => each.state === "refused");
    const place = byId("refused-place");
    // A reason that is being typed must not be swept away by news from the network.
    if (place.contains(document.activeElement) && document.activeElement?.tagName === "INPUT") return;
    place.replaceChildren(refusedList(this.all, this.trial, this.outbox, { mend: (item) => void this.mend(item) }));
  }

  /** Takes a refused item back into the form, under a new id where its own is used up. */
  private async mend(item: Item): Promise<void> {
    const draft = { ...item.draft, as_typed: [], trial: item.trial };
    if (item.problems.some((problem) => problem.field === "id")) draft.id = randomId();
    if (!isUsed(this.draft, givenCells(this.trial))) dropDraft(this.draft);
    await keepDraft(draft);
    await this.outbox.release(item);
    this.all = await items();
    this.show(draft);
    const { places } = rowsOf(this.trial, draft);
    for (const problem of item.problems) {
      const place = places.get(problem.field);
      if (place) this.form.refuse(place, sentence(problem));
    }
    const first = item.problems.map((problem) => places.get(problem.field)).find(Boolean);
    if (first) this.form.focus(first);
    else scrollTo({ top: 0 });
  }

  private async showOthers(): Promise<void> {
    const elsewhere = await heldElsewhere();
    const place = byId("others");
    const others = drafts(key).filter((each) => each.id !== this.draft.id && isUsed(each, givenCells(this.trial)));
    place.replaceChildren(
      ...others.map((each) => {
        const load = each.cells["load.load"] ?? "";
        const name = load ? say("Load {load}, not finished", { load }) : say("A load without a number, not finished");
        if (elsewhere.has(each.id)) return el("p", { class: "caution" }, say("{name}: open in another tab.", { name }));
        const go = el("button", { type: "button", click: () => this.show(each) }, say("Go on"));
        const drop = el("button", { type: "button" }, say("Throw away"));
        drop.addEventListener("click", () => {
          if (!confirm(say("Throw away what was typed for load {load}?", { load }))) return;
          dropDraft(each);
          void this.showOthers();
        });
        return el("div", { class: "caution" }, el("p", {}, name), el("div", { class: "choices" }, go, drop));
      }),
    );
  }

  private async addPhoto(input: HTMLInputElement): Promise<void> {
    for (const file of input.files ?? []) {
      try {
        this.draft.photos.push(await keepPhoto(file));
        await keepDraft(this.draft);
      } catch (error) {
        byId("typed-state").textContent = say("The photo could not be kept: {reason}", { reason: reason(error) });
      }
    }
    input.value = "";
    await this.showPhotos();
  }

  private async showPhotos(): Promise<void> {
    const place = byId("photos");
    const { id, photos } = this.draft;
    const shown: HTMLElement[] = [];
    for (const each of photos) {
      const content = await photo(each);
      if (!content) continue;
      const picture = el("img", { src: URL.createObjectURL(content), alt: say("photo of the load") });
      picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
      const drop = el("button", { type: "button", "aria-label": say("take this photo out") }, say("Take out"));
      drop.addEventListener("click", () => {
        this.draft.photos = this.draft.photos.filter((one) => one !== each);
        void keepDraft(this.draft);
        void forgetPhoto(each).then(() => this.showPhotos());
      });
      shown.push(el("figure", {}, picture, drop));
    }
    if (this.draft.id === id) place.replaceChildren(...shown);
  }
}

/** The trial as the server has it; as last seen where it cannot be reached. */
async function newestTrial(): Promise<OpenTrial | null> {
  const note = byId("trial-note");
  try {
    const trial = await ask("get", "/api/trials/{key}", { path: { key } });
    await keepTrial(trial);
    return trial;
  } catch (error) {
    const kept = await keptTrial(key);
    if (error instanceof Refused && error.status !== 0 && error.status < 500 && error.status !== 401) {
      note.textContent = reason(error);
      note.hidden = false;
      return null;
    }
    // One that was kept by an earlier version lacks what this form is made of.
    if (kept && "groups" in kept) return kept;
    note.textContent = say("The server is out of reach, and this phone has not opened this trial before.");
    note.hidden = false;
    return null;
  }
}

function showOffline(state: Offline): void {
  const line = byId("offline");
  line.textContent = {
    ready: say("This form also opens while the server is out of reach."),
    preparing: say("Getting ready for work out of reach …"),
    "no https": say(
      "This address is plain http: what you type and save is kept on this phone, but the form cannot be opened anew while the server is out of reach. Keep this page open, or ask for the https address (docs/server.md).",
    ),
    "not offered": say(
      "This browser cannot open the form while the server is out of reach. Keep this page open; what you type and save is kept.",
    ),
  }[state];
  line.className = state === "no https" || state === "not offered" ? "caution" : "quiet-words";
}

new FormPage().open().catch((error: unknown) => {
  const line = byId("page-error");
  line.textContent = reason(error);
  line.hidden = false;
});
