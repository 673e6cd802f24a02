/** The least film that holds: a search that tells its steps, its proof, and a front to pick from. */

import type { Problem } from "../api";
import { ask, problemsIn, reason } from "../api";
import { blocksShown, verdictShown } from "../blocks";
import { putSettings } from "../design_settings";
import { byId, el } from "../dom";
import { titleOf } from "../draft";
import { CaseForm } from "../form";
import { frontPlot } from "../front_plot";
import type { DesignAsk, DesignJob, DesignView, FrontPoint, PickedProgram, Settings } from "../generated/api";
import { LATEST_SEARCH } from "../latest_search";
import { problemsShown } from "../questions";
import { keepInMind } from "../remembered";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { say } from "../words";

start(async () => {
  let page: DesignPage | null = null;
  const shell = await openShell(() => page?.again());
  page = new DesignPage(shell);
});

const SECTIONS = new Set(["hold", "transport", "design"]);

class DesignPage {
  private readonly form: CaseForm;
  /** The search that runs, and the one whose result is shown. */
  private running: string | null = null;
  private found: string | null = null;
  private stream: EventSource | null = null;
  private view: DesignView | null = null;
  private picked: number | null = null;
  private began = 0;
  private readonly run = byId<HTMLButtonElement>("run");
  private readonly stop = byId<HTMLButtonElement>("cancel");

  constructor(private readonly shell: Shell) {
    const { draft, fields } = shell;
    byId("case-title").textContent = titleOf(draft.case);
    const changed = (): void => {
      draft.changed();
      this.old();
    };
    this.form = new CaseForm(byId("asked-form"), fields, draft.case, changed, (section) => SECTIONS.has(section.name));
    this.run.addEventListener("click", () => void this.begin());
    this.stop.addEventListener("click", () => void this.cancel());
    draft.whenReplaced(() => {
      byId("case-title").textContent = titleOf(draft.case);
      this.form.replace(draft.case);
      this.old();
    });
    for (const id of ["goal", "profiled", "probability"]) byId(id).addEventListener("input", () => this.old());
  }

  /** The reader wants other units. */
  again(): void {
    if (this.found) void this.fetch(this.found);
  }

  /** What is shown belongs to an earlier question. */
  private old(): void {
    if (this.view) this.tell(say("Changed since; what is shown is of the case before. Search again."), "stale");
  }

  private async begin(): Promise<void> {
    this.finish();
    this.began = performance.now();
    this.tell(say("Starting …"), "asking");
    this.run.disabled = true;
    this.stop.disabled = false;
    const body: DesignAsk = {
      case: this.shell.draft.case,
      goal: (byId<HTMLSelectElement>("goal").value || null) as NonNullable<DesignAsk["goal"]> | null,
      profiled: byId<HTMLInputElement>("profiled").checked,
      front: true,
      probability: byId<HTMLInputElement>("probability").value.trim() || null,
    };
    try {
      const { job } = await ask("post", "/api/design", { body });
      this.form.showProblems([]);
      this.listen(job);
    } catch (error) {
      this.finish();
      this.fail(problemsIn(error));
    }
  }

  private listen(job: string): void {
    this.running = job;
    this.stream = new EventSource(`/api/design/${job}/events`);
    byId("progress").hidden = false;
    for (const name of ["progress", "result", "problems", "cancelled"] as const satisfies DesignJob["event"][]) {
      this.stream.addEventListener(name, (event) =>
        this.hear(JSON.parse((event as MessageEvent<string>).data) as DesignJob),
      );
    }
  }

  private hear(news: DesignJob): void {
    if (news.event === "progress") {
      const bar = byId<HTMLProgressElement>("progress");
      if (news.done !== null && news.steps) bar.value = news.done / news.steps;
      else bar.removeAttribute("value");
      const seconds = ((performance.now() - this.began) / 1000).toFixed(0);
      this.tell(say("{step} … ({seconds} s)", { step: news.step, seconds }), "asking");
      return;
    }
    this.finish();
    if (news.event === "problems") this.fail(news.errors);
    else if (news.event === "cancelled") {
      const words = this.view ? say("Cancelled; what is shown is of an earlier search.") : say("Cancelled.");
      this.tell(words, this.view ? "stale" : "idle");
    } else {
      this.picked = null;
      void this.fetch(news.job);
    }
  }

