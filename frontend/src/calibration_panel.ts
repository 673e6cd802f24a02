/** Film and friction calibrated by the slips of a real test, and what that puts into the case. */

import type { Problem } from "./api";
import { ask, problemsIn } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import { putAt } from "./draft";
import type { CalibrationView, SentFile } from "./generated/api";
import { LongWork } from "./long_work";
import { problemsShown } from "./questions";
import { sentFile, whenChosen } from "./sent_file";
import type { Shell } from "./shell";
import { say } from "./words";

export class CalibrationPanel {
  private slips: SentFile | null = null;
  private view: CalibrationView | null = null;
  private right: string[] = [];
  private readonly work = new LongWork("calibration", {
    found: (job) => void this.fetch(job),
    refused: (problems) => this.fail(problems),
    gone: () => undefined,
  });

  /** @param used is called when the case has other ranges. */
  constructor(
    private readonly shell: Shell,
    private readonly used: () => void,
  ) {
    whenChosen(byId<HTMLInputElement>("calibration-file"), ([file]) => {
      if (file) void this.choose(file);
    });
    byId("calibration-run").addEventListener("click", () => void this.begin());
    byId("calibration-use").addEventListener("click", () => this.use());
  }

  private async choose(file: File): Promise<void> {
    this.slips = await sentFile(file);
    this.right = [];
    byId("calibration-name").textContent = file.name;
  }

  private async begin(): Promise<void> {
    const { slips } = this;
    this.fail([]);
    if (!slips) {
      byId("calibration-problems").replaceChildren(el("p", { class: "error" }, say("Open the slips first.")));
      return;
    }
    const body = { case: this.shell.draft.case, slips, as_typed: this.right };
    await this.work.begin(() => ask("post", "/api/transport/calibrate", { body }));
  }

  private fail(problems: Problem[]): void {
    const confirm = (field: string): void => {
      this.right.push(field);
      void this.begin();
    };
    byId("calibration-problems").replaceChildren(...problemsShown(problems, confirm));
  }

  private async fetch(job: string): Promise<void> {
    try {
      this.view = await ask("get", "/api/transport/calibrate/{job}", {
        path: { job },
        query: { units: this.shell.show.system },
      });
      byId("calibration-answer").replaceChildren(...blocksShown(this.view.findings), ...blocksShown(this.view.blocks));
      byId("calibration-use").hidden = this.view.narrowed.length === 0;
    } catch (error) {
      this.fail(problemsIn(error));
    }
  }

  private use(): void {
    if (!this.view || !this.slips) return;
    const origin = say("calibrated by {name}", { name: this.slips.name });
    for (const { field, value, low, high } of this.view.narrowed)
      putAt(this.shell.draft.case, field, { value, origin, low, high });
    this.used();
    this.work.tell(say("The case has these ranges now; Undo takes them back."));
  }
}
