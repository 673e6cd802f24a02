/** The form for one wrapped load: big targets, one hand, everything kept at every keystroke. */

import { el, freshId } from "../dom";
import type { EntryField, OpenTrial } from "../generated/api";
import { keepInMind, remembered } from "../remembered";
import { say } from "../words";
import type { Draft } from "./model";
import { shortNumber } from "./outbox_view";
import { fillHeights, planned, prepare, remember } from "./preparing";
import { doubts, fieldOf, unitOf } from "./rows";

export class EntryForm {
  readonly element: HTMLFormElement;
  private readonly inputs = new Map<string, HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement>();
  private readonly notes = new Map<string, HTMLElement>();
  private readonly head = el("div", { role: "group", "aria-label": say("load to write down") });

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
    this.tell(place, words, true);
  }

  focus(place: string): void {
    const input = this.inputs.get(place);
    input?.closest("details")?.setAttribute("open", "");
    input?.focus();
  }

  private build(): void {
    this.element.append(this.heading(planned(this.trial, this.draft) !== undefined));
    for (const { name, title, fields } of this.trial.groups) {
      const body = { pulls: () => this.pulls(), widths: () => this.widths() }[name as string];
      this.element.append(this.group(name, title, ...(body?.() ?? fields.map((each) => this.ofLoad(each)))));
    }
  }

  /** One field of the load, by what is written there. */
  private ofLoad(name: string): HTMLElement {
    const { kind, label, choices: words } = fieldOf(this.trial, "load", name);
    const choices = words.map((each): [string, string] => [each.code, each.label]);
    if (kind === "note") return this.notesField(name);
    if (choices.length) return this.choice(`load.${name}`, label, [["", say("none")], ...choices]);
    return kind === "word" ? this.words("load", name) : this.measure("load", name);
  }

  private heading(isPlanned: boolean): HTMLElement {
    const { trial } = this;
    const numberInput = this.input("load.load");
    numberInput.setAttribute("inputmode", "numeric");
    numberInput.addEventListener("input", () => this.renumbered());
    const label = (name: string): string => fieldOf(trial, "load", name).label;
    const treatment = this.choice("load.treatment", label("treatment"), Object.entries(trial.treatments));
    const type = this.choice(
      "load.load_type",
      label("load_type"),
      trial.load_types.map((each) => [each, each]),
    );
    const change = el(
      "details",
      { class: "change" },
      el("summary", {}, say("Another load, treatment or type")),
      el("div", { class: "field" }, this.label(numberInput, label("load")), numberInput),
      treatment,
      type,
    );
    change.open = !isPlanned;
    this.tellLoad();
    return el("header", { class: "load-head" }, this.head, change);
  }

  /** A number of the plan brings its treatment and type along. */
  private renumbered(): void {
    if (planned(this.trial, this.draft)) {
      prepare(this.trial, this.draft, (this.draft.cells["load.load"] ?? "").trim());
      for (const place of ["load.roll", ...this.trial.zone_names.map((zone) => `height.${zone}`)]) this.show(place);
      for (const radio of this.element.querySelectorAll<HTMLInputElement>('input[type="radio"]'))
        radio.checked = this.draft.cells[radio.name] === radio.value;
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
    const treatment = cells["load.treatment"] ?? "";
    const words = [this.trial.treatments[treatment] ?? treatment, cells["load.load_type"]].filter(Boolean).join(" · ");
    const more = [cells["load.block"] && say("block {block}", { block: cells["load.block"] }), cells["load.shift"]]
      .filter(Boolean)
      .join(" · ");
    const known = planned(this.trial, this.draft);
    this.head.replaceChildren(
      el("h2", {}, say("Load {load}", { load: shortNumber(number) || "…" })),
      el(
        "p",
        { class: "treatment" },
        isDone ? say("Every load of the plan is written down.") : words || say("outside of the plan"),
      ),
      el(
        "p",
        { class: "quiet-words" },
        known
          ? more
          : number
            ? say("outside of the plan")
            : say("Give a number to add to a load, or to write down another."),
      ),
    );
    if (this.onRecord(number))
      this.head.append(
        el(
          "p",
          { class: "caution" },
          say("Load {load} is on record already. What you fill in here is added to it.", { load: shortNumber(number) }),
        ),
      );
  }

  private group(id: string, title: string, ...children: HTMLElement[]): HTMLElement {
    const key = `woold.entry-open.${id}`;
    const group = el("details", { class: "entry-group", id: `group-${id}` }, el("summary", {}, title), ...children);
    group.open = (remembered(key) ?? (id === "weigh" || id === "pulls" ? "yes" : "no")) === "yes";
    group.addEventListener("toggle", () => keepInMind(key, group.open ? "yes" : "no"));
    return group;
  }

  /** A number with its unit. */
  private measure(kind: string, name: string): HTMLElement {
    const field = fieldOf(this.trial, kind, name);
    const place = `${kind}.${name}`;
    const input = this.input(place);
    input.setAttribute("inputmode", field.kind === "count" ? "numeric" : "decimal");
    return el(
      "div",
      { class: "field" },
      this.label(input, field.label),
      el("div", { class: "with-unit" }, input, this.unit(field, place, field.label)),
      this.note(place),
      el("p", { class: "hint" }, field.doc),
    );
  }

  private unit(field: EntryField, group: string, what: string): HTMLElement | null {
    if (!field.units.length) return null;
    const chosen = unitOf(this.trial, this.draft, group, field);
    const select = el("select", { class: "unit", "aria-label": say("unit of {what}", { what }) });
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
      el(
        "div",
        { class: "units-row" },
        el(
          "label",
          {},
          say("{what} in", { what: force.label }),
          " ",
          this.unit(force, "pull.force", force.label) ?? "",
        ),
        el("label", {}, say("{what} in", { what: height.label }), " ", this.unit(height, "height", height.label) ?? ""),
      ),
      ...this.trial.zone_names.map((zone) => {
        const row = el("fieldset", { class: "zone" }, el("legend", {}, zone));
        row.append(this.cell(`height.${zone}`, height.label, `${height.label}, ${zone}`));
        const sides = Object.entries(this.trial.sides);
        const reading = ([side, words]: [string, string]): HTMLElement =>
          this.cell(`pull.${zone}.${side}`, words, [force.label, zone, words].join(", "));
        row.append(...sides.slice(0, 2).map(reading));
        const others = sides.slice(2);
        const rest = others.map(([, words]) => words).join(", ");
        const more = el("details", { class: "more-sides" }, el("summary", {}, rest), ...others.map(reading));
        for (const [side] of others) {
          if (this.draft.cells[`pull.${zone}.${side}`]) more.open = true;
        }
        row.append(more);
        return row;
      }),
      el(
        "div",
        { class: "field" },
        this.label(ageInput, age.label),
        el("div", { class: "with-unit" }, ageInput, this.unit(age, "pull.age", age.label)),
        this.note("pull.age"),
        el("p", { class: "hint" }, age.doc),
      ),
    ];
  }

  private widths(): HTMLElement[] {
    const width = fieldOf(this.trial, "width", "film_width");
    return [
      el(
        "div",
        { class: "units-row" },
        el(
          "label",
          {},
          say("{what} in", { what: width.label }),
          " ",
          this.unit(width, "width.film_width", width.label) ?? "",
        ),
      ),
      el("p", { class: "hint" }, say("{how}; at the heights of the pull readings", { how: width.doc })),
      ...this.trial.zone_names.map((zone) => this.cell(`width.${zone}`, zone, `${width.label}, ${zone}`)),
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
    return el(
      "div",
      { class: "field" },
      this.label(input, field.label),
      input,
      this.note(place),
      el("p", { class: "hint" }, field.doc),
    );
  }

  private notesField(name: string): HTMLElement {
    const place = `load.${name}`;
    const area = el("textarea", { rows: 3, id: freshId("cell") });
    this.bind(place, area);
    return el("div", { class: "field" }, el("label", { for: area.id }, fieldOf(this.trial, "load", name).label), area);
  }

  private choice(place: string, label: string, words: [string, string][]): HTMLElement {
    const group = el("fieldset", { class: "choice" }, el("legend", {}, label));
    for (const [word, shown] of words) {
      const radio = el("input", {
        type: "radio",
        name: place,
        value: word,
        checked: (this.draft.cells[place] ?? "") === word,
        id: freshId("radio"),
      });
      radio.addEventListener("change", () => {
        this.draft.cells[place] = word;
        this.tellLoad();
        if (place === "load.load_type") {
          fillHeights(this.trial, this.draft);
          for (const zone of this.trial.zone_names) this.show(`height.${zone}`);
        }
        this.touched();
      });
      group.append(el("label", { class: "pick" }, radio, shown));
    }
    group.append(this.note(place));
    return group;
  }

  private input(place: string, spoken = ""): HTMLInputElement {
    const input = el("input", {
      type: "text",
      id: freshId("cell"),
      "data-place": place,
      enterkeyhint: "next",
      "aria-label": spoken || null,
    });
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

  private tell(place: string, words: string, isRefused = false): void {
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
    for (const place of this.notes.keys()) this.tell(place, found.get(place) ?? "");
  }

  private touched(): void {
    this.draft.as_typed = [];
    this.changed();
    this.doubt();
  }
}
