/** The dancer: which spring in which hole, its motion against the turning load, a recorded trace judged. */

import type { Problem } from "../api";
import { ask } from "../api";
import type { AnyBlock } from "../blocks";
import { blocksShown, verdictShown } from "../blocks";
import type { CycleCharts } from "../dancer_charts";
import { cycleCharts } from "../dancer_charts";
import { DancerDrawing } from "../dancer_drawing";
import { byId, el } from "../dom";
import type { Table } from "../draft";
import { putAt, titleOf } from "../draft";
import { FilmPanel } from "../film_panel";
import { CaseForm } from "../form";
import type { CycleView, SpringRow, SpringsView } from "../generated/api";
import type { State } from "../live";
import { Live, stateWords } from "../live";
import { Player } from "../player";
import { problemsShown } from "../questions";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { TracePanel } from "../trace_panel";
import { TunePanel } from "../tune_panel";
import { say } from "../words";

start(async () => {
  let page: DancerPage | null = null;
  const shell = await openShell(() => page?.again());
  page = new DancerPage(shell);
  await page.open();
});

class DancerPage {
  private readonly form: CaseForm;
  private readonly drawing = new DancerDrawing(byId("dancer-drawing"));
  private readonly springs: Live<SpringsView>;
  private readonly cycle: Live<CycleView>;
  private readonly trace: TracePanel;
  private readonly film: FilmPanel;
  private readonly tuning: TunePanel;
  private readonly player: Player;
  private choice: SpringRow | null = null;
  private table: SpringsView | null = null;
  private view: CycleView | null = null;
  private charts: CycleCharts | null = null;
  private readonly cautions = new Map<string, AnyBlock[]>();

  constructor(private readonly shell: Shell) {
    const { draft, fields } = shell;
    byId("case-title").textContent = titleOf(draft.case);
    const isShown = (section: { name: string }): boolean => section.name === "dancer";
    this.form = new CaseForm(byId("dancer-form"), fields, draft.case, () => this.changed(), isShown);
    const query = (): { units: Shell["show"]["system"] } => ({ units: shell.show.system });
    this.springs = new Live(
      (signal) => ask("post", "/api/dancer/springs", { body: { case: draft.case }, query: query(), signal }),
      (answer) => this.showSprings(answer),
      (state, problems) => this.tell("springs", state, problems),
    );
    this.cycle = new Live(
      (signal) =>
        ask("post", "/api/dancer/simulate", { body: { case: draft.case, ...this.asked() }, query: query(), signal }),
      (answer) => this.showCycle(answer),
      (state, problems) => this.tell("cycle", state, problems),
    );
    const used = (): void => {
      this.form.replace(draft.case);
      this.changed();
    };
    this.trace = new TracePanel(shell, (cautions) => this.takeCare("trace", cautions), used);
    this.film = new FilmPanel(shell, (cautions) => this.takeCare("film", cautions), used);
    this.tuning = new TunePanel(shell, used);
    this.player = new Player(
      { button: byId("play"), slider: byId("time"), pace: byId("pace") },
      () => 1,
      (time) => this.showTime(time),
    );
    byId<HTMLInputElement>("speed").addEventListener("input", () => this.cycle.changed());
    byId("invented").addEventListener("click", () => {
      draft.case.dancer = structuredClone(fields.example.dancer) as Table;
      this.form.replace(draft.case);
      this.changed();
    });
    byId("use").addEventListener("click", () => this.use());
    draft.whenReplaced(() => {
      byId("case-title").textContent = titleOf(draft.case);
      this.form.replace(draft.case);
      this.ask();
    });
  }

  async open(): Promise<void> {
    await Promise.all([this.springs.now(), this.cycle.now()]);
  }

  again(): void {
    this.springs.changed();
    this.cycle.changed();
    this.trace.again();
    this.tuning.again();
    this.film.again();
  }

  private asked(): { spring: number | null; hole: string | null; speed: string | null } {
    const { choice } = this;
    const speed = byId<HTMLInputElement>("speed").value.trim();
    return { spring: choice?.spring ?? null, hole: choice ? `${choice.hole_m} m` : null, speed: speed || null };
  }

  private changed(): void {
    this.shell.draft.changed();
    this.ask();
  }

  private ask(): void {
    this.choice = null;
    this.tuning.old();
    this.springs.changed();
    this.cycle.changed();
  }

