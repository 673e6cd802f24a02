/** The least film that holds: a search that tells its steps, its proof, and a front to pick from. */

import type { Problem } from "../api";
import { ask, isOutOfReach, problemsIn, Refused, reason, told } from "../api";
import { blocksShown, verdictShown } from "../blocks";
import { putSettings } from "../design_settings";
import { byId, el, svg } from "../dom";
import type { Table } from "../draft";
import { titleOf } from "../draft";
import { fieldWords } from "../field_words";
import { CaseForm } from "../form";
import { frontPlot } from "../front_plot";
import type { DesignAsk, DesignView, FrontPoint, PickedProgram, Settings } from "../generated/api";
import { Glance, noAnswer } from "../glance";
import type { News } from "../job_stream";
import { jobStream, progressShown } from "../job_stream";
import { wasTyped } from "../kept_fields";
import type { KeptSearch } from "../kept_search";
import { keepRunning, keepSearch, keptSearch, runningSearch, searchedText } from "../kept_search";
import { problemsShown } from "../questions";
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
  private readonly glance = new Glance(byId("glance"));
  /** What the search was asked: the case as text, and the choices beside it. */
  private asked: KeptSearch["asked"] = { profiled: false };
  private searched = "";
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
    this.glance.none(say("not searched yet"), say("Say what must be held, then search."));
    this.restore();
    this.resume();
  }

  /** A search that ran when the page was left goes on at the server; it is waited for again. */
  private resume(): void {
    const running = runningSearch();
    if (!running) return;
    this.asked = running.asked;
    this.searched = running.searched;
    this.wait(running.job);
  }

  /** What was searched last is shown again, with what it was asked. */
  private restore(): void {
    const kept = keptSearch();
    if (!kept) return;
    if (!wasTyped(byId("search-asked"))) {
      byId<HTMLSelectElement>("goal").value = kept.asked.goal ?? "";
      byId<HTMLInputElement>("profiled").checked = kept.asked.profiled ?? false;
      byId<HTMLInputElement>("probability").value = kept.asked.probability ?? "";
    }
    this.asked = kept.asked;
    this.searched = kept.searched;
    this.found = kept.job;
    this.view = kept.view;
    this.show(kept.view);
    this.tell(say("Found earlier; kept in this browser"), "fresh");
    if (this.isOld()) this.old();
    else if (kept.units !== this.shell.show.system) void this.fetch(kept.job);
  }

  private isOld(): boolean {
    const { goal, profiled, probability } = this.choices();
    const isSame =
      goal === (this.asked.goal ?? null) &&
      profiled === (this.asked.profiled ?? false) &&
      probability === (this.asked.probability ?? null);
    return !isSame || this.searched !== searchedText(this.shell.draft.case);
  }

  private choices(): Required<KeptSearch["asked"]> {
    return {
      goal: (byId<HTMLSelectElement>("goal").value || null) as NonNullable<DesignAsk["goal"]> | null,
      profiled: byId<HTMLInputElement>("profiled").checked,
      probability: byId<HTMLInputElement>("probability").value.trim() || null,
    };
  }

  /** The reader wants other units. */
  again(): void {
    if (this.found) void this.fetch(this.found);
  }

  /** What is shown belongs to an earlier question. */
  private old(): void {
    if (!this.view) return;
    this.tell(say("Changed since; what is shown is of the case before. Search again."), "stale");
    this.glance.none(say("changed since: search again"), say("What stands below is of the case before."));
    for (const each of document.querySelectorAll<HTMLButtonElement>(".put")) each.disabled = true;
  }

  private async begin(): Promise<void> {
    this.finish();
    this.began = performance.now();
    this.tell(say("Starting …"), "asking");
    this.run.disabled = true;
    this.asked = this.choices();
    const body: DesignAsk = { case: this.shell.draft.case, front: true, ...this.asked };
    this.searched = searchedText(body.case as Table);
    try {
      const { job } = await ask("post", "/api/design", { body });
      this.form.showProblems([]);
      keepRunning({ job, asked: this.asked, searched: this.searched });
      this.listen(job);
    } catch (error) {
      this.finish();
      this.fail(problemsIn(error));
    }
  }

  private wait(job: string): void {
    this.began = performance.now();
    this.tell(say("Starting …"), "asking");
    this.run.disabled = true;
    this.listen(job);
  }

  private listen(job: string): void {
    this.running = job;
    this.stop.disabled = false;
    byId("progress").hidden = false;
    const gone = (): void => {
      this.finish();
      this.tell(say("This search was lost, since the server was started anew. Search again."), "stale");
    };
    this.stream = jobStream(`/api/design/${job}/events`, (news) => this.hear(news), gone);
  }

  private hear(news: News): void {
    if (news.event === "progress") {
      this.tell(progressShown(byId("progress"), news, this.began), "asking");
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
      this.show(this.view);
      this.tell(say("Up to date"), "fresh");
      const { asked, searched, view } = this;
      keepSearch({ job, asked, searched, view, units: this.shell.show.system });
      if (this.isOld()) this.old();
    } catch (error) {
      // The server forgets a search after a while; what is shown is kept here.
      if (this.view && error instanceof Refused && error.status === 404) {
        this.tell(say("Found earlier; its units cannot be changed any more. Search again."), "fresh");
      } else this.fail(problemsIn(error));
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
    keepRunning(null);
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
    if (isOutOfReach(problems)) {
      this.tell(problems.map(told).join(" "), "stale");
      this.glance.none(noAnswer(problems), say("Search again once it is there."));
      return;
    }
    const fields = problems.map((each) => fieldWords(each.field)).join("; ");
    this.tell(say("To mend: {fields}", { fields }), "stale");
    this.glance.none(say("no answer"), say("Mend what is marked, then search again."));
  }

  private show(view: DesignView): void {
    const { chosen } = view.design;
    const put =
      chosen && view.is_offered ? [this.putButton(chosen.settings, say("Put these settings on the bench"))] : [];
    byId("design-problems").replaceChildren();
    byId("design-empty").hidden = true;
    const shown = view.is_offered && chosen ? chosen : view.design.today;
    this.glance.show(view.glance, shown.verdict.asked ? shown.verdict.holds : shown.holds);
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
      frontPlot(view, this.shell.show, this.picked, pick, host.clientWidth),
      frontLegend(view),
      el("p", { class: "quiet-words" }, words),
      ...(point && told ? this.pickedParts(point, told) : []),
    );
  }

  private pickedParts(point: FrontPoint, { verdict: words, holds, blocks }: PickedProgram): HTMLElement[] {
    const put = holds
      ? this.putButton(point.settings, say("Put the picked program on the bench"))
      : el("p", { class: "quiet-words" }, say("It does not hold, so it cannot be put on the bench."));
    return [el("h3", {}, say("The program picked")), verdictShown(words, holds), ...blocksShown(blocks), put];
  }

  private putButton(settings: Settings, words: string): HTMLElement {
    return el(
      "button",
      { type: "button", class: "main put", disabled: this.isOld(), click: () => this.put(settings) },
      words,
    );
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

/** What the signs of the drawing mean. */
function frontLegend({ front_words: words }: DesignView): HTMLElement {
  const sign = (holds: boolean): SVGSVGElement =>
    svg(
      "svg",
      { viewBox: "-9 -9 18 18", width: 18, height: 18, "aria-hidden": "true" },
      svg(
        "g",
        { class: holds ? "pick" : "pick does-not-hold" },
        svg("circle", { class: "dot", r: 6 }),
        holds ? null : svg("path", { class: "cross", d: "M-4 -4L4 4M4 -4L-4 4" }),
      ),
    );
  const [, , holds = "", fails = ""] = words.lines;
  return el("ul", { class: "legend" }, el("li", {}, sign(true), holds), el("li", {}, sign(false), fails));
}
