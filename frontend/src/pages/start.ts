/** The short form to start with: a load, its film, its machine, what is asked; answered as it is typed. */

import type { Problem } from "../api";
import { ask, brief, reason, sentence } from "../api";
import { askFirst } from "../ask_first";
import { keepBegun } from "../begun";
import { byId, el } from "../dom";
import type { Table, Value } from "../draft";
import { confirmed, putAt, readToml, titleOf } from "../draft";
import type { CaseText, Predicted } from "../generated/api";
import { Glance, noAnswer } from "../glance";
import type { State } from "../live";
import { Live } from "../live";
import { confirmButton, problemsShown } from "../questions";
import { forgetText, keepInMind, rememberedValue } from "../remembered";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { say } from "../words";

const KEPT = "woold.start";
/** Stands in the case file, by whose first word a placeholder is known. */
const ORIGIN = "placeholder: usual value, nobody measured it here";

start(async () => {
  let page: StartPage | null = null;
  const shell = await openShell(() => page?.changed());
  page = new StartPage(shell);
  page.changed();
});

type Control = HTMLInputElement | HTMLSelectElement;

class StartPage {
  private readonly glance = new Glance(byId("glance"));
  private readonly controls = [...byId("guide").querySelectorAll<Control>("input, select")];
  /** Fields that were asked about and are right. */
  private asTyped: string[] = [];
  private readonly live: Live<Predicted>;
  /** What was typed so far, where the rest is missing: only whether it can be. */
  private readonly typed: Live<CaseText>;

  constructor(private readonly shell: Shell) {
    const kept = rememberedValue<Record<string, string>>(KEPT, {});
    for (const each of this.controls) {
      const text = kept[each.name];
      if (typeof text === "string") each.value = text;
      each.addEventListener("input", () => {
        this.asTyped = this.asTyped.filter((field) => !field.startsWith(each.name));
        this.keep();
        this.changed();
      });
    }
    this.live = new Live(
      (signal) =>
        ask("post", "/api/predict", { body: { case: this.table() }, query: { units: shell.show.system }, signal }),
      (view) => this.show(view),
      (state, problems) => this.tell(state, problems),
    );
    this.typed = new Live(
      (signal) => ask("post", "/api/case/write", { body: { case: this.table(true) }, signal }),
      ({ problems }) => this.tellTyped(problems),
      (state, problems) => state === "stale" && this.tellTyped(problems),
    );
    byId("guide").addEventListener("submit", (event) => event.preventDefault());
    byId("to-bench").addEventListener("click", () => this.guarded(() => this.goOn()));
    const file = byId<HTMLInputElement>("start-file");
    file.addEventListener("change", () =>
      this.guarded(async () => {
        const chosen = file.files?.[0];
        if (!chosen) return;
        const text = await chosen.text();
        file.value = "";
        await this.toBench(await readToml(text), true);
      }),
    );
  }

  changed(): void {
    const missing = this.missing();
    byId("missing").textContent = missing.length
      ? say("Still needed for a first answer: {fields}.", { fields: missing.map((each) => labelOf(each)).join(", ") })
      : "";
    if (missing.length) {
      this.live.stop();
      this.clear();
      byId("state").textContent = "";
      byId("resting").textContent = "";
      this.glance.none(say("not yet"), say("Fill in the load: its size, mass and tiers."));
      if (this.controls.some((each) => each.value.trim())) this.typed.changed();
      return;
    }
    this.typed.stop();
    this.live.changed();
  }

  private show(view: Predicted): void {
    this.glance.show(view.glance, view.verdict.holds);
    byId("resting").textContent = say(
      "It rests on {count} values that nobody measured: those left empty, and finer ones. The bench lists them with their ranges.",
      { count: view.prediction.rests_on.length },
    );
  }

  private missing(): Control[] {
    return this.controls.filter((each) => each.dataset.must && !each.value.trim());
  }

