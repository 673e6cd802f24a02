/** A recorded trace of the dancer: asked about, judged, shown. */

import { ask, problemsIn } from "./api";
import type { AnyBlock } from "./blocks";
import { blocksShown, verdictShown } from "./blocks";
import { meanTurn, orderBars } from "./dancer_charts";
import { byId, el } from "./dom";
import { putAt } from "./draft";
import type { FittedField, RecordedTrace, TraceView } from "./generated/api";
import { problemsShown } from "./questions";
import type { Shell } from "./shell";
import { say } from "./words";

export class TracePanel {
  private asked: File | null = null;
  private right = new Set<string>();
  private view: TraceView | null = null;

  constructor(
    private readonly shell: Shell,
    private readonly care: (cautions: AnyBlock[]) => void,
    private readonly used: () => void,
  ) {
    byId("trace-use").addEventListener("click", () => this.use());
    byId("trace-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.asked = byId<HTMLInputElement>("trace-file").files?.[0] ?? null;
      void this.judge();
    });
    // Another value is asked about again.
    byId("trace-form").addEventListener("input", () => this.right.clear());
  }

  /** The reader wants other units. */
  again(): void {
    if (this.asked) void this.judge();
  }

  private async judge(): Promise<void> {
    const file = this.asked;
    const state = byId("trace-state");
    if (!file) {
      state.textContent = say("Choose a file first.");
      return;
    }
    const speed = byId<HTMLInputElement>("trace-speed").value.trim();
    let text: string;
    try {
      text = await file.text();
    } catch {
      state.textContent = say("The file cannot be read any more: choose it anew.");
      return;
    }
    const body: RecordedTrace = {
      name: file.name,
      text,
      corners: Number(byId<HTMLInputElement>("trace-corners").value) || 4,
      reverse: byId<HTMLInputElement>("trace-reverse").checked,
      speed: speed || null,
      case: byId<HTMLInputElement>("trace-case").checked ? this.shell.draft.case : null,
      fit: constantsTicked("trace-fit"),
      as_typed: [...this.right],
    };
    state.textContent = say("Reading and analysing …");
    byId("trace-panel").dataset.state = "asking";
    try {
      this.show(await ask("post", "/api/dancer/trace", { body, query: { units: this.shell.show.system } }));
      state.textContent = say("Judged {name}.", { name: file.name });
      byId("trace-panel").dataset.state = "fresh";
    } catch (error) {
      byId("trace-panel").dataset.state = "stale";
      const confirm = (field: string): void => {
        this.right.add(field);
        void this.judge();
      };
      state.replaceChildren(...problemsShown(problemsIn(error), confirm));
    }
  }

  private show(view: TraceView): void {
    const { study, blocks } = view;
    const { show } = this.shell;
    const host = byId("trace-answer");
    const [head, ...rest] = blocks;
    const verdict = head?.block === "heading" ? head.text : study.file;
    // What the verdict leaves open stands beside it; what to try, and all numbers, come after.
    const after = rest.findIndex((each) => each.block === "heading" || each.block === "facts");
    this.view = view;
    byId("trace-use").hidden = view.fitted.length === 0;
    byId("trace-note").textContent = "";
    this.care(view.cautions);
    host.replaceChildren(
      verdictShown(verdict, study.verdict === "smooth"),
      ...blocksShown(rest.slice(0, after)),
      ...meanTurn(view, show, host.clientWidth),
      ...blocksShown(view.fit),
      el(
        "details",
        { class: "fold" },
        el("summary", {}, say("The trace with the simulation laid over it")),
        ...blocksShown(view.picture),
      ),
      el("h3", {}, say("How large, by times a turn")),
      orderBars(view),
      ...blocksShown(rest.slice(after), { isFolded: true }),
    );
  }

  /** The fitted constants take the place of what the case states, with their ranges. */
  private use(): void {
    if (!this.view) return;
    putFitted(this.shell, this.view.fitted, this.view.study.file);
    this.used();
    byId("trace-note").textContent = say("The case has the fitted constants now; Undo takes them back.");
  }
}

/** Constants that are to be fitted: those ticked in a part of the page. */
export function constantsTicked(part: string): NonNullable<RecordedTrace["fit"]> {
  const ticked = [...document.querySelectorAll<HTMLInputElement>(`#${part} input:checked`)];
  return ticked.map((each) => each.value) as NonNullable<RecordedTrace["fit"]>;
}

/** Fitted constants, with their ranges, as what the case states. */
export function putFitted(shell: Shell, fitted: FittedField[], name: string): void {
  const origin = say("fitted to {name}", { name });
  for (const { field, value, low, high } of fitted) putAt(shell.draft.case, field, { value, origin, low, high });
}
