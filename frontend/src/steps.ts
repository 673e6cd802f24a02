/** Undo and redo: what something was before each change, and what it was before it was undone. */

const MOST_STEPS = 80;
const MOST_LETTERS = 1_500_000;
/** Changes that follow one another sooner are one step: a word typed, a roller dragged [ms]. */
const ONE_STEP_MS = 800;

export interface KeptSteps {
  past: string[];
  now: string;
  next: string[];
}

/** Whether what was kept is steps: text of a form, and of what came before and after it. */
export function areSteps(kept: Partial<KeptSteps> | null): boolean {
  const states = [kept?.past, kept?.next].flatMap((each) => (Array.isArray(each) ? each : [null]));
  return [kept?.now, ...states].every((each) => typeof each === "string");
}

export class Steps {
  private changedAt = Number.NEGATIVE_INFINITY;

  constructor(private kept: KeptSteps) {}

  get now(): string {
    return this.kept.now;
  }

  get canUndo(): boolean {
    return this.kept.past.length > 0;
  }

  get canRedo(): boolean {
    return this.kept.next.length > 0;
  }

  /** What must be kept so that a reload changes nothing. */
  get all(): KeptSteps {
    return this.kept;
  }

  /** It is this now; `at` is when [ms]. */
  put(now: string, at: number): void {
    const { past, now: before } = this.kept;
    if (now === before) return;
    const isOne = at - this.changedAt < ONE_STEP_MS && past.length > 0;
    this.changedAt = at;
    this.kept = { past: isOne ? past : shortened([...past, before]), now, next: [] };
  }

  /** It was this all along: no step. */
  amend(now: string): void {
    this.kept = { ...this.kept, now };
  }

  /** The next change is a step of its own. */
  rest(): void {
    this.changedAt = Number.NEGATIVE_INFINITY;
  }

  undo(): string | null {
    const { past, now, next } = this.kept;
    const before = past.at(-1);
    if (before === undefined) return null;
    this.rest();
    this.kept = { past: past.slice(0, -1), now: before, next: [now, ...next] };
    return before;
  }

  redo(): string | null {
    const { past, now, next } = this.kept;
    const [after, ...rest] = next;
    if (after === undefined) return null;
    this.rest();
    this.kept = { past: [...past, now], now: after, next: rest };
    return after;
  }
}

/** The latest of them, no more than a browser likes to keep. */
function shortened(past: string[]): string[] {
  let letters = 0;
  const kept = [];
  for (const each of past.slice(-MOST_STEPS).reverse()) {
    letters += each.length;
    if (letters > MOST_LETTERS) break;
    kept.unshift(each);
  }
  return kept;
}
