/** The phone form for one wrapped load. */

import { ask, clockAheadS, Refused, reason, sentence } from "../api";
import { byId, download, el, randomId } from "../dom";
import { foretoldOfTrial } from "../foretold";
import type { Me, OpenTrial } from "../generated/api";
import { takeFiles } from "../given_files";
import { keepInMind, rememberedValue } from "../remembered";
import { settles } from "../settled";
import { clockWords, stampOf } from "../trial/clock";
import {
  drafts,
  draftsOfAll,
  dropDraft,
  heldElsewhere,
  holdDraft,
  isUsed,
  keepDraft,
  myDraft,
  newDraft,
  restoreDrafts,
  whenOthersChange,
} from "../trial/drafts";
import { EntryForm } from "../trial/entry_form";
import type { Item } from "../trial/kept";
import { forgetPhoto, items, keeping, keepPhoto, keepTrial, keptTrial, openKept, photo } from "../trial/kept";
import type { Draft } from "../trial/model";
import { prepareOffline, showOffline } from "../trial/offline";
import { Outbox } from "../trial/outbox";
import { keptList, refusedList, shortNumber, stateLine } from "../trial/outbox_view";
import { givenCells, prepare, remember } from "../trial/preparing";
import { rowsOf } from "../trial/rows";
import { isPicture, shrunk } from "../trial/shrinking";
import { setTypist, typist, typistChoice } from "../trial/typist";
import { unsentFile } from "../trial/unsent_file";
import { wired } from "../wired";
import { say } from "../words";

const key = decodeURIComponent(location.pathname.split("/")[2] ?? "");
const ME = "woold.me";
const OFF_S = 120;
/** Address of a form that takes a refused entry of its trial back: "#open=ID". */
const OPEN = "#open=";

class FormPage {
  private trial!: OpenTrial;
  private draft!: Draft;
  private form!: EntryForm;
  private outbox!: Outbox;
  private all: Item[] = [];
  private readonly trials = new Map<string, OpenTrial>();
  private isSaving = false;

  async open(): Promise<void> {
    await openKept();
    const trial = await newestTrial();
    byId<HTMLButtonElement>("save").disabled = !trial;
    if (!trial) return;
    this.trial = trial;
    this.trials.set(trial.key, trial);
    await this.learnWhoAsks();
    byId("typist-place").replaceChildren(typistChoice((name) => this.typedBy(name)));
    byId("trial-title").textContent = trial.title || trial.key;
    this.outbox = new Outbox(() => void this.refresh());
    this.all = await items();
    await restoreDrafts();
    for (const each of this.all) dropDraft(each.draft);
    whenOthersChange(() => void this.showOthers());
    const kept = await myDraft(key);
    if (kept) this.show(kept);
    else this.next();
    byId("save").addEventListener("click", () => void this.save());
    byId<HTMLInputElement>("photo").addEventListener(
      "change",
      (event) => void this.addPhoto(event.target as HTMLInputElement),
    );
    byId("send-now").addEventListener("click", () => void this.outbox.send());
    byId("save-file").addEventListener("click", () => void this.saveFile());
    addEventListener("hashchange", () => void this.openAsked());
    foretoldOfTrial(key);
    wired();
    await this.refresh();
    await this.openAsked();
    void this.outbox.send();
    void prepareOffline(showOffline);
  }

  /** Who is signed in, and whether they may write: as last known where the server is out of reach. */
  private async learnWhoAsks(): Promise<void> {
    let me = rememberedValue<Me | null>(ME, null);
    try {
      me = await ask("get", "/api/me");
      keepInMind(ME, JSON.stringify(me));
    } catch {
      // out of reach: as last known
    }
    if (!typist() && me?.signs_in) setTypist(me.name);
    const mayNot = me !== null && me.role === "view";
    byId("may-not").hidden = !mayNot;
    byId<HTMLButtonElement>("save").disabled = mayNot;
  }

  private typedBy(name: string): void {
    this.draft.typed_by = name;
    this.typed();
  }

  /** Opens the refused entry that another trial's form sent here. */
  private async openAsked(): Promise<void> {
    if (!location.hash.startsWith(OPEN)) return;
    const id = decodeURIComponent(location.hash.slice(OPEN.length));
    history.replaceState(null, "", location.pathname);
    const asked = this.all.find((each) => each.id === id && each.trial === key && each.state === "refused");
    if (asked) await this.mend(asked);
  }

