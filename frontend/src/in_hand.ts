/** The case in hand, with every step that led to it: no reload, crash or second tab loses it. */

import { randomId } from "./dom";
import type { Table } from "./draft";
import type { FormFields } from "./generated/api";
import { forgetText, isTable, keepInMind, remembered, rememberedKeys, rememberedValue } from "./remembered";
import { markSteps, wireSteps } from "./step_keys";
import type { KeptSteps } from "./steps";
import { areSteps, Steps } from "./steps";

/** Where the case is kept on the server, and whether it is kept there as it is. */
export interface Saved {
  id: string | null;
  revision: number | null;
  isSaved: boolean;
}

/** Steps of a tab, and when it last kept them [ms]. */
type Kept = KeptSteps & { at: number };

interface State extends Saved {
  case: Table;
  /** Carriage that it is compared with. */
  candidate: Table | null;
}

const TAB = "woold.tab";
const KEPT = "woold.case.";
const MOST_KEPT = 12;

export class InHand {
  readonly case: Table = {};
  candidate: Table | null = null;
  id: string | null = null;
  revision: number | null = null;
  isSaved = true;
  private readonly steps: Steps;
  private tab = tabOf();
  private readonly listeners: (() => void)[] = [];

  constructor(example: FormFields["example"]) {
    // A new tab goes on from what was in hand last, in whichever tab.
    const kept = keptSteps(KEPT + this.tab) ?? byAge()[0]?.kept;
    const first: State = { case: example as Table, candidate: null, id: null, revision: null, isSaved: true };
    this.steps = new Steps(kept ?? { past: [], now: JSON.stringify(first), next: [] });
    this.fill(this.steps.now);
    this.keep();
    forgetOthers(this.tab, MOST_KEPT);
    window.addEventListener("storage", (event) => {
      // A tab that was copied from this one has its name: from here on, each has its own.
      if (event.key !== KEPT + this.tab || event.newValue === null) return;
      this.tab = randomId();
      keepInMind(TAB, this.tab, "sessionStorage");
      this.keep();
    });
  }

  /** Calls whoever shows the case, once another one was put in its place. */
  whenReplaced(listener: () => void): void {
    this.listeners.push(listener);
  }

  /** The case was changed by hand. */
  changed(): void {
    this.isSaved = false;
    this.step();
  }

  /** The case is compared with this carriage, since a page began with it or it was changed there. */
  compare(candidate: Table): void {
    const isFirst = this.candidate === null;
    this.candidate = structuredClone(candidate);
    if (isFirst) this.steps.amend(this.state());
    this.step();
  }

  /** Another case takes its place; undo brings this one back. */
  replace(table: Table, saved: Saved): void {
    this.steps.rest();
    this.put({ ...saved, case: table, candidate: this.candidate });
    this.step();
    this.steps.rest();
    this.tell();
  }

  /** The server keeps it as it is. */
  saved(id: string, revision: number): void {
    Object.assign(this, { id, revision, isSaved: true });
    this.step();
  }

  /** It is in a file as it is: a case that is not on the server needs no more. */
  downloaded(): void {
    if (this.id !== null) return;
    this.isSaved = true;
    this.step();
  }

  undo(): void {
    this.go(this.steps.undo());
  }

  redo(): void {
    this.go(this.steps.redo());
  }

  /** Two buttons, and the keys that every program has for them. */
  wire(): void {
    wireSteps(
      () => this.undo(),
      () => this.redo(),
    );
    this.mark();
  }

  private go(state: string | null): void {
    if (state === null) return;
    const field = document.activeElement?.closest<HTMLElement>("[data-field]")?.dataset.field;
    this.fill(state);
    this.keep();
    this.tell();
    if (!field) return;
    const row = document.querySelector(`[data-field="${CSS.escape(field)}"]`);
    row?.querySelector<HTMLElement>("input, select, textarea")?.focus({ preventScroll: true });
  }

  private step(): void {
    this.steps.put(this.state(), Date.now());
    this.keep();
  }

  private state(): string {
    const { candidate, id, revision, isSaved } = this;
    return JSON.stringify({ case: this.case, candidate, id, revision, isSaved } satisfies State);
  }

  private fill(state: string): void {
    this.put(JSON.parse(state) as State);
  }

  /** In place: panels of the page hold on to the case. */
  private put(state: State): void {
    for (const name of Object.keys(this.case)) delete this.case[name];
    Object.assign(this.case, structuredClone(state.case));
    this.candidate = structuredClone(state.candidate);
    this.id = state.id;
    this.revision = state.revision;
    this.isSaved = state.isSaved;
  }

  private tell(): void {
    for (const each of this.listeners) each();
  }

  private keep(): void {
    const key = KEPT + this.tab;
    const kept: Kept = { ...this.steps.all, at: Date.now() };
    if (!keepInMind(key, JSON.stringify(kept))) {
      // Full: cases of other tabs make room, then the steps of this one.
      forgetOthers(this.tab, 0);
      const alone: Kept = { ...kept, past: [], next: [] };
      keepInMind(key, JSON.stringify(kept)) || keepInMind(key, JSON.stringify(alone));
    }
    this.mark();
  }

  private mark(): void {
    markSteps(this.steps);
  }
}

function tabOf(): string {
  const name = remembered(TAB, "sessionStorage") ?? randomId();
  keepInMind(TAB, name, "sessionStorage");
  return name;
}

function keptSteps(key: string): Kept | null {
  const kept = rememberedValue<Kept | null>(key, null);
  try {
    if (kept && areSteps(kept) && isTable((JSON.parse(kept.now) as State | null)?.case)) return kept;
  } catch {
    // what cannot be read is not there
  }
  return null;
}

/** What every tab has in hand, the latest first. */
function byAge(): { key: string; kept: Kept }[] {
  const found = rememberedKeys(KEPT).flatMap((key) => {
    const kept = keptSteps(key);
    return kept ? [{ key, kept }] : [];
  });
  return found.sort((one, other) => other.kept.at - one.kept.at);
}

function forgetOthers(tab: string, most: number): void {
  const others = byAge().filter((each) => each.key !== KEPT + tab);
  for (const { key } of others.slice(most)) forgetText(key);
}

/** The case that was in hand last on a page of the workbench; null where there was none yet. */
export function handOfTab(): Table | null {
  const tab = remembered(TAB, "sessionStorage");
  const kept = (tab && keptSteps(KEPT + tab)) || byAge()[0]?.kept;
  return kept ? (JSON.parse(kept.now) as State).case : null;
}
