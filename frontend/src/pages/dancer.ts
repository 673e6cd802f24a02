/** The dancer: which spring in which hole, its motion against the turning load, a recorded trace judged. */

import { Refused, send, sentence } from "../api";
import type { Problem } from "../api";
import type { Drawn } from "../chart";
import { drawChart, legend } from "../chart";
import type { CycleStudy, CycleView, SpringRow, SpringTable, TraceStudy } from "../dancer_data";
import { DancerDrawing } from "../dancer_drawing";
import { byId, el, svg } from "../dom";
import type { Table } from "../draft";
import { keepDraft, putAt, titleOf } from "../draft";
import { CaseForm } from "../form";
import { Live } from "../live";
import type { State } from "../live";
import { Player } from "../player";
import { cautions, rows, table } from "../results";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";

start(async () => {
  let page: DancerPage | null = null;
  const shell = await openShell(() => page?.redraw());
  page = new DancerPage(shell);
  await page.open();
});

class DancerPage {
  private readonly form: CaseForm;
  private readonly drawing = new DancerDrawing(byId("dancer-drawing"));
  private readonly springs: Live<SpringTable>;
  private readonly cycle: Live<CycleView>;
  private readonly player: Player;
  private choice: { spring: number; hole_m: number } | null = null;
  private table: SpringTable | null = null;
  private view: CycleView | null = null;
  private trace: TraceStudy | null = null;
  private charts: Drawn[] = [];

