/** Asks the server anew after each change, and never lets an old answer look like a new one. */

import type { Problem } from "./api";
import { isAbort, isOutOfReach, Refused } from "./api";
import { say } from "./words";

const LONGEST_WAIT_MS = 15_000;
/** Numbers follow a key at once; what cannot be is told once nothing was typed for so long. */
const CALM_MS = 350;

export type State = "asking" | "fresh" | "stale";

/** What a panel says of its answer. */
export function stateWords(state: State): string {
  return { fresh: say("Up to date"), asking: say("Calculating …"), stale: say("Cannot be; what is shown is older") }[
    state
  ];
}

export class Live<Answer> {
  private asking: AbortController | null = null;
  private isBehind = false;
  private timer = 0;
  private unanswered = 0;
  private changedAt = Number.NEGATIVE_INFINITY;

  /**
   * @param wait time without a change before the server is asked [ms]; 0 for something dragged:
   *   then one question is always on its way, and each answer is shown while the next is asked for.
   */
  constructor(
    private readonly ask: (signal: AbortSignal) => Promise<Answer>,
    private readonly show: (answer: Answer) => void,
    private readonly tell: (state: State, problems: Problem[]) => void,
    private readonly wait = 40,
  ) {}

  /** Something changed: what is shown is old from this moment. */
  changed(): void {
    this.tell("asking", []);
    this.isBehind = true;
    this.changedAt = performance.now();
    if (this.wait === 0) {
      if (!this.asking) void this.now();
      return;
    }
    this.asking?.abort();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.now(), this.wait);
  }

  /** What was asked for is asked no more; no answer to it is shown. */
  stop(): void {
    clearTimeout(this.timer);
    this.asking?.abort();
    this.asking = null;
  }

  /** Waits until nothing was typed for a while; false where something was meanwhile. */
  private async isCalm(asking: AbortController): Promise<boolean> {
    const left = this.changedAt + CALM_MS - performance.now();
    if (left > 0) await new Promise((done) => setTimeout(done, left));
    return this.asking === asking && !asking.signal.aborted;
  }

  /** There was no answer: asked again by itself, after longer and longer whiles. */
  private later(): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.now(), Math.min(1000 * 2 ** this.unanswered, LONGEST_WAIT_MS));
    this.unanswered += 1;
  }

  async now(): Promise<void> {
    clearTimeout(this.timer);
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    this.isBehind = false;
    this.tell("asking", []);
    try {
      const answer = await this.ask(asking.signal);
      if (this.asking !== asking || asking.signal.aborted) return;
      this.unanswered = 0;
      this.show(answer);
      if (!this.isBehind) this.tell("fresh", []);
    } catch (error) {
      if (isAbort(error) || this.asking !== asking || asking.signal.aborted) return;
      if (!(error instanceof Refused)) throw error;
      if (this.wait > 0 && !(await this.isCalm(asking))) return;
      if (!this.isBehind) this.tell("stale", error.problems);
      if (isOutOfReach(error.problems)) this.later();
    } finally {
      if (this.asking === asking) this.asking = null;
    }
    if (this.isBehind && this.wait === 0) void this.now();
  }
}
