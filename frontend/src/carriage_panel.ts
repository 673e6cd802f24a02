/** One of two carriages: its drawing, its inputs, its numbers. */

import type { Problem } from "./api";
import { ask } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import type { Table } from "./draft";
import { putAt, typedOf, valueAt } from "./draft";
import { CaseForm } from "./form";
import { asText } from "./form_text";
import type { CarriageView, ExampleCarriage } from "./generated/api";
import { Lacing } from "./lacing";
import { lengthLike } from "./length_text";
import type { State } from "./live";
import { Live, stateWords } from "./live";
import { problemsShown } from "./questions";
import type { Shell } from "./shell";
import { say } from "./words";

export interface Told {
  /** The carriage was changed. */
  edited(): void;
  /** The server has answered. */
  answered(): void;
  /** The server has refused: the carriage cannot be. */
  refused(): void;
}

export class CarriagePanel {
  view: CarriageView | null = null;
  /** Whether what is shown is of the carriage as it stands. */
  state: State = "asking";
  private readonly lacing: Lacing;
  private readonly form: CaseForm;
  private readonly live: Live<CarriageView>;
  private isMoving = false;

  constructor(
    private readonly name: "base" | "candidate",
    readonly table: Table,
    shell: Shell,
    private readonly examples: ExampleCarriage[],
    private readonly told: Told,
  ) {
    const words = name === "base" ? say("Base carriage") : say("Candidate carriage");
    this.lacing = new Lacing(byId(`${name}-drawing`), words, shell.show, (index, x, y) => this.move(index, x, y));
    const changed = (): void => {
      this.isMoving = false;
      this.changed();
    };
    this.form = new CaseForm(
      byId(`${name}-form`),
      shell.fields,
      table,
      changed,
      (section) => section.name === "carriage",
    );
    this.live = new Live<CarriageView>(
      (signal) =>
        ask("post", "/api/carriage", { body: { case: this.table }, query: { units: shell.show.system }, signal }),
      (view) => this.show(view),
      (state, problems) => this.tell(state, problems),
      0,
    );
    this.choices();
    byId(`${name}-fit`).addEventListener("click", () => this.bringBack());
  }

  /** Shows every roller again, wherever it was moved to. */
  private bringBack(): void {
    this.isMoving = false;
    this.lacing.setDrawing(this.view?.drawing ?? null);
  }

  ask(): Promise<void> {
    return this.live.now();
  }

  private choices(): void {
    const choice = byId<HTMLSelectElement>(`${this.name}-start`);
    const options = this.examples.map((each, index) => el("option", { value: String(index) }, each.title));
    choice.replaceChildren(el("option", { value: "" }, say("Start from …")), ...options);
    choice.addEventListener("change", () => {
      const chosen = this.examples[Number(choice.value)];
      if (choice.value === "" || !chosen) return;
      this.take(structuredClone(chosen.carriage) as Table);
    });
    // Not sooner: by the arrow keys one comes to each choice over those before it.
    choice.addEventListener("blur", () => {
      choice.value = "";
    });
  }

  take(carriage: Table): void {
    this.table.carriage = carriage;
    this.form.replace(this.table);
    this.isMoving = false;
    this.changed();
  }

  /** The carriage was replaced elsewhere. */
  refresh(): void {
    this.form.replace(this.table);
    this.isMoving = false;
    this.live.changed();
  }

  private move(index: number, x: number, y: number): void {
    this.put(`carriage.rollers[${index}].x`, x);
    this.put(`carriage.rollers[${index}].y`, y);
    this.isMoving = true;
    this.changed();
  }

  private put(path: string, metres: number): void {
    const before = valueAt(this.table, path);
    const typed = typedOf(before);
    const text = lengthLike(typed === undefined ? "mm" : asText(typed), metres);
    const isTable = typeof before === "object" && !Array.isArray(before);
    putAt(this.table, isTable ? `${path}.value` : path, text);
    this.form.refill(path);
  }

  private changed(): void {
    this.told.edited();
    this.live.changed();
  }

  private show(view: CarriageView): void {
    this.view = view;
    this.lacing.setDrawing(view.drawing, this.isMoving);
    byId<HTMLButtonElement>(`${this.name}-fit`).disabled = view.drawing === null;
    this.form.showIdle(view.idle);
    byId(`${this.name}-undrawn`).hidden = view.drawing !== null;
    byId(`${this.name}-numbers`).replaceChildren(...blocksShown(view.blocks, this.form.ways));
    this.told.answered();
  }

  private tell(state: State, problems: Problem[]): void {
    this.state = state;
    byId(`${this.name}-panel`).dataset.state = state;
    if (state === "stale") this.told.refused();
    byId(`${this.name}-state`).textContent = stateWords(state);
    if (state === "stale") this.lacing.setOld();
    if (state === "asking") return;
    const homeless = this.form.showProblems(problems);
    const shown = (state === "stale" ? problems : homeless).slice(0, 4);
    byId(`${this.name}-problems`).replaceChildren(...problemsShown(shown, (field) => this.form.confirm(field)));
  }
}
