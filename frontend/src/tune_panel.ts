/** The dancer tuned: speeds to try, what was found, and the best put into the case. */

import { ask, problemsIn } from "./api";
import { blocksShown } from "./blocks";
import { byId } from "./dom";
import { confirmed, putAt } from "./draft";
import type { TuneView } from "./generated/api";
import { problemsShown } from "./questions";
import { makeRoom, noRoom } from "./settled";
import type { Shell } from "./shell";
import { say } from "./words";

const SPEEDS = ["slowest", "fastest"] as const;

export class TunePanel {
  private view: TuneView | null = null;
  private asking: AbortController | null = null;
  private readonly right = new Set<string>();

  /** @param changed is told once the case has the best setting. */
  constructor(
    private readonly shell: Shell,
    private readonly changed: () => void,
  ) {
    byId("tune-form").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.tune();
    });
    byId("tune-form").addEventListener("input", () => this.right.clear());
    byId("tune-use").addEventListener("click", () => this.use());
  }

  /** The case has changed: what is shown is of the one before. */
  old(): void {
    this.asking?.abort();
    if (this.view) this.tell(say("Changed since; what is shown is as it was. Tune it anew."), "stale");
  }

  /** The reader wants other units. */
  again(): void {
    if (this.view) void this.tune();
  }

  private async tune(): Promise<void> {
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    this.tell(say("Trying every spring, hole and gain; this takes some seconds …"), "asking");
    makeRoom(byId("tune-answer"));
    const typed = Object.fromEntries(
      SPEEDS.map((each) => [each, byId<HTMLInputElement>(`tune-${each}`).value.trim() || null]),
    );
    try {
      const view = await ask("post", "/api/dancer/tune", {
        body: { case: this.shell.draft.case, ...typed, as_typed: [...this.right] },
        query: { units: this.shell.show.system },
        signal: asking.signal,
      });
      this.view = view;
      byId("tune-problems").replaceChildren();
      byId("tune-answer").replaceChildren(...blocksShown(view.blocks));
      // What is not smooth is not offered.
      byId("tune-use").hidden = !view.best.fits;
      byId("tune-note").textContent = "";
      this.tell(say("Tuned"), "fresh");
    } catch (error) {
      if (this.asking !== asking || asking.signal.aborted) return;
      if (!this.view) noRoom(byId("tune-answer"));
      this.tell(this.view ? say("Not tuned; what is shown is of an earlier case.") : say("Not tuned"), "stale");
      byId("tune-problems").replaceChildren(...problemsShown(problemsIn(error), (field) => this.confirm(field)));
    }
  }

  private confirm(field: string): void {
    if (SPEEDS.some((each) => each === field)) this.right.add(field);
    else confirmed(this.shell.draft.case, field);
    void this.tune();
  }

  private use(): void {
    if (!this.view) return;
    const { spring, hole, gain } = this.view.best;
    const { draft } = this.shell;
    putAt(draft.case, "dancer.spring", spring);
    putAt(draft.case, "dancer.hole", hole);
    putAt(draft.case, "dancer.drive.gain", gain);
    this.changed();
    byId("tune-note").textContent = say(
      "The case now has spring {spring} in the hole at {hole}, with a gain of {gain}.",
      {
        spring,
        hole,
        gain,
      },
    );
  }

  private tell(words: string, state: string): void {
    byId("tune-panel").dataset.state = state;
    byId("tune-state").textContent = words;
  }
}