  private async fetch(job: string): Promise<void> {
    try {
      this.view = await ask("get", "/api/design/{job}", { path: { job }, query: { units: this.shell.show.system } });
      this.found = job;
      keepInMind(LATEST_SEARCH, job, "sessionStorage");
      this.show(this.view);
      this.tell(say("Up to date"), "fresh");
    } catch (error) {
      this.fail(problemsIn(error));
    }
  }

  private async cancel(): Promise<void> {
    if (!this.running) return;
    this.stop.disabled = true;
    try {
      await ask("delete", "/api/design/{job}", { path: { job: this.running } });
    } catch (error) {
      this.tell(reason(error), "stale");
    }
  }

  private finish(): void {
    this.stream?.close();
    this.stream = null;
    this.running = null;
    this.run.disabled = false;
    this.stop.disabled = true;
    byId("progress").hidden = true;
  }

  private tell(words: string, state: string): void {
    byId("design-panel").dataset.state = state;
    byId("design-state").textContent = words;
  }

  private fail(problems: Problem[]): void {
    const homeless = this.form.showProblems(problems);
    byId("design-problems").replaceChildren(...problemsShown(homeless, (field) => this.form.confirm(field)));
    const fields = problems.map((each) => each.field).join(", ");
    this.tell(say("To mend: {fields}", { fields }), "stale");
  }

  private show(view: DesignView): void {
    const { chosen } = view.design;
    // Without settings to show there is none that is better and holds.
    const put =
      chosen && view.settings.length ? [this.putButton(chosen.settings, say("Put these settings on the bench"))] : [];
    byId("design-problems").replaceChildren();
    byId("design-answer").replaceChildren(
      ...blocksShown(view.answer, this.form.ways),
      ...blocksShown(view.settings, this.form.ways),
      ...put,
      ...blocksShown(view.proof, this.form.ways),
      el("h3", {}, say("Findings")),
      ...blocksShown(view.findings, this.form.ways),
      ...blocksShown(view.cautions),
      el("p", {}, el("a", { href: "/reports?of=design", class: "button" }, say("Report of this search"))),
    );
    this.showFront(view);
  }

  private showFront(view: DesignView): void {
    const { design, front } = view;
    const host = byId("front");
    if (!front.length) {
      host.replaceChildren(el("p", { class: "quiet-words" }, say("No front for this search.")));
      return;
    }
    const pick = (index: number): void => {
      this.picked = index;
      this.showFront(view);
      host.querySelectorAll<SVGGElement>(".pick")[index]?.focus();
    };
    const words = say(
      "Each dot is a program that no other beats in film, hold and time at once. Choose one to see its settings.",
    );
    const point = this.picked === null ? undefined : design.front[this.picked];
    const told = this.picked === null ? undefined : front[this.picked];
    host.replaceChildren(
      frontPlot(view, this.shell.show, this.picked, pick),
      el("p", { class: "quiet-words" }, words),
      ...(point && told ? this.pickedParts(point, told) : []),
    );
  }

  private pickedParts(point: FrontPoint, { verdict: words, blocks }: PickedProgram): HTMLElement[] {
    const holds = point.verdict.asked ? point.verdict.holds === true : point.share_of_targets >= 1;
    const verdict = verdictShown(words, holds);
    const put = this.putButton(point.settings, say("Put the picked program on the bench"));
    return [el("h3", {}, say("The program picked")), ...blocksShown(blocks), verdict, put];
  }

  private putButton(settings: Settings, words: string): HTMLElement {
    return el("button", { type: "button", class: "main", click: () => this.put(settings) }, words);
  }

  private put(settings: Settings): void {
    if (!this.view) return;
    const { draft } = this.shell;
    putSettings(draft.case, this.view.design.today.settings, settings);
    draft.changed();
    const words = say("The case on the bench now has these settings. Try them in small steps.");
    byId("put-note").replaceChildren(words, " ", el("a", { href: "/" }, say("To the bench")));
    this.old();
  }
}
