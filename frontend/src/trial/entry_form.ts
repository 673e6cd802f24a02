/** The form for one wrapped load: big targets, one hand, everything kept at every keystroke. */

import { el, freshId } from "../dom";
import type { Draft, OpenTrial, PlannedLoad, SheetField } from "./model";
import { SIDES, doubts, fieldOf, unitOf } from "./rows";

const UNITS_KEY = "woold.entry-units";
const LAST_KEY = "woold.entry-last";
const REMEMBERED = ["load.roll", "load.operator", "load.tare", "pull.age"];

/** Cells that are filled in beforehand: a load with nothing else was not measured yet. */
export function givenCells(trial: OpenTrial): Set<string> {
  const heights = trial.zone_names.map((zone) => `height.${zone}`);
  return new Set(["load.load", "load.treatment", "load.load_type", "load.block", "load.shift", ...REMEMBERED, ...heights]);
}

function read(key: string): Record<string, string> {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "{}") as Record<string, string>;
  } catch {
    return {};
  }
}

/** Keeps units and what seldom changes for the next load. */
export function remember(draft: Draft): void {
  localStorage.setItem(UNITS_KEY, JSON.stringify({ ...read(UNITS_KEY), ...draft.units }));
  const last = Object.fromEntries(REMEMBERED.map((name) => [name, draft.cells[name] ?? ""]));
  localStorage.setItem(LAST_KEY, JSON.stringify(last));
}

function planned(trial: OpenTrial, draft: Draft): PlannedLoad | undefined {
  return trial.order.find((each) => String(each.number) === (draft.cells["load.load"] ?? "").trim());
}

/** Fills a draft for a load of the plan, or for one outside of it. */
export function prepare(trial: OpenTrial, draft: Draft, load: string): void {
  draft.units = { ...read(UNITS_KEY), ...draft.units };
  draft.cells["load.load"] = load;
  for (const [name, text] of Object.entries(read(LAST_KEY))) draft.cells[name] ??= text;
  const found = planned(trial, draft);
  if (found) {
    draft.cells["load.treatment"] = found.treatment;
    draft.cells["load.load_type"] = found.load_type;
    draft.cells["load.block"] = found.block;
    draft.cells["load.shift"] = found.shift;
    if (found.roll) draft.cells["load.roll"] = found.roll;
  }
  if (!draft.cells["height-typed"]) fillHeights(trial, draft);
}

/** Heights at which to measure on this type of load, in the unit that is chosen. */
function fillHeights(trial: OpenTrial, draft: Draft): void {
  const field = fieldOf(trial, "pull", "height");
  const factor = field.factors[unitOf(trial, draft, "height", field)] ?? 1;
  const heights = trial.zone_heights_m[draft.cells["load.load_type"] ?? ""] ?? [];
  trial.zone_names.forEach((zone, place) => {
    const height = heights[place];
    if (height !== undefined) draft.cells[`height.${zone}`] = String(Number((height / factor).toFixed(factor < 0.005 ? 0 : factor < 0.1 ? 1 : 3)));
  });
}

export class EntryForm {
  readonly element: HTMLFormElement;
  private readonly inputs = new Map<string, HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement>();
  private readonly notes = new Map<string, HTMLElement>();
  private readonly head = el("div", { role: "group", "aria-label": "load to write down" });

  constructor(
    private readonly trial: OpenTrial,
    private readonly draft: Draft,
    private readonly changed: () => void,
    private readonly onRecord: (load: string) => boolean,
  ) {
    this.element = el("form", { id: "entry", autocomplete: "off", novalidate: true });
    this.element.addEventListener("submit", (event) => event.preventDefault());
    this.build();
    this.doubt();
  }

  /** Marks a refused field, and takes the reader there. */
  refuse(place: string, words: string): void {
    this.say(place, words, true);
  }

  focus(place: string): void {
    const input = this.inputs.get(place);
    input?.closest("details")?.setAttribute("open", "");
    input?.focus();
  }

  private build(): void {
    this.element.append(this.heading(planned(this.trial, this.draft) !== undefined));
    this.element.append(
      this.group("weigh", "Weigh", this.measure("load", "film_mass"), this.measure("load", "tare")),
      this.group("cycle", "Cycle", this.measure("load", "turns"), this.measure("load", "cycle_time"), this.measure("load", "breaks")),
      this.group("pulls", "Pull readings", ...this.pulls()),
      this.group("widths", "Film widths", ...this.widths()),
      this.group("marks", "Marks on the film", this.measure("load", "mark_before"), this.measure("load", "mark_after")),
      this.group("notes", "Notes", this.words("load", "roll"), this.words("load", "operator"), this.notesField()),
    );
  }

