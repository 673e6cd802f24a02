/** The least film that holds: a search that tells its steps, its proof, and a front to pick from. */

import { Refused, reason, send, sentence } from "../api";
import type { Problem } from "../api";
import { changedSettings, putSettings, settingText, SETTING_NAMES } from "../design_settings";
import type { DesignResult, FrontPoint, Program, Settings } from "../design_data";
import { byId, el } from "../dom";
import { keepDraft, titleOf } from "../draft";
import { CaseForm } from "../form";
import { frontPlot } from "../front_plot";
import { cautions, findings, rows, table } from "../results";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";

start(async () => {
  let page: DesignPage | null = null;
  const shell = await openShell(() => page?.redraw());
  page = new DesignPage(shell);
});

const SECTIONS = new Set(["hold", "transport", "design"]);

class DesignPage {
  private readonly form: CaseForm;
  private job: string | null = null;
  private stream: EventSource | null = null;
  private result: DesignResult | null = null;
  private picked: FrontPoint | null = null;
  private began = 0;
  private readonly run = byId<HTMLButtonElement>("run");
  private readonly stop = byId<HTMLButtonElement>("cancel");

  constructor(private readonly shell: Shell) {
    const { draft, fields } = shell;
    byId("case-title").textContent = titleOf(draft.case);
    this.form = new CaseForm(
      byId("asks-form"),
      fields,
      draft.case,
      () => {
        draft.isSaved = false;
        keepDraft(draft);
        this.old();
      },
      (section) => SECTIONS.has(section.name),
    );
    this.run.addEventListener("click", () => void this.begin());
    this.stop.addEventListener("click", () => void this.cancel());
    for (const id of ["goal", "profiled", "probability"]) byId(id).addEventListener("input", () => this.old());
  }

  redraw(): void {
    if (this.result) this.show(this.result);
  }

  /** What is shown belongs to an earlier question. */
  private old(): void {
    if (!this.result) return;
    byId("design-panel").dataset["state"] = "stale";
    byId("design-state").textContent = "Changed since; what is shown is of the case before. Search again.";
  }

  private async begin(): Promise<void> {
    this.finish();
    this.began = performance.now();
    this.say("Starting …", "asking");
    this.run.disabled = true;
    this.stop.disabled = false;
    const probability = byId<HTMLInputElement>("probability").value.trim();
    const ask = {
      case: this.shell.draft.case,
      goal: byId<HTMLSelectElement>("goal").value,
      profiled: byId<HTMLInputElement>("profiled").checked,
      front: true,
      ...(probability ? { probability } : {}),
    };
    try {
      const { job } = await send<{ job: string }>("POST", "/api/design", ask);
      this.form.showProblems([]);
      this.listen(job);
    } catch (error) {
      this.finish();
      this.fail(error instanceof Refused ? error.problems : [{ field: "server", given: reason(error), allowed: "", todo: "" }]);
    }
  }

  private listen(job: string): void {
    this.job = job;
    const stream = new EventSource(`/api/design/${job}/events`);
    this.stream = stream;
    byId("progress").hidden = false;
    const dataOf = (event: Event): unknown => JSON.parse((event as MessageEvent<string>).data);
    stream.addEventListener("progress", (event) => {
      const { step } = dataOf(event) as { step: string };
      const part = /, (\d+) of (\d+)$/.exec(step);
      const bar = byId<HTMLProgressElement>("progress");
      if (part) bar.value = Number(part[1]) / Number(part[2]);
      else bar.removeAttribute("value");
      this.say(`${step} … (${((performance.now() - this.began) / 1000).toFixed(0)} s)`, "asking");
    });
    stream.addEventListener("result", (event) => {
      this.finish();
      this.picked = null;
      this.show(dataOf(event) as DesignResult);
      this.say("Up to date", "fresh");
    });
    stream.addEventListener("problems", (event) => {
      this.finish();
      this.fail(dataOf(event) as Problem[]);
    });
    stream.addEventListener("cancelled", () => {
      this.finish();
      this.say(this.result ? "Cancelled; what is shown is of an earlier search." : "Cancelled.", this.result ? "stale" : "idle");
    });
  }

  private async cancel(): Promise<void> {
    if (!this.job) return;
    const job = this.job;
    this.stop.disabled = true;
    try {
      await send("DELETE", `/api/design/${job}`);
    } catch (error) {
      this.say(reason(error), "stale");
    }
  }

  private finish(): void {
    this.stream?.close();
    this.stream = null;
    this.job = null;
    this.run.disabled = false;
    this.stop.disabled = true;
    byId("progress").hidden = true;
  }

  private say(words: string, state: string): void {
    byId("design-panel").dataset["state"] = state;
    byId("design-state").textContent = words;
  }

  private fail(problems: Problem[]): void {
    const homeless = this.form.showProblems(problems);
    byId("design-problems").replaceChildren(...homeless.map((each) => el("p", { class: "error" }, `${each.field}: ${sentence(each)}`)));
    this.say(`${problems.length} to mend: ${problems.map((each) => each.field).join(", ")}`, "stale");
  }

