/** Two film carriages side by side: lacings to move, what they deliver, what the other one saves. */

import { get, send, sentence } from "../api";
import type { Problem } from "../api";
import type { Finding } from "../bench_data";
import { drawChart, legend } from "../chart";
import type { Chart, Line } from "../chart";
import { byId, debounced, download, el, svg } from "../dom";
import type { Table, Value } from "../draft";
import { keepDraft, putAt, titleOf, typedOf, valueAt, writeToml } from "../draft";
import { CaseForm, asText } from "../form";
import type { Drawing } from "../lacing";
import { Lacing } from "../lacing";
import { lengthLike } from "../length_text";
import { Live } from "../live";
import type { State } from "../live";
import { cautions, findings, rows, table } from "../results";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import type { Shower } from "../units";

interface Report {
  prestretch_geared: number;
  prestretch_delivered: number;
  prestretch_governed_by: string;
  prestretch_with_tenth_less_grip: number;
  is_drawn: boolean;
  gap_m: number;
  contact_angle_slow_rad: number;
  contact_angle_fast_rad: number;
  grip_margin_slow: number;
  grip_margin_fast: number;
  film_width_on_load_m: number;
  neck_down_m: number;
  force_to_load_n: number;
  force_to_load_min_n: number;
  curve: { force_to_load_n: number; prestretch_delivered: number; is_drawn: boolean }[];
  findings: Finding[];
  cautions: string[];
}

interface View {
  report: Report;
  drawing: Drawing | null;
}

interface Arm {
  film_mass_kg: number;
  turns: number;
  cycle_time_s: number;
  rise_per_turn_m: number;
  film_cost: number | null;
  containment_min_n: number;
}

interface Interval {
  low: number;
  high: number;
}

interface Comparison {
  base: Arm;
  candidate: Arm;
  saving: number;
  saving_interval: Interval;
  candidate_uses_less_share: number;
  causes: { cause: string; alone: number; share: number; interval: Interval }[];
  spending: { film_saved_kg: number; film_saved_per_year_kg: number; cost_saved_per_year: number | null; extra_turns: number; overlap_at_equal_film: number | null; layers_mean_at_equal_film: number | null };
  currency: string;
  draws: number;
  cautions: string[];
}

interface Example {
  title: string;
  carriage: Table;
}

const KEY = "woold.candidate";
const FINAL_DRAWS = 10_000;
const LIVE_DRAWS = 400;

start(async () => {
  let page: CarriagePage | null = null;
  const { carriages } = await get<{ carriages: Example[] }>("/api/carriage/examples");
  const shell = await openShell(() => page?.redraw());
  page = new CarriagePage(shell, carriages);
  await page.open();
});

/** One of the two carriages: its drawing, its inputs, its numbers. */
class ArmPanel {
  view: View | null = null;
  private readonly lacing: Lacing;
  private readonly form: CaseForm;
  private readonly live: Live<View>;
  private isMoving = false;

  constructor(
    private readonly name: "base" | "candidate",
    readonly table: Table,
    private readonly shell: Shell,
    private readonly examples: Example[],
    private readonly edited: () => void,
    private readonly answered: () => void,
  ) {
    this.lacing = new Lacing(byId(`${name}-drawing`), name === "base" ? "Base carriage" : "Candidate carriage", shell.show, (index, x, y) => this.move(index, x, y));
    this.form = new CaseForm(
      byId(`${name}-form`),
      shell.fields,
      table,
      () => {
        this.isMoving = false;
        this.changed();
      },
      (section) => section.name === "carriage",
    );
    this.live = new Live<View>(
      (signal) => send("POST", "/api/carriage", { case: this.table }, signal),
      (view) => this.show(view),
      (state, problems) => this.tell(state, problems),
      0,
    );
    this.choices();
  }

  ask(): Promise<void> {
    return this.live.now();
  }

