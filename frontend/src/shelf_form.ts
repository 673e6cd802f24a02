/** The form that puts a version of a thing on the shelf: problems and questions stand at its fields. */

import type { Problem } from "./api";
import { ask, problemsIn, sentence } from "./api";
import { askFirst } from "./ask_first";
import { byId, el } from "./dom";
import type { Table } from "./draft";
import { CaseForm } from "./form";
import type { KindLines, ShelfForms } from "./generated/api";
import { problemsShown } from "./questions";
import { keepInMind, rememberedTable } from "./remembered";
import type { Thing } from "./shelf_lines";
import type { Shell } from "./shell";
import { say } from "./words";

interface Ways {
  kindsNow(): KindLines[];
  added(thing: Thing, told: string): Promise<void>;
}

/** Fields that a case's table has, and a thing on the shelf has not. */
const FILM = "films";

const KEPT = "woold.thing";

/** What is typed of each kind of thing, kept for this tab until it is on the shelf. */
interface KeptThings {
  kind: string;
  name: string;
  tables: Record<string, Table>;
}

export class ThingForm {
  private readonly kind = byId<HTMLSelectElement>("add-kind");
  private readonly name = byId<HTMLInputElement>("add-thing");
  private table: Table = {};
  private form: CaseForm | null = null;
  private readonly kept: KeptThings = rememberedTable(KEPT, { kind: "", name: "", tables: {} }, "sessionStorage");

