/** The heat table of a line's map: machines and films, the worst load of each place in words. */

import { ask, problemsIn, sentence } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import type { Table } from "./draft";
import type { HeatTable, LineAnswer, LineLoadView } from "./generated/api";
import { makeRoom } from "./settled";
import type { Shell } from "./shell";
import { say } from "./words";

interface Place {
  carriage: string;
  machine: string;
  film: string;
}

export class HeatPart {
  private tables: HeatTable[] = [];
  private job = "";
  private line = "";
  private place: Place | null = null;
  private load: LineLoadView | null = null;
  private readonly choice = byId<HTMLSelectElement>("heat-carriage");

  constructor(private readonly shell: Shell) {
    this.choice.addEventListener("change", () => {
      this.place = null;
      this.draw();
    });
    byId("to-bench").addEventListener("click", () => this.toBench());
  }

  /** Shows a map; without a heat table there is nothing to show. */
  show(answer: LineAnswer | null, job: string, line: string): void {
    this.tables = answer?.heat ?? [];
    this.job = job;
    this.line = line;
    this.place = null;
    byId("heat-part").hidden = this.tables.length === 0;
    if (!this.tables.length) return;
    const chosen = this.choice.value;
    this.choice.replaceChildren(
      ...this.tables.map(({ carriage }) => el("option", { value: carriage, selected: carriage === chosen }, carriage)),
    );
    byId("heat-note").textContent = answer?.note ?? "";
    this.draw();
  }

  private draw(): void {
    const table = this.tables.find((each) => each.carriage === this.choice.value) ?? this.tables[0];
    byId("place").hidden = true;
    if (!table) return;
    const row = (machine: string, at: number): HTMLElement =>
      el(
        "tr",
        {},
        el("th", { scope: "row", class: "words" }, machine),
        ...table.films.map((film, column) => el("td", {}, this.cell(table, { at, column }, machine, film))),
      );
    byId("heat").replaceChildren(
      el(
        "div",
        { class: "scroll", tabindex: "0", role: "group", "aria-label": table.caption },
        el(
          "table",
          { class: "heat" },
          el("caption", { class: "unseen" }, table.caption),
          el(
            "thead",
            {},
            el(
              "tr",
              {},
              el("th", { scope: "col", class: "words" }, say("machine")),
              ...table.films.map((film) => el("th", { scope: "col" }, film)),
            ),
          ),
          el("tbody", {}, ...table.machines.map(row)),
        ),
      ),
    );
  }

  private cell(table: HeatTable, { at, column }: { at: number; column: number }, machine: string, film: string) {
    const found = table.cells[at]?.[column];
    if (!found) return null;
    const place = { carriage: table.carriage, machine, film };
    const button = el(
      "button",
      { type: "button", class: "heat-cell", "aria-pressed": "false", click: () => void this.open(button, place) },
      el("strong", {}, found.told),
      el("span", {}, found.worst),
    );
    button.style.setProperty("--share", String(found.share));
    return button;
  }

  private async open(button: HTMLElement, place: Place): Promise<void> {
    this.place = place;
    for (const each of document.querySelectorAll(".heat-cell")) each.setAttribute("aria-pressed", "false");
    button.setAttribute("aria-pressed", "true");
    const part = byId("place");
    this.forgetLoad();
    // Its room is made at the press, however slow the answer is.
    byId("place-name").textContent = `${place.machine}, ${place.film}`;
    byId("place-told").textContent = say("Calculating …");
    byId("place-loads").replaceChildren();
    makeRoom(part);
    part.hidden = false;
    try {
      const found = await ask("get", "/api/line/answers/{job}/place", {
        path: { job: this.job },
        query: { ...place, units: this.shell.show.system },
      });
      if (this.place !== place) return;
      byId("place-name").textContent = found.title;
      byId("place-told").textContent = found.told;
      const heads = [say("load"), say("status"), say("what limits it"), say("there over asked")];
      const words = [0, 1, 2];
      byId("place-loads").replaceChildren(
        el(
          "table",
          { class: "small" },
          el("caption", { class: "unseen" }, found.title),
          el(
            "thead",
            {},
            el(
              "tr",
              {},
              ...heads.map((each, at) => el("th", { scope: "col", class: words.includes(at) ? "words" : null }, each)),
            ),
          ),
          el(
            "tbody",
            {},
            ...found.loads.map((each) =>
              el(
                "tr",
                {},
                el(
                  "th",
                  { scope: "row", class: "words" },
                  el("button", { type: "button", class: "link", click: () => void this.look(each.load) }, each.load),
                ),
                el("td", { class: "words" }, `${each.works ? "✓" : "✗"} ${each.status}`),
                el("td", { class: "words" }, each.limit),
                el("td", {}, each.share),
              ),
            ),
          ),
        ),
      );
      part.focus({ preventScroll: true });
      part.scrollIntoView({ block: "nearest" });
    } catch (error) {
      byId("place-name").textContent = say("This place cannot be opened.");
      byId("place-told").textContent = problemsIn(error).map(sentence).join(" ");
    }
  }

  private async look(load: string): Promise<void> {
    if (!this.place) return;
    this.forgetLoad();
    const note = byId("bench-note");
    note.textContent = say("Calculating …");
    try {
      this.load = await ask("get", "/api/line/{line}/load", {
        path: { line: this.line },
        query: { ...this.place, load, units: this.shell.show.system },
      });
      note.textContent = "";
      byId("to-bench").hidden = false;
      byId("load-answer").replaceChildren(...blocksShown(this.load.blocks));
      byId("load-part").scrollIntoView({ block: "nearest" });
    } catch (error) {
      note.textContent = problemsIn(error).map(sentence).join(" ");
    }
  }

  private forgetLoad(): void {
    this.load = null;
    byId("to-bench").hidden = true;
    byId("bench-note").textContent = "";
    byId("load-answer").replaceChildren();
  }

  private toBench(): void {
    if (!this.load) return;
    putOnBench(this.shell, this.load.case as Table, byId("bench-note"));
  }
}

/** The case in hand is another one from here on; says so, with the way there. */
export function putOnBench(shell: Shell, table: Table, note: HTMLElement): void {
  shell.draft.replace(table, { id: null, revision: null, isSaved: false });
  const words = say("It is the case on the bench now; Undo takes it back.");
  note.replaceChildren(words, " ", el("a", { href: "/" }, say("To the bench")));
}
