/** A case as a table of what is typed, and the ways to its fields. */

import { ask } from "./api";
import { learnFields } from "./field_words";
import type { FormFields, FormSection as Section } from "./generated/api";
import { say } from "./words";

/** What may stand in a case: typed, it has no null. */
export type Value = string | number | boolean | Value[] | { [key: string]: Value };
export type Table = { [key: string]: Value };
export type { FormField as Field, FormFields as Fields, FormSection as Section } from "./generated/api";

export async function loadFields(): Promise<FormFields> {
  const fields = await ask("get", "/api/fields");
  learnFields(fields.sections);
  return fields;
}

export async function readToml(toml: string): Promise<Table> {
  return (await ask("post", "/api/case/read", { body: { toml } })).case as Table;
}

export async function writeToml(table: Table): Promise<string> {
  return (await ask("post", "/api/case/write", { body: { case: table } })).toml;
}

export function titleOf(table: Table): string {
  return typeof table.title === "string" && table.title ? table.title : say("Untitled case");
}

/** Steps of a dotted path: "program.bands[0].height". */
function steps(path: string): (string | number)[] {
  return [...path.matchAll(/([^.[\]]+)|\[(\d+)\]/g)].map((found) =>
    found[2] === undefined ? String(found[1]) : Number(found[2]),
  );
}

export function valueAt(table: Table, path: string): Value | undefined {
  let here: Value | undefined = table;
  for (const step of steps(path)) {
    if (typeof here !== "object") return undefined;
    here = (here as Record<string | number, Value>)[step];
  }
  return here;
}

/** Puts a value in, making tables on the way; undefined takes it out. */
export function putAt(table: Table, path: string, value: Value | undefined): void {
  const all = steps(path);
  const last = all.pop();
  if (last === undefined) return;
  let here = table as Record<string | number, Value>;
  for (const [index, step] of all.entries()) {
    const next = here[step];
    if (typeof next !== "object") {
      if (value === undefined) return;
      here[step] = typeof (all[index + 1] ?? last) === "number" ? [] : {};
    }
    here = here[step] as Record<string | number, Value>;
  }
  if (value !== undefined) here[last] = value;
  else if (Array.isArray(here) && typeof last === "number") here.splice(last, 1);
  else delete here[last];
}

/** Keeps with the case that a value which was asked about is right. */
export function confirmed(table: Table, field: string): void {
  const right = table.as_typed;
  putAt(table, "as_typed", [...(Array.isArray(right) ? right : []), field]);
}

/** Another value in a field is asked about again. */
export function askedAgain(table: Table, path: string): void {
  const right = table.as_typed;
  if (!Array.isArray(right)) return;
  const kept = right.filter((each) => typeof each !== "string" || !path.startsWith(each));
  if (kept.length < right.length) putAt(table, "as_typed", kept.length ? kept : undefined);
}

/** The typed value of a field, also where it stands in a table with its origin. */
export function typedOf(value: Value | undefined): Value | undefined {
  if (value !== undefined && typeof value === "object" && !Array.isArray(value)) return value.value;
  return value;
}

/** Whether a text is the path of a table or field of a case: "film", "carriage.rollers[2].x". */
export function isPath(sections: Section[], text: string): boolean {
  const plain = text.replace(/\[\d+\]/g, "");
  return sections.some(
    ({ name, fields }) =>
      plain === name || fields.some((each) => plain === (name ? `${name}.${each.name}` : each.name)),
  );
}