  /**
   * The case that the form says; what is left empty stands in it as a placeholder with its range.
   * @param isFilled what is missing stands in it as the example beside its field.
   */
  private table(isFilled = false): Table {
    const table: Table = { title: say("My load") };
    for (const each of this.controls) {
      const text = each.value.trim() || (isFilled && each.dataset.must && each.dataset.example) || "";
      if (text && each.name === "hold.targets.force") putAt(table, "hold.targets", [{ low: "0 m", force: text }]);
      else if (text) putAt(table, each.name, typed(each.name, text));
      else if (each.dataset.usual) putAt(table, each.name, placeholder(each));
    }
    // Without a way nothing stands against the load either.
    if (!this.control("transport.profiles").value) putAt(table, "transport", undefined);
    for (const field of this.asTyped) confirmed(table, field);
    return table;
  }

  private control(name: string): Control {
    const found = this.controls.find((each) => each.name === name);
    if (!found) throw new Error(`no field ${name}`);
    return found;
  }

  private tell(state: State, problems: Problem[]): void {
    byId("state").textContent = state === "fresh" ? say("Up to date") : state === "asking" ? say("Calculating …") : "";
    if (state === "asking") return;
    this.clear();
    const homeless = problems.filter((each) => !this.atField(each));
    byId("problems").replaceChildren(...problemsShown(homeless, (field) => this.confirm(field)));
    const [first] = problems;
    if (first) this.glance.none(noAnswer(problems), sentence(brief(first)));
  }

  /** Of a load that is not all there only what was typed itself is judged. */
  private tellTyped(problems: Problem[]): void {
    if (!this.missing().length) return;
    this.clear();
    for (const each of problems) this.atField(each, true);
  }

  private clear(): void {
    byId("problems").replaceChildren();
    for (const each of this.controls) {
      each.removeAttribute("aria-invalid");
      const line = byId(`${each.id}-error`);
      line.hidden = true;
      line.replaceChildren();
    }
  }

  private atField(problem: Problem, isTyped = false): boolean {
    const control = this.controls.find((each) => {
      const path = each.name === "hold.targets.force" ? "hold.targets" : each.name;
      return problem.field === path || problem.field.startsWith(`${path}.`) || problem.field.startsWith(`${path}[`);
    });
    if (!control || (isTyped && !control.value.trim())) return false;
    const line = byId(`${control.id}-error`);
    line.hidden = false;
    line.append(`${sentence(problem)} `);
    if (problem.kind === "question") line.append(confirmButton(problem.field, () => this.confirm(problem.field)));
    control.setAttribute("aria-invalid", "true");
    return true;
  }

  private confirm(field: string): void {
    this.asTyped.push(field);
    this.changed();
  }

  private keep(): void {
    const typed = this.controls.filter((each) => each.value).map((each) => [each.name, each.value]);
    if (typed.length) keepInMind(KEPT, JSON.stringify(Object.fromEntries(typed)));
    else forgetText(KEPT);
  }

  private guarded(action: () => Promise<void>): void {
    action().catch((error: unknown) => (byId("start-note").textContent = reason(error)));
  }

  private async goOn(): Promise<void> {
    const [first] = this.missing();
    if (first) {
      byId("start-note").textContent = say("Still needed for a first answer: {fields}.", {
        fields: this.missing()
          .map((each) => labelOf(each))
          .join(", "),
      });
      first.focus();
      return;
    }
    await this.toBench(this.table(), false);
  }

  private async toBench(table: Table, isFile: boolean): Promise<void> {
    const { draft } = this.shell;
    if (!draft.isSaved) {
      const words = say("“{title}” on the bench has changes that are not saved.", { title: titleOf(draft.case) });
      const answer = await askFirst(
        say("Put another case on the bench?"),
        [el("p", {}, words)],
        [{ code: "go", label: say("Put it there; Undo brings the other one back"), isMain: true }],
      );
      if (answer !== "go") return;
    }
    draft.replace(table, { id: null, revision: null, isSaved: isFile });
    keepBegun();
    location.assign("/");
  }
}

function labelOf(control: Control): string {
  return document.querySelector(`label[for="${control.id}"]`)?.textContent?.toLowerCase() ?? control.name;
}

function typed(name: string, text: string): Value {
  if (name === "transport.profiles") return [text];
  if (name === "transport.supported") return text.split(", ");
  return /^\d+(\.\d+)?$/.test(text) && (name === "load.tiers" || name.endsWith("_wraps")) ? Number(text) : text;
}

function placeholder(control: Control): Value {
  const { usual = "", low = "", high = "" } = control.dataset;
  return { value: usual, origin: ORIGIN, low, high };
}
