/** Asks the server anew after each change, and never lets an old answer look like a new one. */

import { Refused, isAbort } from "./api";
import type { Problem } from "./api";
import { debounced } from "./dom";

export type State = "asking" | "fresh" | "stale";

export class Live<Answer> {
  private asking: AbortController | null = null;
  private readonly soon: () => void;

  constructor(
    private readonly ask: (signal: AbortSignal) => Promise<Answer>,
    private readonly show: (answer: Answer) => void,
    private readonly tell: (state: State, problems: Problem[]) => void,
    wait = 120,
  ) {
    this.soon = debounced(wait, () => void this.now());
  }

  /** Something changed: what is shown is old from this moment. */
  changed(): void {
    this.asking?.abort();
    this.tell("asking", []);
    this.soon();
  }

  async now(): Promise<void> {
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    this.tell("asking", []);
    try {
      const answer = await this.ask(asking.signal);
      if (this.asking !== asking || asking.signal.aborted) return;
      this.show(answer);
      this.tell("fresh", []);
    } catch (error) {
      if (isAbort(error) || this.asking !== asking || asking.signal.aborted) return;
      if (!(error instanceof Refused)) throw error;
      this.tell("stale", error.problems);
    }
  }
}