  private show(result: DesignResult): void {
    this.result = result;
    byId("design-problems").replaceChildren();
    const show = this.shell.show;
    const { chosen, today } = result;
    const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;
    const goTo = (field: string): void => void this.form.focus(field);
    const parts: HTMLElement[] = [];
    if (!result.possible) {
      parts.push(el("p", { class: "verdict bad" }, "✗ No program holds what is asked within these limits."));
      parts.push(findings(result.obstacles.map((each) => ({ code: each.limit, field: each.field, message: each.message })), goTo));
    }
    if (chosen) {
      const saved = result.film_saved ?? 0;
      parts.push(el("p", { class: "headline" }, `${percent(Math.abs(saved))} ${saved >= 0 ? "less" : "more"} film than today: ${show.show(chosen.film_mass_kg, "small_mass")} a load instead of ${show.show(today.film_mass_kg, "small_mass")}.`));
      parts.push(this.comparison("new", today, chosen.settings, chosen));
      parts.push(el("button", { type: "button", class: "main", click: () => this.put(chosen.settings) }, "Put these settings on the bench"));
      parts.push(
        rows([
          ["no program of any kind needs less than", show.show(result.film_bound_kg, "small_mass"), result.gap === null ? "" : `this one is ${percent(result.gap)} above`],
          ["programs dealt with", (result.programs_evaluated + result.programs_pruned).toLocaleString("en"), `in ${result.search_time_s.toFixed(1)} s`],
          ...(result.profiled ? [["with a rise that varies with height", show.show(result.profiled.program.film_mass_kg, "small_mass"), `${percent(result.profiled.film_saved)} less than today`] as [string, string, string]] : []),
          ...(result.robustness ? [["holds in so many draws of what is not known exactly", percent(result.robustness.chosen), `asked for ${percent(result.robustness.asked)}; today's ${percent(result.robustness.today)}`] as [string, string, string]] : []),
        ]),
      );
    }
    if (result.targets.length) {
      parts.push(
        table(
          result.as_today ? "What must be held: as much as today's program holds, as nothing is asked for" : "What must be held",
          ["zone above the deck", "asked", "today", "new"],
          result.targets.map((each) => [show.range(each.low_m, each.high_m, "length"), show.short(each.asked_n, "force"), show.short(each.held_today_n, "force"), show.short(each.held_n, "force")]),
        ),
      );
    }
    if (result.fewer_changes.length) {
      parts.push(
        table(
          "Fewer changes",
          ["changes", "film saved", "of the gain", "which"],
          result.fewer_changes.map((each) => [String(each.changes), percent(each.film_saved), percent(each.share_of_gain), each.changed.map((name) => SETTING_NAMES[name as keyof Settings] ?? name).join(", ")]),
        ),
      );
    }
    if (result.binding.length) {
      parts.push(el("h3", {}, "What binds"), findings(result.binding.map((each) => ({ code: each.limit, field: each.field, message: each.message })), goTo));
    }
    parts.push(el("h3", {}, "Findings"), findings(result.findings, goTo), cautions(result.cautions));
    byId("design-answer").replaceChildren(...parts);
    this.showFront(result);
  }

  private showFront(result: DesignResult): void {
    const host = byId("front");
    if (!result.front.length) {
      host.replaceChildren(el("p", { class: "quiet-words" }, "No front for this search."));
      return;
    }
    const show = this.shell.show;
    const picked = this.picked;
    const pick = (point: FrontPoint): void => {
      const index = result.front.indexOf(point);
      this.picked = point;
      this.showFront(result);
      host.querySelectorAll<SVGGElement>(".pick")[index]?.focus();
    };
    host.replaceChildren(
      frontPlot(result, show, picked, pick),
      el("p", { class: "quiet-words" }, "Each dot is a program that no other beats in film, containment and time at once. Choose one to see its settings."),
      ...(picked
        ? [
            el("h3", {}, "The program picked"),
            this.comparison("picked", result.today, picked.settings, picked),
            picked.share_of_targets !== null && picked.share_of_targets < 1
              ? el("p", { class: "verdict bad" }, `✗ Holds ${(100 * picked.share_of_targets).toFixed(0)} % of what is asked.`)
              : el("p", { class: "verdict good" }, "✓ Holds what is asked."),
            el("button", { type: "button", class: "main", click: () => this.put(picked.settings) }, "Put the picked program on the bench"),
          ]
        : []),
    );
  }

  private comparison(word: "new" | "picked", today: Program, settings: Settings, program: { film_mass_kg: number; cycle_time_s: number; containment_later_min_n: number }): HTMLElement {
    const show = this.shell.show;
    const changed = changedSettings(today.settings, settings);
    const names = Object.keys(SETTING_NAMES) as (keyof Settings)[];
    const row = (name: string, key: "film_mass_kg" | "cycle_time_s" | "containment_later_min_n", kind: string): string[] => [name, show.short(today[key], kind), show.short(program[key], kind), ""];
    return table(`Settings, today and ${word}`, ["setting", "today", word, "to do"], [
      ...names.map((name) => [SETTING_NAMES[name], settingText(today.settings, name, show), settingText(settings, name, show), changed.includes(name) ? "change" : ""]),
      row("film per load", "film_mass_kg", "small_mass"),
      row("cycle time", "cycle_time_s", "time"),
      row("containment force, least", "containment_later_min_n", "force"),
    ]);
  }

  private put(settings: Settings): void {
    const { result } = this;
    if (!result) return;
    const { draft } = this.shell;
    putSettings(draft.case, result.today.settings, settings);
    draft.isSaved = false;
    keepDraft(draft);
    byId("put-note").replaceChildren("The case on the bench now has these settings. Try them in small steps. ", el("a", { href: "/" }, "To the bench"));
    this.old();
  }
}
