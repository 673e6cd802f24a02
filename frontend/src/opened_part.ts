/** A part of the bench that is asked for when it is opened, since its answer takes a while. */

import { byId } from "./dom";
import { Live, stateWords } from "./live";
import { problemsShown } from "./questions";

export class OpenedPart<View> {
  private readonly root: HTMLDetailsElement;
  private readonly live: Live<View>;

  /**
   * @param name of its parts: #NAME, #NAME-state, #NAME-problems.
   * @param confirm a value that was asked about is right.
   */
  constructor(
    name: string,
    question: (signal: AbortSignal) => Promise<View>,
    show: (view: View) => void,
    confirm: (field: string) => void,
  ) {
    this.root = byId(name);
    this.live = new Live<View>(
      question,
      show,
      (state, problems) => {
        this.root.dataset.state = state;
        byId(`${name}-state`).textContent = stateWords(state);
        if (state !== "asking") byId(`${name}-problems`).replaceChildren(...problemsShown(problems, confirm));
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
