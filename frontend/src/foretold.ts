/** What trials teach of the case on the bench: asked for when its part is opened. */

import { ask } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import type { ForetoldView } from "./generated/api";
import { Live, stateWords } from "./live";
import { problemsShown } from "./questions";
import type { Shell } from "./shell";
import { say } from "./words";

export class Foretold {
  private readonly root = byId<HTMLDetailsElement>("foretold");
  private readonly live: Live<ForetoldView>;

  constructor(shell: Shell, confirm: (field: string) => void) {
    this.live = new Live<ForetoldView>(
      (signal) =>
        ask("post", "/api/learning/forecast", {
          body: { case: shell.draft.case },
          query: { units: shell.show.system },
          signal,
        }),
      (view) => this.show(view),
      (state, problems) => {
        this.root.dataset.state = state;
        byId("foretold-state").textContent = stateWords(state);
        if (state !== "asking") byId("foretold-problems").replaceChildren(...problemsShown(problems, confirm));
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

  private show({ trials, tells, blocks }: ForetoldView): void {
    const words = !trials.length
      ? say("Nothing was learnt from trials on this server yet.")
      : tells
        ? say("Learnt from: {trials}.", { trials: trials.join(", ") })
        : say("What was learnt ({trials}) tells nothing of this film on this carriage.", { trials: trials.join(", ") });
    byId("foretold-answer").replaceChildren(
      el("p", {}, words, " ", el("a", { href: "/learning" }, say("What trials teach"))),
      ...blocksShown(blocks),
    );
  }
}