  private async saveFile(): Promise<void> {
    const given = givenCells(this.trial);
    const begun = draftsOfAll().filter((each) => isUsed(each, given));
    download("woold-not-sent.json", await unsentFile(this.all, begun), "application/json");
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
    const draft = newDraft(key, typist());
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
      (load) => this.isOnRecord(load),
    );
    byId("form-place").replaceChildren(this.form.element);
    this.nameButton();
    void this.showOthers();
    void this.showPhotos();
  }

  private typed(): void {
    void keepDraft(this.draft).then((isKept) => {
      byId("typed-state").textContent = isKept ? say("Kept on this phone as you type.") : "";
      this.showKeeping();
    });
    this.nameButton();
  }

  /** What to do where the browser keeps nothing, or no more. */
  private showKeeping(): void {
    const line = byId("keeping");
    line.textContent = {
      "on the disk": "",
      full: say(
        "This phone's memory is full. What you type stands on this page only: send it, or save it to a file below, before you close the page. Delete photos or apps to make room.",
      ),
      denied: say(
        "This browser keeps nothing, perhaps because the window is private. What you type stands on this page only: send it, or save it to a file below, before you close the page.",
      ),
    }[keeping()];
    line.hidden = !line.textContent;
  }

  private isOnRecord(load: string): boolean {
    return (
      this.trial.wrapped.includes(load) ||
      this.all.some(
        (each) => each.trial === key && (each.state === "sent" || each.state === "photos") && each.load === load,
      )
    );
  }

  private nameButton(): void {
    byId("save").textContent = say("Save load {load}", {
      load: shortNumber(this.draft.cells["load.load"] ?? ""),
    }).trim();
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
      // The form said that it is added to the load on record.
      if (this.isOnRecord(load)) body.as_typed = [...new Set([...body.as_typed, "load.load"])];
      body.typed_by = this.draft.typed_by ?? typist();
      body.typed_at = stampOf(this.draft.touched || Date.now());
      const item: Item = {
        id: this.draft.id,
        trial: this.draft.trial,
        load,
        state: "waiting",
        body,
        draft: this.draft,
        saved: Date.now(),
        problems: [],
        sentAt: null,
      };
      const isKept = await this.outbox.keep(item);
      remember(this.draft);
      dropDraft(this.draft);
      this.all = await items();
      this.draw();
      this.next();
      scrollTo({ top: 0 });
      byId("saved-note").textContent = isKept
        ? say("Load {load} is saved.", { load: shortNumber(load) })
        : say("Load {load} stands on this page only until it is sent.", { load: shortNumber(load) });
      this.showKeeping();
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
    for (const of of new Set(this.all.map((each) => each.trial))) {
      const kept = this.trials.has(of) ? undefined : await keptTrial(of);
      if (kept) this.trials.set(of, kept);
    }
    this.draw();
  }

  private draw(): void {
    this.showKeeping();
    this.showClock();
    const isUnsent = this.all.some((each) => each.state !== "sent");
    byId("send-now").hidden = !this.all.some((each) => each.state === "waiting" || each.state === "photos");
    byId("save-file").hidden = !isUnsent && keeping() === "on the disk";
    const line = stateLine(this.all, this.outbox);
    byId("sync").replaceWith(line);
    byId("outbox-place").replaceChildren(keptList(this.all, this.trials, key));
    byId("outbox-head").hidden = this.all.every((each) => each.state === "refused");
    const place = byId("refused-place");
    // A reason that is being typed must not be swept away by news from the network.
    if (place.contains(document.activeElement) && document.activeElement?.tagName === "INPUT") return;
    place.replaceChildren(refusedList(this.all, this.trials, this.outbox, { mend: (item) => void this.mend(item) }));
  }

  private showClock(): void {
    const ahead = clockAheadS();
    const line = byId("clock");
    line.hidden = ahead === null || Math.abs(ahead) < OFF_S;
    if (ahead === null || line.hidden) return;
    line.textContent = clockWords(ahead);
  }

  /** Takes a refused item back into the form, under a new id where its own is used up. */
  private async mend(item: Item): Promise<void> {
    if (item.trial !== key) {
      // A load belongs to its trial for ever: it is opened in that one's form.
      location.assign(`/trials/${encodeURIComponent(item.trial)}/form${OPEN}${encodeURIComponent(item.id)}`);
      return;
    }
    const draft = { ...item.draft, as_typed: [] };
    if (item.problems.some((problem) => problem.field === "id")) draft.id = randomId();
    if (!isUsed(this.draft, givenCells(this.trial))) dropDraft(this.draft);
    await keepDraft(draft);
    await this.outbox.release(item);
    this.all = await items();
    this.show(draft);
    const { places } = rowsOf(this.trial, draft);
    const placeOf = (field: string): string | undefined => places.get(field.replace(/^(width|pull)s\[/, "$1["));
    for (const problem of item.problems) {
      const place = placeOf(problem.field);
      if (place) this.form.refuse(place, sentence(problem));
    }
    const first = item.problems.map(({ field }) => placeOf(field)).find(Boolean);
    if (first) this.form.focus(first);
    else scrollTo({ top: 0 });
  }

  private async showOthers(): Promise<void> {
    const elsewhere = await heldElsewhere();
    const place = byId("others");
    const others = drafts(key).filter((each) => each.id !== this.draft.id && isUsed(each, givenCells(this.trial)));
    place.replaceChildren(
      ...others.map((each) => {
        const load = shortNumber(each.cells["load.load"] ?? "");
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
    const none: string[] = [];
    for (const file of input.files ?? []) {
      try {
        const photo = await shrunk(file);
        if (!(await isPicture(photo))) {
          none.push(file.name);
          continue;
        }
        this.draft.photos.push(await keepPhoto(photo));
        await keepDraft(this.draft);
        this.showKeeping();
      } catch (error) {
        byId("typed-state").textContent = say("The photo could not be kept: {reason}", { reason: reason(error) });
      }
    }
    input.value = "";
    if (none.length)
      byId("typed-state").textContent = say("Not kept, since it is no JPEG, PNG or WebP picture: {names}.", {
        names: none.join(", "),
      });
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

takeFiles();
const opened = new FormPage().open();
settles(opened);
opened.then(wired, (error: unknown) => {
  const line = byId("page-error");
  line.textContent = reason(error);
  line.hidden = false;
});
