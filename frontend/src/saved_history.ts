/** What became of a saved case: its revisions, and what two people made of one of them. */

import { ask } from "./api";
import { askFirst } from "./ask_first";
import type { Difference } from "./differences";
import { differences, isDisputed, merged, shortly } from "./differences";
import type { Child } from "./dom";
import { el } from "./dom";
import type { Table } from "./draft";
import { readToml } from "./draft";
import { fieldWords } from "./field_words";
import { say, when } from "./words";

/** The tables of one revision. */
export async function revisionOf(id: string, revision: number): Promise<Table> {
  const path = { id, revision: String(revision) };
  return readToml((await ask("get", "/api/cases/{id}/revisions/{revision}", { path })).toml);
}

/** Lets one of a case's revisions be chosen, with what changed in each; null where none was. */
export async function chosenRevision(id: string): Promise<number | null> {
  const { revisions } = await ask("get", "/api/cases/{id}/revisions", { path: { id } });
  const tables = new Map(
    await Promise.all(revisions.map(async (each) => [each.revision, await revisionOf(id, each.revision)] as const)),
  );
  const lines = revisions.map((each, index) => {
    const now = tables.get(each.revision) ?? {};
    const before = tables.get(each.revision - 1);
    const found = before ? differences(before, now, now) : [];
    return el(
      "label",
      { class: "revision" },
      el("input", { type: "radio", name: "revision", value: String(each.revision), checked: index === 0 }),
      el("span", {}, say("{number}: {who}, {when}", { number: each.revision, who: each.by, when: when(each.at) })),
      before ? changesList(found) : el("p", { class: "quiet-words" }, say("as it was first saved")),
    );
  });
  const choices = [{ code: "back", label: say("Go back to the one chosen"), isMain: true }];
  const list = el("fieldset", { class: "revisions" }, el("legend", {}, say("Saved, the latest first")), ...lines);
  if ((await askFirst(say("What was saved"), [list], choices)) === null) return null;
  return Number(list.querySelector<HTMLInputElement>("input:checked")?.value);
}

/** What somebody else made of the case that I began from, and what is to become of both. */
export async function settled(
  before: Table,
  mine: Table,
  theirs: Table,
  who: string,
): Promise<{ answer: "merge"; table: Table } | { answer: "both" } | null> {
  const found = differences(before, mine, theirs);
  const disputed = found.filter(isDisputed);
  const rows = found.map((each) => row(each, who));
  const table = el(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": say("Changes") },
    el(
      "table",
      {},
      el("thead", {}, heads(say("field"), say("before"), say("yours"), say("by {who}", { who }))),
      el("tbody", {}, ...rows),
    ),
  );
  const body: Child[] = [
    el("p", {}, say("{who} saved this case after you opened it. Nothing is lost: choose what is kept.", { who })),
    table,
    disputed.length > 0 &&
      el("p", {}, say("Both of you changed some fields: choose in each of their lines which stands.")),
  ];
  const answer = await askFirst(say("Two changed the same case"), body, [
    { code: "merge", label: say("Save both people's changes as one"), isMain: true },
    { code: "both", label: say("Keep both, yours as a new case") },
  ]);
  if (answer === null) return null;
  if (answer === "both") return { answer };
  const isMine = (field: string): boolean =>
    table.querySelector<HTMLSelectElement>(`select[name="${CSS.escape(field)}"]`)?.value !== "theirs";
  return { answer: "merge", table: merged(theirs, found, isMine) };
}

function row(each: Difference, who: string): HTMLElement {
  const choice = isDisputed(each)
    ? el(
        "select",
        { name: each.field, "aria-label": say("what stands in {field}", { field: fieldWords(each.field) }) },
        el("option", { value: "mine" }, say("yours stands")),
        el("option", { value: "theirs" }, say("that of {who} stands", { who })),
      )
    : null;
  return el(
    "tr",
    {},
    el("th", { scope: "row" }, fieldWords(each.field), choice && " ", choice),
    ...[each.before, each.mine, each.theirs].map((value) => el("td", {}, shortly(value))),
  );
}

function heads(...words: string[]): HTMLElement {
  return el("tr", {}, ...words.map((each) => el("th", { scope: "col" }, each)));
}

function changesList(found: Difference[]): HTMLElement {
  if (!found.length) return el("p", { class: "quiet-words" }, say("nothing changed"));
  return el(
    "ul",
    { class: "quiet-words" },
    ...found.map(({ field, before, mine }) =>
      el("li", {}, `${fieldWords(field)}: ${shortly(before)} → ${shortly(mine)}`),
    ),
  );
}