  constructor(private readonly shell: Shell) {
    const { draft, fields } = shell;
    byId("case-title").textContent = titleOf(draft.case);
    this.form = new CaseForm(byId("dancer-form"), fields, draft.case, () => this.changed(), (section) => section.name === "dancer");
    this.springs = new Live<SpringTable>(
      (signal) => send("POST", "/api/dancer/springs", { case: draft.case }, signal),
      (answer) => this.showSprings(answer),
      (state, problems) => this.tell("springs", state, problems),
    );
    this.cycle = new Live<CycleView>(
      (signal) => send("POST", "/api/dancer/simulate", { case: draft.case, ...this.asked() }, signal),
      (answer) => this.showCycle(answer),
      (state, problems) => this.tell("cycle", state, problems),
    );
    this.player = new Player({ button: byId("play"), slider: byId("time"), pace: byId("pace") }, () => 1, (time) => this.showTime(time));
    byId<HTMLInputElement>("speed").addEventListener("input", () => this.cycle.changed());
    byId("invented").addEventListener("click", () => {
      draft.case["dancer"] = structuredClone(fields.example["dancer"] as Table);
      this.form.replace(draft.case);
      this.changed();
    });
    byId("use").addEventListener("click", () => this.use());
    byId("trace-form").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.judge();
    });
  }

  async open(): Promise<void> {
    await Promise.all([this.springs.now(), this.cycle.now()]);
  }

  redraw(): void {
    if (this.table) this.showSprings(this.table);
    if (this.view) this.showCycle(this.view);
    if (this.trace) this.showTrace(this.trace);
  }

  private asked(): Record<string, unknown> {
    const speed = byId<HTMLInputElement>("speed").value.trim();
    return { ...(this.choice ? { spring: this.choice.spring, hole: `${this.choice.hole_m} m` } : {}), ...(speed ? { speed } : {}) };
  }

  private changed(): void {
    const { draft } = this.shell;
    draft.isSaved = false;
    keepDraft(draft);
    this.choice = null;
    this.springs.changed();
    this.cycle.changed();
  }

  private tell(part: "springs" | "cycle", state: State, problems: Problem[]): void {
    byId(`${part}-panel`).dataset["state"] = state;
    byId(`${part}-state`).textContent = state === "fresh" ? "Up to date" : state === "asking" ? "Calculating …" : "Cannot be; what is shown is older";
    if (state === "asking") return;
    const isMissing = problems.some((each) => each.field === "dancer.springs" && each.given === "none");
    byId("no-dancer").hidden = !isMissing;
    const homeless = isMissing ? [] : this.form.showProblems(problems);
    byId(`${part}-problems`).replaceChildren(...(part === "cycle" ? homeless : problems.filter(() => !isMissing)).map((each) => el("p", { class: "error" }, `${each.field}: ${sentence(each)}`)));
  }

  private showSprings(answer: SpringTable): void {
    this.table = answer;
    const show = this.shell.show;
    const inUse = (row: SpringRow): boolean => this.view !== null && row.spring === this.view.study.spring && Math.abs(row.hole_m - this.view.study.hole_m) < 1e-9;
    const choose = (row: SpringRow): HTMLElement =>
      el(
        "button",
        { type: "button", class: "quiet", "aria-pressed": inUse(row) ? "true" : "false", click: () => this.take(row) },
        `${row.spring}: ${show.short(row.rate_n_per_m, "stiffness")}, ${show.short(row.hole_m, "small_length")}`,
      );
    byId("springs").replaceChildren(
      el("p", { class: "quiet-words" }, "Choose a spring in a hole to see it in motion. “Stands at”: where in the travel, from the lower stop, the arm balances this force."),
      table(
        `Every spring in every hole, the best for ${show.show(answer.force_to_load_n, "force")} first`,
        ["spring and hole", "fits", "stands at", "tension, stop to stop"],
        answer.choices.map((row) => [
          choose(row),
          el("span", { class: row.fits ? "yes" : "no" }, row.fits ? "✓ yes" : "✗ no"),
          row.travel_share === null ? "nowhere" : `${(100 * row.travel_share).toFixed(0)} %`,
          show.range(row.tension_lower_n, row.tension_upper_n, "force"),
        ]),
      ),
      el("details", { class: "fold" }, el("summary", {}, "Why each stands where it stands"), el("ol", {}, ...answer.choices.map((row) => el("li", {}, `spring ${row.spring}, hole ${show.show(row.hole_m, "small_length")}: ${row.reason}`)))),
      cautions(answer.cautions),
    );
  }

  private take(row: SpringRow): void {
    this.choice = { spring: row.spring, hole_m: row.hole_m };
    this.cycle.changed();
  }

  /** Spring and hole that are in motion become the case's own. */
  private use(): void {
    if (!this.view) return;
    const { draft } = this.shell;
    putAt(draft.case, "dancer.spring", this.view.study.spring);
    putAt(draft.case, "dancer.hole", `${Number((1000 * this.view.study.hole_m).toFixed(3))} mm`);
    this.form.replace(draft.case);
    byId("use-note").textContent = `The case now has spring ${this.view.study.spring} in the hole at ${this.shell.show.show(this.view.study.hole_m, "small_length")}.`;
    this.changed();
  }

  private showCycle(view: CycleView): void {
    this.view = view;
    const { study } = view;
    const show = this.shell.show;
    this.drawing.setCase({ ...view, turns: study.turns }, view.arm);
    byId("cycle-words").textContent = `Spring ${study.spring} in the hole at ${show.show(study.hole_m, "small_length")}, ${study.chosen}; ${show.show(study.turning_speed_rad_per_s, "turning_speed")}.`;
    this.drawCharts(study, view);
    const { steady } = study;
    byId("cycle-numbers").replaceChildren(
      el("p", { class: steady.is_smooth ? "verdict good" : "verdict bad" }, steady.is_smooth ? "✓ Smooth at this speed" : `✗ Not smooth: ${steady.faults.join("; ")}`),
      el("ul", { class: "findings" }, ...study.findings.map((each) => el("li", {}, each))),
      rows([
        ["tension, mean at full speed", show.show(study.tension_mean_n, "force")],
        ["tension, steady", show.range(steady.tension_low_n, steady.tension_peak_n, "force"), `ripple ${(100 * steady.tension_ripple).toFixed(1)} %`],
        ["tension, most in the cycle", show.show(study.tension_peak_n, "force"), `${show.show(study.breaking_hint_n, "force")} stretches the film in the carriage`],
        ["arm over the cycle", show.range(study.arm_angle_low_rad, study.arm_angle_high_rad, "angle"), `${(100 * steady.travel_used).toFixed(0)} % of the travel when steady`],
        ["stop hits, lower and upper", `${study.lower_hits}, ${study.upper_hits}`, `slack for ${study.slack_time_s.toFixed(2)} s`],
        ["swing that comes with the corners", `${(100 * steady.corner_share).toFixed(1)} %`],
        ["bounce", study.bounce_frequency_hz === null ? "none" : show.show(study.bounce_frequency_hz, "frequency"), study.bounce_damping === null ? "" : `damping ${study.bounce_damping.toFixed(2)}`],
        ["left over of film and energy", `${study.film_residual.toExponential(1)}, ${study.energy_residual.toExponential(1)}`],
      ]),
      table(
        "What comes so many times a turn",
        ["times a turn", "at", "swing", "tension", "amplified"],
        study.orders.map((each) => [String(each.order), show.short(each.frequency_hz, "frequency"), show.short(each.swing_rad, "angle"), show.short(each.tension_n, "force"), `${each.amplification.toFixed(2)} times${each.resonant ? ", close to the bounce" : ""}`]),
      ),
    );
    if (this.table) this.showSprings(this.table);
    this.player.setEnd(study.duration_s);
  }

  private drawCharts(study: CycleStudy, view: CycleView): void {
    const show = this.shell.show;
    const width = byId("cycle-charts").clientWidth;
    const over = (value: (sample: CycleStudy["samples"][number]) => number): [number, number][] => study.samples.map((each) => [each.time_s, value(each)]);
    const level = (value: number): [number, number][] => [
      [0, value],
      [study.duration_s, value],
    ];
    const x = { label: "time [s]", from: 0, to: study.duration_s };
    const all = [
      {
        title: `Film tension over the cycle: mean ${show.show(study.tension_mean_n, "force")}, most ${show.show(study.tension_peak_n, "force")}`,
        y: { label: `film tension [${show.line("force").symbol}]`, from: 0 },
        lines: [{ label: "tension", style: "main" as const, points: over((each) => show.number(each.tension_n, "force")) }],
      },
      {
        title: "Arm angle over the cycle, between its stops",
        y: { label: "arm angle [°]" },
        lines: [
          { label: "arm angle", style: "main" as const, points: over((each) => show.number(each.arm_angle_rad, "angle")) },
          { label: "lower stop", style: "faint" as const, points: level(show.number(view.arm.lower_stop_rad, "angle")) },
          { label: "upper stop", style: "faint" as const, points: level(show.number(view.arm.upper_stop_rad, "angle")) },
        ],
      },
      {
        title: "Film speed that the load asks for and that the drive gives",
        y: { label: `film speed [${show.line("speed").symbol}]`, from: 0 },
        lines: [
          { label: "given by the drive", style: "main" as const, points: over((each) => show.number(each.film_speed_m_per_s, "speed")) },
          { label: "asked for by the load", style: "second" as const, points: over((each) => show.number(each.film_demand_m_per_s, "speed")) },
        ],
      },
    ].map((chart) => ({ ...chart, x, width, height: 170 }));
    this.charts = all.map(drawChart);
    byId("cycle-charts").replaceChildren(...this.charts.flatMap((chart, index) => [chart.node, legend(all[index] as (typeof all)[number])]));
  }

  private showTime(time: number): void {
    const samples = this.view?.study.samples;
    if (!samples?.length) return;
    const index = samples.findIndex((each) => each.time_s >= time);
    const sample = samples[index < 0 ? samples.length - 1 : index];
    if (!sample) return;
    const show = this.shell.show;
    const words = `${sample.time_s.toFixed(1)} s: tension ${show.show(sample.tension_n, "force")}, arm at ${show.show(sample.arm_angle_rad, "angle")}`;
    byId("time").setAttribute("aria-valuetext", words);
    byId("time-words").textContent = words;
    this.drawing.show(sample.turntable_angle_rad, sample.arm_angle_rad);
    for (const chart of this.charts) chart.cursor(sample.time_s);
  }

  private async judge(): Promise<void> {
    const file = byId<HTMLInputElement>("trace-file").files?.[0];
    const state = byId("trace-state");
    if (!file) {
      state.textContent = "Choose a file first.";
      return;
    }
    const speed = byId<HTMLInputElement>("trace-speed").value.trim();
    const ask = {
      name: file.name,
      text: await file.text(),
      corners: Number(byId<HTMLInputElement>("trace-corners").value) || 4,
      reverse: byId<HTMLInputElement>("trace-reverse").checked,
      ...(speed ? { speed } : {}),
      ...(byId<HTMLInputElement>("trace-case").checked ? { case: this.shell.draft.case } : {}),
    };
    state.textContent = "Reading and analysing …";
    byId("trace-panel").dataset["state"] = "asking";
    try {
      this.showTrace(await send<TraceStudy>("POST", "/api/dancer/trace", ask));
      state.textContent = `Judged ${file.name}.`;
      byId("trace-panel").dataset["state"] = "fresh";
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      byId("trace-panel").dataset["state"] = "stale";
      state.textContent = error.problems.map((each) => `${each.field}: ${sentence(each)}`).join(" ");
    }
  }

  private showTrace(study: TraceStudy): void {
    this.trace = study;
    const show = this.shell.show;
    const kind = study.position_kind;
    const share = (value: number): string => `${(100 * value).toFixed(1)} %`;
    const turn = (points: number[]): [number, number][] => points.map((value, index) => [index / points.length, show.line(kind).factor * value]);
    const mean = {
      title: "The average turn of the trace",
      x: { label: "part of a turn", from: 0, to: 1 },
      y: { label: `about its mean [${show.line(kind).symbol}]` },
      lines: [
        { label: "recorded, average turn", style: "main" as const, points: turn(study.mean_turn) },
        ...(study.simulated ? [{ label: "the case's dancer, simulated", style: "second" as const, points: turn(study.simulated.simulated_turn_rad) }] : []),
      ],
      width: byId("trace-answer").clientWidth,
      height: 190,
    };
    byId("trace-answer").replaceChildren(
      el("p", { class: study.verdict === "smooth" ? "verdict good" : "verdict bad" }, `${study.verdict === "smooth" ? "✓" : "✗"} ${study.verdict}: ${study.sentence}`),
      el("ul", { class: "findings" }, ...study.trace_findings.map((each) => el("li", {}, el("span", {}, each.evidence), el("strong", { class: "try-first" }, `Try first: ${each.try_first}`)))),
      drawChart(mean).node,
      legend(mean),
      el("h3", {}, "How large, by times a turn"),
      this.orderBars(study),
      rows([
        ["read", `${study.rows.toLocaleString("en")} rows, ${show.show(study.duration_s, "time")}`, study.rows_missing ? `${study.rows_missing} left out` : ""],
        ["turn", show.show(study.turn_period_s, "time"), study.turn_is_certain ? `${study.turns_used} turns used` : "found in the trace, not certain"],
        ["swing, peak to peak", significantOf(show.line(kind).factor * study.swing_peak_to_peak, show.line(kind).symbol)],
        ["comes with the corners", share(study.corner_share)],
        ["repeats from turn to turn", share(study.repeating_share)],
        ["rings", share(study.bounce_share), study.bounce ? `${study.bounce.frequency_hz.toFixed(2)} ± ${study.bounce.frequency_error_hz.toFixed(2)} Hz, damping ${study.bounce.damping.toFixed(3)} ± ${study.bounce.damping_error.toFixed(3)}` : "no ringing found"],
        ["wanders slowly", share(study.slow_share)],
        ["stop hits, lower and upper", study.lower_hits === null ? "not counted" : `${study.lower_hits}, ${study.upper_hits}`],
      ]),
      el("p", { class: "quiet-words" }, `Limits of the verdict: ${study.thresholds_origin.replace(/; .*/, "")}. ${study.notes.join(" ")}`),
      cautions(study.cautions),
    );
  }

  private orderBars(study: TraceStudy): SVGSVGElement {
    const line = this.shell.show.line(study.position_kind);
    const most = Math.max(...study.order_amplitudes, 1e-12);
    const step = 340 / study.orders.length;
    const node = svg("svg", { class: "chart bars", viewBox: "0 0 360 110", role: "img", "aria-label": `Amplitudes by times a turn, the largest ${significantOf(line.factor * most, line.symbol)}` });
    study.orders.forEach((order, index) => {
      const height = (80 * (study.order_amplitudes[index] ?? 0)) / most;
      node.append(svg("rect", { class: "bar", x: 10 + index * step + 1, y: 88 - height, width: step - 2, height: Math.max(height, 0.5) }));
      if (order % 4 === 0 || order === 1) node.append(svg("text", { x: 10 + (index + 0.5) * step, y: 104, "text-anchor": "middle" }, String(order)));
    });
    return node;
  }
}

function significantOf(value: number, symbol: string): string {
  return `${Number(value.toPrecision(3))}${symbol === "°" ? "°" : ` ${symbol}`}`;
}