  private heading(isPlanned: boolean): HTMLElement {
    const { trial } = this;
    const numberInput = this.input("load.load");
    numberInput.setAttribute("inputmode", "numeric");
    numberInput.addEventListener("input", () => this.renumbered());
    const treatment = this.choice("load.treatment", "treatment", trial.treatments);
    const type = this.choice("load.load_type", "load type", trial.load_types);
    const change = el("details", { class: "change" }, el("summary", {}, "Another load, treatment or type"), el("div", { class: "field" }, this.label(numberInput, "load number"), numberInput), treatment, type);
    change.open = !isPlanned;
    this.tellLoad();
    return el("header", { class: "load-head" }, this.head, change);
  }

  /** A number of the plan brings its treatment and type along. */
  private renumbered(): void {
    if (planned(this.trial, this.draft)) {
      prepare(this.trial, this.draft, (this.draft.cells["load.load"] ?? "").trim());
      for (const place of ["load.roll", ...this.trial.zone_names.map((zone) => `height.${zone}`)]) this.show(place);
      for (const radio of this.element.querySelectorAll<HTMLInputElement>('input[type="radio"]')) radio.checked = this.draft.cells[radio.name] === radio.value;
      this.touched();
    } else {
      delete this.draft.cells["load.block"];
      delete this.draft.cells["load.shift"];
    }
    this.tellLoad();
  }

  private tellLoad(): void {
    const { cells } = this.draft;
    const number = (cells["load.load"] ?? "").trim();
    const isDone = !number && this.trial.order.length > 0;
    const words = [cells["load.treatment"], cells["load.load_type"]].filter(Boolean).join(" · ");
    const more = [cells["load.block"] && `block ${cells["load.block"]}`, cells["load.shift"]].filter(Boolean).join(" · ");
    const known = planned(this.trial, this.draft);
    this.head.replaceChildren(
      el("h2", {}, `Load ${number || "…"}`),
      el("p", { class: "treatment" }, isDone ? "Every load of the plan is written down." : words || "outside of the plan"),
      el("p", { class: "quiet-words" }, known ? more : number ? "outside of the plan" : "Give a number to add to a load, or to write down another."),
    );
    if (this.onRecord(number)) this.head.append(el("p", { class: "caution" }, `Load ${number} is on record already. What you fill in here is added to it.`));
  }

  private group(id: string, title: string, ...children: HTMLElement[]): HTMLElement {
    const key = `woold.entry-open.${id}`;
    const group = el("details", { class: "entry-group", id: `group-${id}` }, el("summary", {}, title), ...children);
    group.open = (localStorage.getItem(key) ?? (id === "weigh" || id === "pulls" ? "yes" : "no")) === "yes";
    group.addEventListener("toggle", () => localStorage.setItem(key, group.open ? "yes" : "no"));
    return group;
  }

  /** A number with its unit. */
  private measure(kind: string, name: string): HTMLElement {
    const field = fieldOf(this.trial, kind, name);
    const place = `${kind}.${name}`;
    const input = this.input(place);
    input.setAttribute("inputmode", field.kind === "count" ? "numeric" : "decimal");
    return el("div", { class: "field" }, this.label(input, field.label), el("div", { class: "with-unit" }, input, this.unit(field, place, field.label)), this.note(place), el("p", { class: "hint" }, field.doc));
  }

  private unit(field: SheetField, group: string, what: string): HTMLElement | null {
    if (!field.units.length) return null;
    const chosen = unitOf(this.trial, this.draft, group, field);
    const select = el("select", { class: "unit", "aria-label": `unit of ${what}` });
    for (const unit of field.units) select.append(el("option", { value: unit, selected: unit === chosen }, unit));
    select.addEventListener("change", () => {
      this.draft.units[group] = select.value;
      remember(this.draft);
      if (group === "height" && !this.draft.cells["height-typed"]) {
        fillHeights(this.trial, this.draft);
        for (const zone of this.trial.zone_names) this.show(`height.${zone}`);
      }
      this.touched();
    });
    return select;
  }

  private pulls(): HTMLElement[] {
    const force = fieldOf(this.trial, "pull", "force");
    const age = fieldOf(this.trial, "pull", "age");
    const height = fieldOf(this.trial, "pull", "height");
    const ageInput = this.input("pull.age");
    ageInput.setAttribute("inputmode", "decimal");
    return [
      el("div", { class: "units-row" }, el("label", {}, "force in ", this.unit(force, "pull.force", "pull readings") ?? ""), el("label", {}, "height in ", this.unit(height, "height", "heights") ?? "")),
      ...this.trial.zone_names.map((zone) => {
        const row = el("fieldset", { class: "zone" }, el("legend", {}, zone));
        row.append(this.cell(`height.${zone}`, "height", `height, ${zone}`));
        for (const side of SIDES.slice(0, 2)) row.append(this.cell(`pull.${zone}.${side}`, side, `pull reading, ${zone}, ${side}`));
        const more = el("details", { class: "more-sides" }, el("summary", {}, "back and left"));
        for (const side of SIDES.slice(2)) {
          more.append(this.cell(`pull.${zone}.${side}`, side, `pull reading, ${zone}, ${side}`));
          if (this.draft.cells[`pull.${zone}.${side}`]) more.open = true;
        }
        row.append(more);
        return row;
      }),
      el("div", { class: "field" }, this.label(ageInput, age.label), el("div", { class: "with-unit" }, ageInput, this.unit(age, "pull.age", age.label)), this.note("pull.age"), el("p", { class: "hint" }, age.doc)),
    ];
  }

