/** Shows rows and blocks as the server words them: every text is text, never markup. */

import type { Child } from "./dom";
import { el } from "./dom";
import { fieldWords, isSaid, plainWords } from "./field_words";
import type { FactsData, FigureData, NoteData, Predicted, RowData, TableData } from "./generated/api";
import { say } from "./words";

export type AnyBlock = Predicted["numbers"][number];

export interface Ways {
  /** Whether a text names a field that this page can go to. */
  isField?(text: string): boolean;
  /** Whether it names a field of the case that stands elsewhere. */
  isName?(text: string): boolean;
  /** Goes there. */
  goTo?(field: string): void;
  /** Tables are folded away under their caption. */
  isFolded?: boolean;
}

/** The blocks in their order; findings that follow one another are one list. */
export function blocksShown(blocks: AnyBlock[], ways: Ways = {}): HTMLElement[] {
  const shown: HTMLElement[] = [];
  let notes: HTMLElement | null = null;
  for (const each of blocks) {
    if (each.block === "note") {
      if (!notes) {
        notes = el("ul", { class: "findings" });
        shown.push(notes);
      }
      notes.append(note(each, ways));
      continue;
    }
    notes = null;
    shown.push(blockShown(each, ways));
  }
  return shown;
}

function blockShown(block: Exclude<AnyBlock, NoteData>, ways: Ways): HTMLElement {
  switch (block.block) {
    case "heading":
      // Below the heading of the pane that they stand in.
      return el("h3", { class: block.level === 3 ? "lesser" : null }, block.text);
    case "paragraph":
      return el("p", { class: block.is_strong ? "headline" : null }, plainWords(block.text));
    case "bullets":
      return el("ul", {}, ...block.items.map((each) => el("li", {}, plainWords(each))));
    case "facts":
      return facts(block, ways);
    case "table":
      return table(block, ways);
    case "figure":
      return figure(block);
    case "cautions":
      // One calm line, which opens.
      return el(
        "details",
        { class: "care" },
        el("summary", {}, say("Take care: engineering estimates; loads can fall and machines move. What to mind")),
        el("ul", {}, ...block.items.map((each) => el("li", {}, plainWords(each)))),
      );
    case "side-by-side":
      return el(
        "div",
        { class: "two" },
        el("div", {}, ...blocksShown(block.left, ways)),
        el("div", {}, ...blocksShown(block.right, ways)),
      );
  }
}

/** Letters of a value from which on it is read as a sentence. */
const LONG = 60;

/** So long a word, such as the mark of a file, is broken where the column ends. */
const UNSPACED = /\S{32,}/;

/** A number stays with its unit where the line ends. */
export function unbroken(text: string): string {
  return plainWords(text).replace(/(\d) (?=[^\d\s()]{1,5}(?:[\s,;).]|$))/g, "$1\u00a0");
}

/** A text; the name of a field is a way to it, or is marked as a name. */
function named(text: string, ways: Ways): Child {
  if (ways.isField?.(text)) return link(text, ways);
  return ways.isName?.(text) ? fieldWords(text) : unbroken(text);
}

function row(each: RowData, ways: Ways = {}): HTMLElement {
  const more = unbroken([each.range, each.note].filter(Boolean).join("; "));
  return el(
    "div",
    {},
    el("dt", {}, named(each.label, ways)),
    el(
      "dd",
      { class: each.value.length > LONG ? "sentence" : null },
      unbroken(each.value),
      more ? el("span", { class: "more-of-it" }, more) : null,
    ),
  );
}

function facts(block: FactsData, ways: Ways): HTMLElement {
  return el(
    "section",
    {},
    block.caption ? el("h3", {}, block.caption) : null,
    el("dl", { class: "rows" }, ...block.rows.map((each) => row(each, ways))),
  );
}

/** Rows to read first, large. */
export function figures(blocks: AnyBlock[]): HTMLElement[] {
  return blocks.flatMap((block) =>
    block.block === "facts" ? [el("dl", { class: "figures" }, ...block.rows.map((each) => figureRow(each)))] : [],
  );
}

function figureRow(each: RowData): HTMLElement {
  const node = row(each);
  node.className = "figure";
  return node;
}

/** The answer in a line, with a sign that needs no colour. */
export function verdictShown(words: string, isGood: boolean): HTMLElement {
  return el("p", { class: isGood ? "verdict good" : "verdict bad" }, `${isGood ? "✓" : "✗"} ${words}`);
}

export function folded(caption: string, body: HTMLElement): HTMLElement {
  return el("details", { class: "fold" }, el("summary", {}, caption), body);
}

function table(block: TableData, ways: Ways): HTMLElement {
  const kind = (index: number, text = ""): string | null =>
    [block.words.includes(index) ? "words" : "", UNSPACED.test(text) ? "unspaced" : ""].filter(Boolean).join(" ") ||
    null;
  // In a table only a dotted path is surely the name of a field: "film" may be the film.
  const first = (text: string): Child => named(text, text.includes(".") ? ways : {});
  const cell = (text: string, index: number): HTMLElement =>
    block.names.includes(index)
      ? el("td", { class: "words in-file" }, ...inFile(text))
      : index || !text
        ? el("td", { class: kind(index, text) }, unbroken(text))
        : el("th", { scope: "row", class: kind(index, text) }, first(text));
  const head = block.columns.map((each, index) =>
    each ? el("th", { scope: "col", class: kind(index) }, each) : el("td", {}),
  );
  const lines = block.rows.map((line) => el("tr", {}, ...line.map(cell)));
  const shown = el(
    "div",
    { class: "scroll", tabindex: "0", role: "group", "aria-label": block.caption },
    el(
      "table",
      { class: block.is_small ? "small" : null },
      el("caption", { class: "unseen" }, block.caption),
      el("thead", {}, el("tr", {}, ...head)),
      el("tbody", {}, ...lines),
    ),
  );
  if (ways.isFolded) return folded(block.caption, shown);
  return el("section", {}, el("h3", {}, block.caption), shown);
}

/** A name as a file has it; its lines end behind its marks alone. */
function inFile(name: string): Child[] {
  return name.split(/(?<=[._])/).flatMap((part, at) => (at ? [el("wbr"), part] : [part]));
}

function link(field: string, ways: Ways): HTMLElement {
  return el("button", { type: "button", class: "link", click: () => ways.goTo?.(field) }, fieldWords(field));
}

function note(block: NoteData, ways: Ways): HTMLElement {
  return el(
    "li",
    {},
    el("span", {}, plainWords(block.text)),
    ways.isField?.(block.about)
      ? link(block.about, ways)
      : isSaid(block.about)
        ? el("span", { class: "more-of-it" }, fieldWords(block.about))
        : null,
  );
}

/** A drawing is shown as a picture, so that nothing in it can run. */
function figure(block: FigureData): HTMLElement {
  const picture = el("img", {
    alt: block.alt,
    src: URL.createObjectURL(new Blob([block.svg], { type: "image/svg+xml" })),
  });
  picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
  // On a phone a drawing keeps a size at which it can be read, and scrolls by itself.
  const place = el("div", { class: "scroll", tabindex: 0, role: "group", "aria-label": block.alt }, picture);
  return el("figure", {}, place, el("figcaption", { class: "quiet-words" }, block.caption || say("Figure")));
}
