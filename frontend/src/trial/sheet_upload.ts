/** A filled worksheet is taken as a whole; else its bad cells are shown where they stand. */

import type { Problem } from "../api";
import { address, ask, problemsIn, problemsOf, proof, Refused, sentence, told } from "../api";
import { blocksShown } from "../blocks";
import { byId, el } from "../dom";
import type { SentFile, SheetTaken, TakenEntries } from "../generated/api";
import { confirmButton } from "../questions";
import { sentFile, whenChosen } from "../sent_file";
import { makeRoom, noRoom } from "../settled";
import { say } from "../words";

type Sheet = SheetTaken["sheets"][number];

interface InHand {
  file: SentFile;
  asTyped: string[];
  reason: string;
}

/** @param taken is called once something was kept. */
export function wireSheets(key: string, taken: () => Promise<void>): void {
  let inHand: InHand | null = null;
  const send = async (): Promise<void> => {
    if (!inHand) return;
    const { file, asTyped, reason } = inHand;
    tell(say("Reading {name} …", { name: file.name }));
    makeRoom(byId("sheet-answer"));
    try {
      const body = { file, as_typed: asTyped, reason };
      const found = await ask("post", "/api/trials/{key}/sheets", { path: { key }, body });
      show(found, file.name, (field) => {
        inHand?.asTyped.push(field);
        void send();
      });
      if (found.is_kept) await taken();
    } catch (error) {
      byId("sheet-answer").replaceChildren();
      noRoom(byId("sheet-answer"));
      byId("sheet-reason-part").hidden = true;
      tell(problemsIn(error).map(told).join(" "), true);
    }
  };
  whenChosen(byId<HTMLInputElement>("sheet-file"), ([chosen]) => {
    if (!chosen) return;
    if (/\.json$/i.test(chosen.name)) {
      inHand = null;
      void takeEntries(chosen, taken);
      return;
    }
    void sentFile(chosen).then((file) => {
      inHand = { file, asTyped: [], reason: "" };
      byId<HTMLInputElement>("sheet-reason").value = "";
      return send();
    });
  });
  byId("sheet-again").addEventListener("click", () => {
    const why = byId<HTMLInputElement>("sheet-reason");
    if (!why.value.trim()) {
      tell(say("Say why first: the reason is kept with the correction."), true);
      why.focus();
      return;
    }
    if (inHand) inHand.reason = why.value.trim();
    void send();
  });
}

/** What a phone could not send and saved to a file: each of its entries by itself, and once. */
async function takeEntries(file: File, taken: () => Promise<void>): Promise<void> {
  byId("sheet-answer").replaceChildren();
  byId("sheet-reason-part").hidden = true;
  tell(say("Reading {name} …", { name: file.name }));
  try {
    const headers = { "content-type": "application/octet-stream", ...proof() };
    const response = await fetch(address("/api/entries"), { method: "POST", body: file, headers });
    if (!response.ok) throw new Refused(response.status, await problemsOf(response));
    const { taken: count, known, refused } = (await response.json()) as TakenEntries;
    tell(say("Entries taken: {taken}; known already: {known}.", { taken: count, known }), refused.length > 0);
    byId("sheet-answer").replaceChildren(...refused.map((each) => el("p", { class: "error" }, told(each))));
    await taken();
  } catch (error) {
    tell(problemsIn(error).map(told).join(" "), true);
  }
}

function tell(text: string, isBad = false): void {
  const line = byId("sheet-state");
  line.textContent = text;
  line.className = isBad ? "error" : "quiet-words";
}

function show(found: SheetTaken, name: string, confirm: (field: string) => void): void {
  const host = byId("sheet-answer");
  byId("sheet-reason-part").hidden = !found.problems.some((each) => each.kind === "on record");
  if (found.is_kept) {
    tell(say("Taken into the records: {name}.", { name }));
    host.replaceChildren(...blocksShown(found.blocks));
    return;
  }
  const count = found.problems.length;
  tell(
    count === 1
      ? say("Nothing of {name} was taken: one thing must be settled first.", { name })
      : say("Nothing of {name} was taken: {count} things must be settled first.", { name, count }),
    true,
  );
  const list = el("ol", { class: "sheet-problems" }, ...found.problems.map((each, at) => line(each, at, confirm)));
  host.replaceChildren(
    list,
    el(
      "p",
      { class: "quiet-words" },
      say("Mend the cells in the file and take it in again. What is right as it stands needs only your word."),
    ),
    ...found.sheets.map(table),
  );
}

function line(each: Problem, at: number, confirm: (field: string) => void): HTMLElement {
  return el(
    "li",
    { id: `sheet-problem-${at}`, tabindex: "-1", class: each.kind === "question" ? "asked-of-cell" : "error" },
    el("strong", {}, each.field),
    " ",
    sentence(each),
    each.kind === "question" ? " " : null,
    each.kind === "question" ? confirmButton(each.field, () => confirm(each.field)) : null,
  );
}

/** The heads and the rows with something to mend, as they stand in the file. */
function table(sheet: Sheet): HTMLElement {
  const label = say("Cells to mend in {title}", { title: sheet.title });
  return el(
    "section",
    {},
    el("h3", {}, label),
    el(
      "div",
      { class: "scroll", tabindex: "0", role: "region", "aria-label": label },
      el(
        "table",
        { class: "sheet-cells" },
        el("caption", { class: "unseen" }, label),
        el("thead", {}, el("tr", {}, el("td", {}), ...sheet.columns.map((each) => el("th", { scope: "col" }, each)))),
        el(
          "tbody",
          {},
          ...sheet.rows.map((row) =>
            el(
              "tr",
              { class: row.is_head ? "sheet-head" : null },
              el("th", { scope: "row" }, String(row.number)),
              ...row.cells.map((cell) =>
                el(
                  "td",
                  { class: cell.problems.length ? "bad-cell" : null },
                  cell.text || (cell.problems.length ? el("span", { class: "quiet-words" }, say("empty")) : ""),
                  ...cell.problems.map(mark),
                ),
              ),
            ),
          ),
        ),
      ),
    ),
    sheet.left_out
      ? el("p", { class: "quiet-words" }, say("Rows that are not shown here: {count}", { count: sheet.left_out }))
      : null,
  );
}

/** The number of a problem at its cell, and the way to what it says. */
function mark(at: number): HTMLElement {
  return el(
    "a",
    { href: `#sheet-problem-${at}`, class: "cell-mark", "aria-label": say("see number {number}", { number: at + 1 }) },
    String(at + 1),
  );
}