  private tell(part: "springs" | "cycle", state: State, problems: Problem[]): void {
    byId(`${part}-panel`).dataset.state = state;
    byId(`${part}-state`).textContent = stateWords(state);
    if (state === "asking") return;
    const isMissing =
      problems.length > 0 && problems.every((each) => each.field === "dancer.springs") && !this.hasSprings();
    byId("no-dancer").hidden = !isMissing;
    const homeless = isMissing ? [] : this.form.showProblems(problems);
    const shown = part === "cycle" ? homeless : isMissing ? [] : problems;
    byId(`${part}-problems`).replaceChildren(...problemsShown(shown, (field) => this.form.confirm(field)));
  }

  private hasSprings(): boolean {
    const dancer = this.shell.draft.case.dancer;
    return typeof dancer === "object" && "springs" in dancer;
  }

  private showSprings(answer: SpringsView): void {
    this.table = answer;
    const { study } = this.view ?? {};
    const inUse = (row: SpringRow): boolean =>
      row.spring === study?.spring && Math.abs(row.hole_m - study.hole_m) < 1e-9;
    this.takeCare("springs", answer.cautions);
    const choose = (row: SpringRow, index: number): HTMLElement => {
      const take = (): void => {
        this.choice = row;
        this.cycle.changed();
      };
      const words = answer.choices[index];
      return el(
        "button",
        {
          type: "button",
          class: "quiet",
          "aria-pressed": inUse(row) ? "true" : "false",
          "aria-label": words?.told ?? null,
          click: take,
        },
        `${row.fits ? "✓" : "✗"} ${words?.name ?? ""}`,
      );
    };
    byId("springs").replaceChildren(
      el("p", { class: "quiet-words" }, say("Choose a spring in a hole to see it in motion.")),
      el(
        "div",
        { class: "springs", role: "group", "aria-label": say("Springs in holes, the best first") },
        ...answer.springs.choices.map(choose),
      ),
      ...blocksShown(answer.blocks),
    );
  }

  /** Spring and hole that are in motion become the case's own. */
  private use(): void {
    if (!this.view) return;
    const { draft, show } = this.shell;
    const { spring, hole_m: hole } = this.view.study;
    putAt(draft.case, "dancer.spring", spring);
    putAt(draft.case, "dancer.hole", `${Number((1000 * hole).toFixed(3))} mm`);
    this.form.replace(draft.case);
    byId("use-note").textContent = say("The case now has spring {spring} in the hole at {hole}.", {
      spring,
      hole: show.show(hole, "small_length"),
    });
    this.changed();
  }

  private showCycle(view: CycleView): void {
    this.view = view;
    const { study } = view;
    this.drawing.setCase({ ...view, turns: study.turns }, view.arm);
    this.charts = cycleCharts(view, this.shell.show, byId("cycle-charts").clientWidth);
    byId("cycle-charts").replaceChildren(...this.charts.nodes);
    const [answer, ...told] = view.blocks;
    const [dancer, ...rest] = blocksShown(told, { isFolded: true });
    const verdict = answer?.block === "paragraph" ? answer.text : "";
    byId("cycle-words").replaceChildren(
      verdictShown(verdict, study.fits && study.steady.is_smooth),
      ...(dancer ? [dancer] : []),
    );
    byId("cycle-numbers").replaceChildren(...rest);
    this.takeCare("cycle", view.cautions);
    if (this.table) this.showSprings(this.table);
    this.player.setEnd(study.duration_s);
  }

  /** The usual cautions of all that is shown, each once. */
  private takeCare(part: string, cautions: AnyBlock[]): void {
    this.cautions.set(part, cautions);
    const [first, ...others] = [...this.cautions.values()].flat().filter((each) => each.block === "cautions");
    if (!first) return;
    const items = new Set([first, ...others].flatMap((each) => each.items));
    byId("cautions").replaceChildren(...blocksShown([{ ...first, items: [...items] }]));
  }

  private showTime(time: number): void {
    const samples = this.view?.study.samples ?? [];
    const sample = samples.find((each) => each.time_s >= time) ?? samples.at(-1);
    if (!sample) return;
    const { show } = this.shell;
    const words = say("{time} s: tension {tension}, arm at {angle}", {
      time: sample.time_s.toFixed(1),
      tension: show.show(sample.tension_n, "force"),
      angle: show.show(sample.arm_angle_rad, "angle"),
    });
    byId("time").setAttribute("aria-valuetext", words);
    byId("time-words").textContent = words;
    this.drawing.show(sample.turntable_angle_rad, sample.arm_angle_rad);
    this.charts?.cursor(sample.time_s);
  }
}