  redraw(): void {
    if (this.view) this.show(this.view);
  }

  private choices(): void {
    const choice = byId<HTMLSelectElement>(`${this.name}-start`);
    choice.replaceChildren(el("option", { value: "" }, "Start from …"), ...this.examples.map((each, index) => el("option", { value: String(index) }, each.title)));
    choice.addEventListener("change", () => {
      const chosen = this.examples[Number(choice.value)];
      if (choice.value === "" || !chosen) return;
      this.take(structuredClone(chosen.carriage));
      choice.value = "";
    });
  }

  take(carriage: Table): void {
    this.table["carriage"] = carriage;
    this.form.replace(this.table);
    this.isMoving = false;
    this.changed();
  }

  private move(index: number, x: number, y: number): void {
    for (const [axis, metres] of [
      ["x", x],
      ["y", y],
    ] as const) {
      const path = `carriage.rollers[${index}].${axis}`;
      const before = valueAt(this.table, path);
      const typed = typedOf(before);
      const text = lengthLike(typed === undefined ? "mm" : asText(typed), metres);
      const isTable = typeof before === "object" && !Array.isArray(before);
      putAt(this.table, isTable ? `${path}.value` : path, text);
      this.form.refill(path);
    }
    this.isMoving = true;
    this.changed();
  }

  private changed(): void {
    this.edited();
    this.live.changed();
  }

  private show(view: View): void {
    const { report, drawing } = view;
    this.view = view;
    this.lacing.setDrawing(drawing, this.isMoving);
    byId(`${this.name}-undrawn`).hidden = drawing !== null;
    const show = this.shell.show;
    byId(`${this.name}-numbers`).replaceChildren(
      rows([
        ["pre-stretch by the gears", show.show(report.prestretch_geared, "elongation")],
        ["pre-stretch delivered", report.is_drawn ? show.show(report.prestretch_delivered, "elongation") : "not held", `set by the ${report.prestretch_governed_by}`],
        ["contact angle, slow and fast", `${show.show(report.contact_angle_slow_rad, "angle")}, ${show.show(report.contact_angle_fast_rad, "angle")}`],
        ["gap", show.show(report.gap_m, "small_length")],
        ["grip, slow and fast", `${report.grip_margin_slow.toFixed(2)}, ${report.grip_margin_fast.toFixed(2)}`, "times what is asked for"],
        ["held from a force to load of", show.show(report.force_to_load_min_n, "force")],
        ["if the grip falls a tenth short", show.show(report.prestretch_with_tenth_less_grip, "elongation")],
        ["film width on the load", show.show(report.film_width_on_load_m, "small_length"), `neck-down ${show.show(report.neck_down_m, "small_length")}`],
      ]),
      findings(report.findings, (field) => void this.form.focus(field)),
    );
    this.answered();
  }

  private tell(state: State, problems: Problem[]): void {
    const panel = byId(`${this.name}-panel`);
    panel.dataset["state"] = state;
    byId(`${this.name}-state`).textContent = state === "fresh" ? "Up to date" : state === "asking" ? "Calculating …" : "Cannot be; what is shown is older";
    if (state === "stale") this.lacing.setOld();
    if (state === "asking") return;
    const homeless = this.form.showProblems(problems);
    byId(`${this.name}-problems`).replaceChildren(
      ...(state === "stale" ? problems : homeless).slice(0, 4).map((each) => el("p", { class: "error" }, `${each.field}: ${sentence(each)}`)),
    );
  }
}

class CarriagePage {
  private readonly base: ArmPanel;
  private readonly candidate: ArmPanel;
  private comparison: Comparison | null = null;
  private readonly live: Live<Comparison>;
  private readonly finish = debounced(1500, () => this.finished());
  private draws = LIVE_DRAWS;
  private isOpen = false;

