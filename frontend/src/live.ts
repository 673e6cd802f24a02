/** Asks the server anew after each change, and never lets an old answer look like a new one. */

import type { Problem } from "./api";
import { isAbort, Refused } from "./api";
import { say } from "./words";

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

  /**
   * @param wait time without a change before the server is asked [ms]; 0 for something dragged:
   *   then one question is always on its way, and each answer is shown while the next is asked for.
   */
  constructor(
    private readonly ask: (signal: AbortSignal) => Promise<Answer>,
    private readonly show: (answer: Answer) => void,
    private readonly tell: (state: State, problems: Problem[]) => void,
    private readonly wait = 120,
  ) {}

  /** Something changed: what is shown is old from this moment. */
  changed(): void {
    this.tell("asking", []);
    this.isBehind = true;
    if (this.wait === 0) {
      if (!this.asking) void this.now();
      return;
    }
    this.asking?.abort();
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => void this.now(), this.wait);
  }

  /** What was asked for is asked no more; no answer to it is shown. */
  stop(): void {
    clearTimeout(this.timer);
    this.asking?.abort();
    this.asking = null;
  }

  async now(): Promise<void> {
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    this.isBehind = false;
    this.tell("asking", []);
    try {
      const answer = await this.ask(asking.signal);
      if (this.asking !== asking || asking.signal.aborted) return;
      this.show(answer);
      if (!this.isBehind) this.tell("fresh", []);
    } catch (error) {
      if (isAbort(error) || this.asking !== asking || asking.signal.aborted) return;
      if (!(error instanceof Refused)) throw error;
      if (!this.isBehind) this.tell("stale", error.problems);
    } finally {
      if (this.asking === asking) this.asking = null;
    }
    if (this.isBehind && this.wait === 0) void this.now();
  }
}
