/** What a form holds, with every step that led to it: no reload or second tab loses it. */

import { randomId } from "./dom";
import { forgetText, inShapeOf, isTable, keepInMind, remembered, rememberedKeys, rememberedValue } from "./remembered";
import { markSteps, wireSteps } from "./step_keys";
import type { KeptSteps } from "./steps";
import { areSteps, Steps } from "./steps";

const TAB = "woold.tab";
const MOST_KEPT = 8;

type Kept = KeptSteps & { at: number };

export class KeptDraft<T extends object> {
  now: T;
  /** Hears of every change, by hand or by undo. */
  heard: () => void = () => undefined;
  private readonly steps: Steps;
  private readonly key: string;

  /**
   * @param kind of form: each kind is kept apart.
   * @param first what it holds at first.
   * @param replaced is called when something else took its place.
   */
  constructor(
    private readonly kind: string,
    private readonly first: T,
    private readonly replaced: () => void,
  ) {
    const tab = remembered(TAB, "sessionStorage") ?? randomId();
    keepInMind(TAB, tab, "sessionStorage");
    this.key = `woold.${kind}.${tab}`;
    // A new tab goes on from what was in hand last, in whichever tab.
    const kept = readable(this.key) ?? this.latest();
    this.steps = new Steps(kept ?? { past: [], now: JSON.stringify(first), next: [] });
    // What a later version added to the form is there too.
    this.now = inShapeOf(first, JSON.parse(this.steps.now) as object);
    wireSteps(
      () => this.go(this.steps.undo()),
      () => this.go(this.steps.redo()),
    );
    markSteps(this.steps);
  }

  /** Something was typed. */
  changed(): void {
    this.steps.put(JSON.stringify(this.now), Date.now());
    this.keep();
  }

  /** Something else takes its place; undo brings this back. */
  replace(next: Partial<T>): void {
    this.steps.rest();
    this.now = structuredClone({ ...this.now, ...next });
    this.changed();
    this.steps.rest();
    this.replaced();
  }

  /** It is kept elsewhere from here on. */
  forget(): void {
    forgetText(this.key);
  }

  private go(state: string | null): void {
    if (state === null) return;
    this.now = inShapeOf(this.first, JSON.parse(state) as object);
    this.keep();
    this.replaced();
  }

  private keep(): void {
    const kept: Kept = { ...this.steps.all, at: Date.now() };
    if (!keepInMind(this.key, JSON.stringify(kept)))
      keepInMind(this.key, JSON.stringify({ ...kept, past: [], next: [] } satisfies Kept));
    for (const key of this.byAge().slice(MOST_KEPT)) forgetText(key);
    markSteps(this.steps);
    this.heard();
  }

  /** Keys of every tab's, the latest first. */
  private byAge(): string[] {
    const found = rememberedKeys(`woold.${this.kind}.`);
    return found.sort((one, other) => (readable(other)?.at ?? 0) - (readable(one)?.at ?? 0));
  }

  private latest(): Kept | null {
    const [key] = this.byAge();
    return key ? readable(key) : null;
  }
}

function readable(key: string): Kept | null {
  const kept = rememberedValue<Kept | null>(key, null);
  try {
    const now: unknown = kept && areSteps(kept) ? JSON.parse(kept.now) : null;
    return isTable(now) ? kept : null;
  } catch {
    // what cannot be read is not there
    return null;
  }
}