  constructor(
    private readonly shell: Shell,
    examples: Example[],
  ) {
    const draft = shell.draft;
    const candidate = structuredClone(draft.case);
    candidate["title"] = `${titleOf(draft.case)}, other carriage`;
    candidate["carriage"] = keptCandidate() ?? structuredClone(examples[1]?.carriage ?? draft.case["carriage"] ?? {});
    const keepBase = (): void => {
      draft.isSaved = false;
      keepDraft(draft);
    };
    const keepCandidate = (): void => localStorage.setItem(KEY, JSON.stringify(candidate["carriage"]));
    this.base = new ArmPanel("base", draft.case, shell, examples, keepBase, () => this.changed());
    this.candidate = new ArmPanel("candidate", candidate, shell, examples, keepCandidate, () => this.changed());
    byId("case-title").textContent = titleOf(draft.case);
    this.live = new Live<Comparison>(
      (signal) => send("POST", "/api/carriage/compare", { base: this.base.table, candidate: this.candidate.table, draws: this.draws }, signal),
      (answer) => this.show(answer),
      (state, problems) => {
        byId("comparison").dataset["state"] = state;
        byId("comparison-state").textContent = state === "fresh" ? "Up to date" : state === "asking" ? "Calculating …" : `Not compared: ${problems.map((each) => each.field).join(", ")}`;
      },
      0,
    );
    byId("take-candidate").addEventListener("click", () => {
      this.base.take(structuredClone(candidate["carriage"] as Table));
      byId("carriage-note").textContent = "The case on the bench now has the candidate's carriage.";
    });
    byId("download-candidate").addEventListener("click", () => {
      writeToml(candidate)
        .then((text) => download("candidate.toml", text, "application/toml"))
        .catch((error: unknown) => (byId("carriage-note").textContent = String(error)));
    });
  }

  async open(): Promise<void> {
    await Promise.all([this.base.ask(), this.candidate.ask()]);
    this.isOpen = true;
    this.changed();
  }

  redraw(): void {
    this.base.redraw();
    this.candidate.redraw();
    if (this.comparison) this.show(this.comparison);
  }

  private changed(): void {
    this.curve();
    if (!this.isOpen) return;
    this.draws = LIVE_DRAWS;
    this.live.changed();
    this.finish();
  }

  /** Nothing moved for a while: the ranges get all of their draws. */
  private finished(): void {
    this.draws = FINAL_DRAWS;
    this.live.changed();
  }

  private curve(): void {
    const show = this.shell.show;
    const one = (panel: ArmPanel, label: string, style: Line["style"]): Line[] =>
      panel.view
        ? [{ label, style, points: panel.view.report.curve.map((each) => [show.number(each.force_to_load_n, "force"), show.number(each.prestretch_delivered, "elongation")]) }]
        : [];
    const now = this.base.view?.report;
    const chart: Chart = {
      title: "Delivered pre-stretch against force to load, base and candidate",
      x: { label: `force to load [${show.line("force").symbol}]`, from: 0 },
      y: { label: `delivered pre-stretch [${show.line("elongation").symbol}]`, from: 0 },
      lines: [...one(this.base, "base", "second"), ...one(this.candidate, "candidate", "main")],
      marks: [this.base, this.candidate].flatMap((panel) =>
        panel.view ? [{ x: show.number(panel.view.report.force_to_load_n, "force"), y: show.number(panel.view.report.prestretch_delivered, "elongation"), label: "force to load of this case" }] : [],
      ),
      height: 260,
      width: byId("curve").clientWidth,
    };
    byId("curve").replaceChildren(drawChart(chart).node, legend(chart), el("p", { class: "quiet-words" }, now ? `Rings: this case's ${show.show(now.force_to_load_n, "force")}.` : ""));
  }

