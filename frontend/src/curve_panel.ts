/** A film's curve from a tensile test: sent, fitted, shown, and put into a case or on the shelf. */

import type { Problem } from "./api";
import { ask, problemsIn, sentence } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import type { Table } from "./draft";
import type { FilmFitView } from "./generated/api";
import { problemsShown } from "./questions";
import { makeRoom, noRoom } from "./settled";
import type { Shell } from "./shell";
import { say } from "./words";

const SIZES = ["specimen_width", "specimen_thickness", "gauge_length", "fit_from"] as const;
/** Fields that state a film's curve: by the law, or by a test's points. A new curve replaces them all. */
const CURVE = ["yield_stress", "hardening_modulus", "extensibility", "test_elongations", "test_stresses"];

export class CurvePanel {
  private view: FilmFitView | null = null;
  private file: File | null = null;
  private readonly right = new Set<string>();

  constructor(
    private readonly shell: Shell,
    films: string[],
  ) {
    byId("test-form").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.fit();
    });
    byId("test-form").addEventListener("input", () => {
      this.right.clear();
      if (this.view) this.tell(say("Changed since; what is shown is as it was. Fit it anew."), "stale");
    });
    byId("curve-to-case").addEventListener("click", () => this.toCase());
    byId("curve-to-shelf").addEventListener("click", () => void this.toShelf());
    const choice = byId<HTMLSelectElement>("curve-film");
    choice.replaceChildren(...films.map((name) => el("option", { value: name }, `@${name}`)));
    (choice.closest(".filebar") as HTMLElement).hidden = films.length === 0;
  }

  /** The reader wants other units. */
  async again(): Promise<void> {
    if (this.view) await this.fit();
  }

  private async fit(): Promise<void> {
    this.file = byId<HTMLInputElement>("test-file").files?.[0] ?? null;
    if (!this.file) {
      this.fail([
        {
          field: "test-file",
          given: say("no file"),
          allowed: "",
          todo: say("Choose the test's table."),
          kind: "error",
        },
      ]);
      return;
    }
    this.tell(say("Fitting …"), "asking");
    makeRoom(byId("test"));
    const typed = Object.fromEntries(
      SIZES.map((name) => [name, byId<HTMLInputElement>(name).value.trim() || null]),
    ) as Record<(typeof SIZES)[number], string | null>;
    try {
      const view = await ask("post", "/api/film/fit", {
        body: { name: this.file.name, text: await this.file.text(), ...typed, as_typed: [...this.right] },
        query: { units: this.shell.show.system },
      });
      this.view = view;
      this.fail([]);
      byId("test").replaceChildren(...blocksShown(view.blocks));
      byId("test-cautions").replaceChildren(...blocksShown(view.cautions));
      byId("test-take").hidden = false;
      byId("curve-note").textContent = "";
      this.tell(say("Fitted"), "fresh");
    } catch (error) {
      if (!this.view) noRoom(byId("test"));
      this.tell(this.view ? say("Not fitted; what is shown is an earlier test.") : say("Not fitted"), "stale");
      this.fail(problemsIn(error));
    }
  }

  private fail(problems: Problem[]): void {
    const known = new Set<string>(["test-file", ...SIZES]);
    for (const id of known) {
      const own = problems.filter((each) => each.field === id && each.kind !== "question");
      const line = byId(`${id}-error`);
      line.textContent = own.map(sentence).join(" ");
      line.hidden = own.length === 0;
      const input = byId<HTMLInputElement>(id);
      if (own.length) {
        input.setAttribute("aria-invalid", "true");
        if (id !== "test-file") byId<HTMLDetailsElement>("specimen").open = true;
      } else input.removeAttribute("aria-invalid");
    }
    const rest = problems.filter((each) => !known.has(each.field) || each.kind === "question");
    const confirm = (field: string): void => {
      this.right.add(field);
      void this.fit();
    };
    byId("test-problems").replaceChildren(...problemsShown(rest, confirm));
  }

  /** A film with this curve in the place of the one that it had. */
  private withCurve(film: Table): Table {
    const kept = Object.fromEntries(Object.entries(film).filter(([name]) => !CURVE.includes(name)));
    return { ...kept, ...(this.view?.film as Table) };
  }

  private toCase(): void {
    const { draft } = this.shell;
    if (!this.view) return;
    const film = this.withCurve((draft.case.film ?? {}) as Table);
    draft.replace({ ...structuredClone(draft.case), film }, { id: draft.id, revision: draft.revision, isSaved: false });
    this.note(
      say("The film of the case on the bench has this curve now; Undo takes it back."),
      "/",
      say("To the bench"),
    );
  }

  private async toShelf(): Promise<void> {
    const name = byId<HTMLSelectElement>("curve-film").value;
    if (!this.view || !name) return;
    try {
      const { versions } = await ask("get", "/api/shelf/thing", { query: { kind: "films", name } });
      const latest = versions[0];
      if (!latest) return;
      const { told } = await ask("post", "/api/shelf", {
        body: {
          kind: "films",
          name,
          version: latest.version + 1,
          typed: this.withCurve(latest.typed as Table),
          as_typed: latest.as_typed.map((each) => `films.${each}`),
        },
      });
      const path = `/shelf?${new URLSearchParams({ kind: "films", name })}`;
      this.note(told, path, say("What changed"));
    } catch (error) {
      byId("curve-note").replaceChildren(...problemsShown(problemsIn(error), () => undefined));
    }
  }

  private note(words: string, path: string, link: string): void {
    byId("curve-note").replaceChildren(words, " ", el("a", { href: path }, link));
  }

  private tell(words: string, state: string): void {
    byId("test-panel").dataset.state = state;
    byId("test-state").textContent = words;
  }
}
