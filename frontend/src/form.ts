/** The case as a form: one group for each table, texts as typed, problems at their fields. */

import type { Problem } from "./api";
import { sentence } from "./api";
import type { Ways } from "./blocks";
import { el, freshId } from "./dom";
import type { Field, Fields, Section, Table, Value } from "./draft";
import { askedAgain, confirmed, isPath, putAt, typedOf, valueAt } from "./draft";
import { choice } from "./form_choice";
import { asText, exampleOf, fromText, placeholderWords } from "./form_text";
import { confirmButton } from "./questions";
import { say } from "./words";

interface Place {
  control: HTMLElement;
  error: HTMLElement;
  described: string;
  /** Says that the field has no effect in this case, and why. */
  idle?: HTMLElement;
}

const CLOSED = new Set(["", "hold", "plant", "transport", "dancer"]);

/** Whether a group of a case is open when it is first seen. */
function opensFirst(path: string): boolean {
  return !CLOSED.has(path) && (path === "load" || !matchMedia("(max-width: 759px)").matches);
}

export class CaseForm {
  private places = new Map<string, Place>();
  private open = new Map<string, boolean>();

  constructor(
    private readonly root: HTMLElement,
    private readonly fields: Pick<Fields, "sections">,
    private table: Table,
    private readonly changed: () => void,
    private readonly only?: (section: Section) => boolean,
    private readonly opens: (path: string) => boolean = opensFirst,
  ) {
    this.render();
  }

  replace(table: Table): void {
    this.table = table;
    this.render();
  }

  /** Puts each problem at its field; hands back those that have no place here. */
  showProblems(problems: Problem[]): Problem[] {
    for (const { control, error, described } of this.places.values()) {
      error.textContent = "";
      error.hidden = true;
      control.removeAttribute("aria-invalid");
      if (described) control.setAttribute("aria-describedby", described);
    }
    const homeless: Problem[] = [];
    const questions: [HTMLElement, string][] = [];
    for (const problem of problems) {
      const place = this.placeOf(problem.field);
      if (!place) {
        homeless.push(problem);
        continue;
      }
      const { control, error, described } = place;
      error.textContent = `${error.textContent} ${sentence(problem)}`.trim();
      error.hidden = false;
      if (problem.kind === "question") questions.push([error, problem.field]);
      if (
        control instanceof HTMLInputElement ||
        control instanceof HTMLSelectElement ||
        control instanceof HTMLTextAreaElement
      ) {
        control.setAttribute("aria-invalid", "true");
        control.setAttribute("aria-describedby", `${error.id} ${described}`.trim());
      }
      openAround(error);
    }
    for (const [error, field] of questions)
      error.append(
        " ",
        confirmButton(field, () => this.confirm(field)),
      );
    return homeless;
  }

  /** Says at each field that has no effect in this case why that is so. */
  showIdle(fields: { field: string; why: string }[]): void {
    for (const [path, { idle }] of this.places) {
      if (!idle) continue;
      const why = fields.find((each) => each.field === path)?.why ?? "";
      idle.textContent = why;
      idle.hidden = !why;
    }
  }

  /** Says of a value that was asked about that it is right; the case keeps that. */
  confirm(field: string): void {
    confirmed(this.table, field);
    this.changed();
  }

  /** Shows a field's value anew, where something other than the form changed it. */
  refill(path: string): void {
    const control = this.places.get(path)?.control;
    const value = typedOf(valueAt(this.table, path));
    if (control instanceof HTMLInputElement) control.value = value === undefined ? "" : asText(value);
  }

  /** Brings a field into view and into focus. */
  focus(path: string): boolean {
    const place = this.placeOf(path);
    if (!place) return false;
    openAround(place.control);
    place.control.focus();
    place.control.scrollIntoView({ block: "center" });
    return true;
  }

  /** How rows go to the fields that stand here. */
  get ways(): Ways {
    return {
      goTo: (field) => void this.focus(field),
      isField: (text) => this.has(text),
      isName: (text) => isPath(this.fields.sections, text),
    };
  }

  /** Whether a text is the path of a field that stands here. */
  has(path: string): boolean {
    return this.placeOf(path) !== undefined;
  }