  constructor(
    private readonly shell: Shell,
    private readonly forms: ShelfForms,
    private readonly ways: Ways,
  ) {
    this.kind.addEventListener("change", () => {
      this.startKept();
      this.keep();
    });
    this.name.addEventListener("input", () => {
      this.tellVersion();
      this.keep();
    });
    byId("fill").addEventListener("click", () => void this.whenFree(() => this.fillFromCase()));
    byId("add-form").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.put();
    });
  }

  /** The kinds to choose from; what is being typed stays. */
  showKinds(): void {
    const chosen = this.kind.value;
    this.kind.replaceChildren(...this.ways.kindsNow().map((each) => el("option", { value: each.kind }, each.one)));
    if (chosen) this.kind.value = chosen;
    if (!this.form) {
      const { kind, name } = this.kept;
      if ([...this.kind.options].some((each) => each.value === kind)) this.kind.value = kind;
      this.name.value = name;
      this.startKept();
    }
    this.tellVersion();
  }

  /** The kind that another page asks for. */
  begin(kind: string | null): void {
    if (!kind || ![...this.kind.options].some((each) => each.value === kind)) return;
    this.kind.value = kind;
    this.startKept();
    byId("add-panel").scrollIntoView({ block: "start" });
  }

  /** A thing as it stands, to be changed. */
  change({ kind, name }: Thing, typed: Table, right: string[]): void {
    void this.whenFree(() => {
      this.kind.value = kind;
      this.name.value = name;
      this.start({ [kind]: structuredClone(typed), ...asTyped(right.map((each) => `${kind}.${each}`)) });
      byId("add-name").focus();
      byId("add-panel").scrollIntoView({ block: "start" });
    }, kind);
  }

  /** Does what puts something else into the form, once nothing that was typed is lost by it. */
  private async whenFree(action: () => void, kind = this.kind.value): Promise<void> {
    if (this.kept.tables[kind]) {
      const answer = await askFirst(
        say("Put something else into the form?"),
        [el("p", {}, say("What was typed there is not on the shelf yet."))],
        [{ code: "go", label: say("Put it there: what was typed is lost"), isMain: true }],
      );
      if (answer !== "go") return;
    }
    delete this.kept.tables[kind];
    action();
  }

  /** What was typed of the kind that is chosen, as it was left. */
  private startKept(): void {
    this.start(structuredClone(this.kept.tables[this.kind.value] ?? {}));
  }

  private keep(): void {
    this.kept.kind = this.kind.value;
    this.kept.name = this.name.value;
    keepInMind(KEPT, JSON.stringify(this.kept), "sessionStorage");
  }

  private start(table: Table): void {
    const own = this.forms.forms.find((each) => each.kind === this.kind.value);
    if (!own) return;
    this.table = table[own.kind] === undefined ? { ...table, [own.kind]: {} } : table;
    const fields = { ...this.shell.fields, sections: own.sections };
    const { kind } = own;
    this.form = new CaseForm(byId("thing-form"), fields, this.table, () => {
      this.tell([]);
      this.kept.tables[kind] = this.table;
      this.keep();
    });
    openFirst();
    byId("fill").hidden = own.tables.length === 0 && own.kind !== FILM;
    byId("add-note").textContent = "";
    this.tell([]);
    this.tellVersion();
  }

  private fillFromCase(): void {
    const kind = this.kind.value;
    const own = this.forms.forms.find((each) => each.kind === kind);
    const here = this.shell.draft.case;
    const right = Array.isArray(here.as_typed) ? here.as_typed.filter((each) => typeof each === "string") : [];
    if (kind === FILM) {
      const film = structuredClone((here.film ?? {}) as Table);
      const asked = right.filter((each) => each.startsWith("film."));
      this.start({ [kind]: film, ...asTyped(asked.map((each) => each.replace("film.", "films."))) });
    } else {
      const tables = own?.tables ?? [];
      const found: Table = {};
      for (const each of tables) if (here[each] !== undefined) found[each] = structuredClone(here[each]);
      const asked = right.filter((each) => tables.some((name) => each.startsWith(`${name}.`)));
      this.start({ [kind]: found, ...asTyped(asked.map((each) => `${kind}.${each}`)) });
    }
    byId("add-note").textContent = say("Filled in from the case on the bench; nothing is on the shelf yet.");
  }

  private versionNow(): number {
    const its = this.ways.kindsNow().find((each) => each.kind === this.kind.value);
    return its?.things.find((each) => each.name === this.name.value.trim())?.version ?? 0;
  }

  private tellVersion(): void {
    const name = this.name.value.trim();
    const last = this.versionNow();
    byId("add-as").textContent = !name
      ? say("A case will name it with an @ before: @name.")
      : last
        ? say("It is there already: this becomes version {version}.", { version: last + 1 })
        : say("It is new: this becomes version 1 of {name}.", { name: `@${name}` });
    if (name) this.tellName("");
  }

  private tellName(words: string): void {
    const line = byId("add-thing-error");
    line.textContent = words;
    line.hidden = !words;
    if (words) this.name.setAttribute("aria-invalid", "true");
    else this.name.removeAttribute("aria-invalid");
  }

  private tell(problems: Problem[]): void {
    const kind = this.kind.value;
    const ofName = problems.filter((each) => each.field === "name" || each.field === `${kind}.name`);
    this.tellName(ofName.map(sentence).join(" "));
    const rest = problems.filter((each) => !ofName.includes(each));
    const homeless = this.form?.showProblems(rest) ?? rest;
    byId("add-problems").replaceChildren(...problemsShown(homeless, (field) => this.form?.confirm(field)));
  }

  private async put(): Promise<void> {
    const kind = this.kind.value as Thing["kind"];
    const name = this.name.value.trim();
    if (!name) {
      this.tellName(say("Give it a name first, such as that on its label."));
      this.name.focus();
      return;
    }
    const { as_typed: right } = this.table;
    try {
      const { told } = await ask("post", "/api/shelf", {
        body: {
          kind,
          name,
          version: this.versionNow() + 1,
          typed: this.table[kind] as Table,
          as_typed: Array.isArray(right) ? right.filter((each) => typeof each === "string") : [],
        },
      });
      this.tell([]);
      delete this.kept.tables[kind];
      this.keep();
      await this.ways.added({ kind, name }, told);
    } catch (error) {
      const problems = problemsIn(error);
      byId("add-note").textContent = say("Not put there yet.");
      this.tell(problems);
      const first = problems.find((each) => this.form?.has(each.field));
      if (first) this.form?.focus(first.field);
    }
  }
}

function asTyped(right: string[]): Table {
  return right.length ? { as_typed: right } : {};
}

function openFirst(): void {
  const first = byId("thing-form").querySelector("details");
  if (first) first.open = true;
}