  private show(c: Comparison): void {
    this.comparison = c;
    const show = this.shell.show;
    const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;
    const range = (each: Interval): string => `${percent(each.low)} to ${percent(each.high)}`;
    const { spending } = c;
    const perYear = spending.cost_saved_per_year === null ? "" : `, ${Math.round(spending.cost_saved_per_year).toLocaleString("en")} ${c.currency}`;
    const less = c.saving >= 0 ? "less" : "more";
    byId("saving").replaceChildren(
      el("p", { class: "headline" }, `The candidate uses ${percent(Math.abs(c.saving))} ${less} film on the same load at the same force and overlap.`),
      el("p", { class: "quiet-words" }, `90 % of ${c.draws.toLocaleString("en")} draws of what is not known exactly lie in ${range(c.saving_interval)}; it uses less in ${(100 * c.candidate_uses_less_share).toFixed(0)} % of them.`),
      savingBars(c, percent),
      table("Film saved, of the base's", ["cause", "if changed alone", "its part", "range"], c.causes.map((each) => [each.cause, percent(each.alone), percent(each.share), range(each.interval)])),
      table("Same load, same force to load, same overlap", ["what", "base", "candidate"], armRows(c, show)),
      rows([
        ["less film, same containment", `${show.show(spending.film_saved_kg, "small_mass")} a load`, `${show.show(spending.film_saved_per_year_kg, "mass")} a year${perYear}`],
        ["or more turns, same film", `${spending.extra_turns.toFixed(1)} turns`, spending.overlap_at_equal_film === null ? "" : `an overlap of ${percent(spending.overlap_at_equal_film)}, ${(spending.layers_mean_at_equal_film ?? 0).toFixed(1)} layers on average`],
      ]),
      cautions(c.cautions),
    );
  }
}

function armRows(c: Comparison, show: Shower): string[][] {
  const row = (name: string, key: keyof Arm, kind: string): string[] => [name, show.short(c.base[key], kind), show.short(c.candidate[key], kind)];
  return [
    row("film", "film_mass_kg", "small_mass"),
    ["turns", c.base.turns.toFixed(1), c.candidate.turns.toFixed(1)],
    row("rise per turn", "rise_per_turn_m", "small_length"),
    row("cycle time", "cycle_time_s", "time"),
    row("containment force, least", "containment_min_n", "force"),
  ];
}

/** The saving by cause as bars, with the range of each as a thin line. */
function savingBars(c: Comparison, percent: (share: number) => string): SVGSVGElement {
  const all = [...c.causes.map((each) => ({ name: each.cause, share: each.share, interval: each.interval }))];
  const most = Math.max(0.01, ...all.flatMap((each) => [each.share, each.interval.high]));
  const least = Math.min(0, ...all.flatMap((each) => [each.share, each.interval.low]));
  const px = (share: number): number => 150 + ((share - least) / (most - least)) * 200;
  const node = svg("svg", { class: "chart bars", viewBox: `0 0 420 ${all.length * 30 + 6}`, role: "img", "aria-label": `Saving by cause: ${all.map((each) => `${each.name} ${percent(each.share)}`).join(", ")}` });
  all.forEach((each, index) => {
    const y = index * 30 + 6;
    const [from, to] = [px(Math.min(0, each.share)), px(Math.max(0, each.share))];
    node.append(
      svg("text", { x: 144, y: y + 15, "text-anchor": "end" }, each.name),
      svg("rect", { class: "bar", x: from, y, width: Math.max(1, to - from), height: 20 }),
      svg("line", { class: "whisker", x1: px(each.interval.low), x2: px(each.interval.high), y1: y + 10, y2: y + 10 }),
      svg("text", { x: 414, y: y + 15, "text-anchor": "end" }, percent(each.share)),
    );
  });
  node.append(svg("line", { class: "grid", x1: px(0), x2: px(0), y1: 0, y2: all.length * 30 }));
  return node;
}

function keptCandidate(): Table | null {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "null") as Value;
    return kept !== null && typeof kept === "object" && !Array.isArray(kept) ? kept : null;
  } catch {
    return null;
  }
}