  private placeOf(path: string): Place | undefined {
    for (let part = path; part; part = part.replace(/(\.[^.[]*|\[\d+\]|^[^.[]+)$/, "")) {
      const place = this.places.get(part);
      if (place) return place;
    }
    return undefined;
  }

  private render(): void {
    this.places.clear();
    this.root.replaceChildren();
    for (const section of this.fields.sections) {
      if (section.name.includes(".") || (this.only && !this.only(section))) continue;
      const [title, ...fields] = section.fields;
      // By its title a case is known: it stands before the folded rest of what is said about it.
      const isFirst = title?.name === "title" && !this.opens("");
      if (isFirst) this.root.append(this.row(title, title.name));
      this.root.append(this.innerGroup(isFirst ? { ...section, fields } : section));
    }
  }

  private group(section: Section): HTMLElement {
    const path = section.name;
    const error = this.errorLine();
    const summary = el(
      "summary",
      {},
      el("span", { class: "group-name" }, section.label),
      el("span", { class: "group-doc" }, section.doc),
    );
    if (path) this.places.set(path, { control: summary, error, described: "" });
    const inner = this.fields.sections.filter(
      (each) =>
        each.name.startsWith(`${section.name}.`) &&
        section.name !== "" &&
        !each.name.slice(section.name.length + 1).includes("."),
    );
    const details = el(
      "details",
      { class: "group" },
      summary,
      error,
      ...this.body(section.fields, path),
      ...inner.map((each) => this.innerGroup(each)),
    );
    details.open = this.open.get(path) ?? this.opens(path);
    details.addEventListener("toggle", () => this.open.set(path, details.open));
    return details;
  }

  private body(fields: Field[], path: string): HTMLElement[] {
    const isShown = (field: Field): boolean =>
      field.required || valueAt(this.table, dotted(path, field.name)) !== undefined;
    const rows = fields.filter(isShown).map((field) => this.row(field, dotted(path, field.name)));
    const rest = fields.filter((field) => !isShown(field));
    if (!rest.length) return rows;
    const more = el(
      "details",
      { class: "more" },
      el("summary", {}, say("{count} more, taken by default", { count: rest.length })),
      ...rest.map((field) => this.row(field, dotted(path, field.name))),
    );
    const key = `${path}+`;
    more.open = this.open.get(key) ?? false;
    more.addEventListener("toggle", () => this.open.set(key, more.open));
    return [...rows, more];
  }

  private innerGroup(section: Section): HTMLElement {
    const path = section.name;
    const name = section.label;
    if (!section.is_list) return this.group(section);
    const rows = valueAt(this.table, path);
    const count = Array.isArray(rows) ? rows.length : 0;
    const error = this.errorLine();
    const summary = el(
      "summary",
      {},
      el(
        "span",
        { class: "group-name" },
        count ? say("{name}: {count}", { name, count }) : say("{name}: none", { name }),
      ),
      el("span", { class: "group-doc" }, section.doc),
    );
    this.places.set(path, { control: summary, error, described: "" });
    const isInner = path.includes(".");
    const details = el("details", { class: isInner ? "group inner" : "group" }, summary, error);
    details.open = this.open.get(path) ?? (!isInner && this.opens(path));
    details.addEventListener("toggle", () => this.open.set(path, details.open));
    for (let index = 0; index < count; index += 1) {
      const here = `${path}[${index}]`;
      const line = this.errorLine();
      const remove = el(
        "button",
        { type: "button", class: "quiet", click: () => this.edit(here, undefined) },
        say("Remove “{name}, {number}”", { name, number: index + 1 }),
      );
      const set = el(
        "fieldset",
        { tabindex: "-1" },
        el("legend", {}, say("{name}, {number}", { name, number: index + 1 })),
        line,
        ...this.body(section.fields, here),
        remove,
      );
      this.places.set(here, { control: set, error: line, described: "" });
      details.append(set);
    }
    const fresh: Table = {};
    for (const field of section.fields) if (field.required) fresh[field.name] = exampleOf(field);
    details.append(
      el(
        "button",
        { type: "button", class: "quiet", click: () => this.edit(`${path}[${count}]`, fresh) },
        say("Add to “{name}”", { name }),
      ),
    );
    return details;
  }

  /** A change of the form's own shape: drawn anew. */
  private edit(path: string, value: Value | undefined): void {
    putAt(this.table, path, value);
    const list = path.replace(/\[\d+\]$/, "");
    const left = valueAt(this.table, list);
    if (Array.isArray(left) && !left.length) putAt(this.table, list, undefined);
    this.open.set(list, true);
    this.render();
    this.changed();
    this.focus(value === undefined ? list : path);
  }

  private errorLine(): HTMLElement {
    const line = el("p", { class: "error", id: freshId("error") });
    line.hidden = true;
    return line;
  }

  private row(field: Field, path: string): HTMLElement {
    const id = freshId("field");
    const hint = el("span", { class: "hint", id: `${id}-hint` }, field.doc);
    const mark = el("span", { class: "unmeasured", id: `${id}-mark` });
    const error = this.errorLine();
    const idle = el("span", { class: "idle", id: `${id}-idle`, hidden: true });
    const described = `${hint.id} ${mark.id} ${idle.id}`;
    const control = this.control(field, path, id);
    control.setAttribute("aria-describedby", described);
    this.places.set(path, { control, error, described, idle });
    const origin = el("div", { class: "origin" });
    const refresh = (): void => this.mark(field, path, mark, origin);
    control.addEventListener("input", () => {
      if (this.take(field, path, (control as HTMLInputElement).value)) origin.replaceChildren();
      refresh();
      this.changed();
    });
    refresh();
    return el(
      "div",
      { class: "row", "data-field": path },
      el("label", { for: id }, field.label),
      control,
      hint,
      idle,
      mark,
      origin,
      error,
    );
  }

  private control(field: Field, path: string, id: string): HTMLElement {
    const typed = typedOf(valueAt(this.table, path));
    if (field.type === "choice" || field.type === "flag")
      return choice(field, id, typed === undefined ? "" : asText(typed));
    const shown = typed === undefined ? "" : asText(typed);
    if (field.type === "list of lists" || field.name === "notes") {
      const area = el("textarea", { id, rows: 3, spellcheck: "false" });
      area.value = shown;
      if (field.type === "list of lists") area.placeholder = "0 m, 0 m";
      return area;
    }
    const hold =
      field.default === null || field.default === "" || (Array.isArray(field.default) && !field.default.length)
        ? ""
        : asText(field.default);
    return el("input", {
      id,
      type: "text",
      value: shown,
      placeholder: hold,
      autocomplete: "off",
      spellcheck: "false",
      inputmode: field.kind || field.type === "text" ? "text" : "decimal",
    });
  }

  /** Puts a typed value; whether an earlier one's origin and range went with it, since they were of that one. */
  private take(field: Field, path: string, text: string): boolean {
    askedAgain(this.table, path);
    const before = valueAt(this.table, path);
    putAt(this.table, path, fromText(field, text));
    return before !== undefined && typeof before === "object" && !Array.isArray(before);
  }

  /** Says whether a value was measured, and lets its origin be stated. */
  private mark(field: Field, path: string, mark: HTMLElement, origin: HTMLElement): void {
    const value = valueAt(this.table, path);
    const stated = value !== undefined && typeof value === "object" && !Array.isArray(value) ? (value as Table) : null;
    const words = stated ? asText(stated.origin ?? "") : "";
    const isPlaceholder = stated ? words.toLowerCase().startsWith("placeholder") : Boolean(field.placeholder);
    mark.hidden = !isPlaceholder && !stated;
    mark.classList.toggle("is-placeholder", isPlaceholder);
    mark.textContent = isPlaceholder
      ? placeholderWords(field.range, field.placeholder || words)
      : stated
        ? say("From: {origin}", { origin: words })
        : "";
    if (!field.placeholder || !field.kind || value === undefined || value === "") {
      if (!stated) origin.replaceChildren();
      return;
    }
    if (origin.childElementCount) return;
    const part = (name: "origin" | "low" | "high", label: string): HTMLElement => {
      const id = freshId("origin");
      const input = el("input", {
        id,
        type: "text",
        autocomplete: "off",
        value: stated ? asText(stated[name] ?? "") : "",
      });
      input.addEventListener("input", () => {
        const now = valueAt(this.table, path);
        const entry: Table =
          now !== undefined && typeof now === "object" && !Array.isArray(now)
            ? { ...now }
            : { value: now ?? "", origin: "" };
        if (input.value) entry[name] = input.value;
        else delete entry[name];
        putAt(this.table, path, entry.origin || entry.low || entry.high ? entry : typedOf(entry));
        this.mark(field, path, mark, origin);
        this.changed();
      });
      return el("div", { class: "origin-part" }, el("label", { for: id }, label), input);
    };
    origin.append(
      el(
        "details",
        {},
        el("summary", {}, say("Where it is from")),
        part("origin", say("measured how")),
        part("low", say("at least")),
        part("high", say("at most")),
      ),
    );
  }
}

function dotted(path: string, name: string): string {
  return path ? `${path}.${name}` : name;
}

function openAround(node: HTMLElement): void {
  for (let parent = node.parentElement; parent; parent = parent.parentElement) {
    if (parent instanceof HTMLDetailsElement) parent.open = true;
  }
}