  private widths(): HTMLElement[] {
    const width = fieldOf(this.trial, "width", "film_width");
    return [
      el("div", { class: "units-row" }, el("label", {}, "width in ", this.unit(width, "width.film_width", "film widths") ?? "")),
      el("p", { class: "hint" }, `${width.doc}; at the heights of the pull readings`),
      ...this.trial.zone_names.map((zone) => this.cell(`width.${zone}`, zone, `film width, ${zone}`)),
    ];
  }

  private cell(place: string, label: string, spoken: string): HTMLElement {
    const input = this.input(place, spoken);
    input.setAttribute("inputmode", "decimal");
    return el("div", { class: "cell" }, this.label(input, label), input, this.note(place));
  }

  private words(kind: string, name: string): HTMLElement {
    const field = fieldOf(this.trial, kind, name);
    const place = `${kind}.${name}`;
    const input = this.input(place);
    return el("div", { class: "field" }, this.label(input, field.label), input, this.note(place), el("p", { class: "hint" }, field.doc));
  }

  private notesField(): HTMLElement {
    const place = "load.notes";
    const area = el("textarea", { rows: 3, id: freshId("cell") });
    this.bind(place, area);
    return el("div", { class: "field" }, el("label", { for: area.id }, "notes"), area);
  }

  private choice(place: string, label: string, words: string[]): HTMLElement {
    const group = el("fieldset", { class: "choice" }, el("legend", {}, label));
    for (const word of words) {
      const radio = el("input", { type: "radio", name: place, value: word, checked: this.draft.cells[place] === word, id: freshId("radio") });
      radio.addEventListener("change", () => {
        this.draft.cells[place] = word;
        this.tellLoad();
        if (place === "load.load_type") {
          fillHeights(this.trial, this.draft);
          for (const zone of this.trial.zone_names) this.show(`height.${zone}`);
        }
        this.touched();
      });
      group.append(el("label", { class: "pick" }, radio, word));
    }
    group.append(this.note(place));
    return group;
  }

  private input(place: string, spoken = ""): HTMLInputElement {
    const input = el("input", { type: "text", id: freshId("cell"), "data-place": place, enterkeyhint: "next", "aria-label": spoken || null });
    this.bind(place, input);
    return input;
  }

  private bind(place: string, input: HTMLInputElement | HTMLTextAreaElement): void {
    input.value = this.draft.cells[place] ?? "";
    input.addEventListener("input", () => {
      if (input instanceof HTMLInputElement && input.inputMode === "decimal" && input.value.includes(",")) {
        // Some keypads have a comma only.
        const at = input.selectionStart;
        input.value = input.value.replace(",", ".");
        input.setSelectionRange(at, at);
      }
      this.draft.cells[place] = input.value;
      if (place.startsWith("height.")) this.draft.cells["height-typed"] = "yes";
      this.touched();
    });
    this.inputs.set(place, input);
  }

  private show(place: string): void {
    const input = this.inputs.get(place);
    if (input) input.value = this.draft.cells[place] ?? "";
  }

  private label(input: Element, words: string): HTMLElement {
    return el("label", { for: input.id }, words);
  }

  private note(place: string): HTMLElement {
    const note = el("p", { class: "doubt", hidden: true, id: freshId("note") });
    this.notes.set(place, note);
    this.inputs.get(place)?.setAttribute("aria-describedby", note.id);
    return note;
  }

  private say(place: string, words: string, isRefused = false): void {
    const note = this.notes.get(place);
    const input = this.inputs.get(place);
    if (note) {
      note.textContent = words;
      note.hidden = !words;
      note.className = isRefused ? "error" : "doubt";
    }
    if (isRefused) input?.setAttribute("aria-invalid", "true");
    else input?.removeAttribute("aria-invalid");
  }

  private doubt(): void {
    const found = doubts(this.trial, this.draft);
    for (const place of this.notes.keys()) this.say(place, found.get(place) ?? "");
  }

  private touched(): void {
    this.draft.as_typed = [];
    this.changed();
    this.doubt();
  }
}
