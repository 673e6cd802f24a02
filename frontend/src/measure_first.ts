/** What to measure first: asked for when its part of the bench is opened, since it takes a second or two. */

import { ask } from "./api";
import type { Ways } from "./blocks";
import { blocksShown } from "./blocks";
import { byId } from "./dom";
import type { Sensitivity } from "./generated/api";
import { Live, stateWords } from "./live";
import { problemsShown } from "./questions";
import type { Shell } from "./shell";

export class MeasureFirst {
  private readonly root = byId<HTMLDetailsElement>("measure-first");
  private readonly live: Live<Sensitivity>;

  constructor(shell: Shell, ways: () => Ways, confirm: (field: string) => void) {
    this.live = new Live<Sensitivity>(
      (signal) =>
        ask("post", "/api/sensitivity", {
          body: { case: shell.draft.case },
          query: { units: shell.show.system },
          signal,
        }),
      ({ blocks }) => byId("measure-first-answer").replaceChildren(...blocksShown(blocks, ways())),
      (state, problems) => {
        this.root.dataset.state = state;
        byId("measure-first-state").textContent = stateWords(state);
        if (state !== "asking") byId("measure-first-problems").replaceChildren(...problemsShown(problems, confirm));
      },
      700,
    );
    this.root.addEventListener("toggle", () => this.changed());
  }

  /** The case has changed, and can be predicted. */
  changed(): void {
    if (this.root.open) this.live.changed();
    else this.live.stop();
  }
}
