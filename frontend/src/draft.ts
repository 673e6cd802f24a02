/** The case in hand: one table, kept in this browser so that neither reload nor crash loses it. */

import { get, send } from "./api";
import type { Kinds } from "./units";

export type Value = string | number | boolean | Value[] | { [key: string]: Value };
export type Table = { [key: string]: Value };

export interface Field {
  name: string;
  kind: string;
  type: "choice" | "list" | "list of lists" | "flag" | "count" | "number" | "text";
  choices: string[];
  doc: string;
  example: string;
  default: Value | null;
  placeholder: string;
  low: number | null;
  high: number | null;
  range: string | null;
  units: string[];
  required: boolean;
}

export interface Section {
  name: string;
  doc: string;
  is_list: boolean;
  fields: Field[];
}

export interface Fields {
  sections: Section[];
  kinds: Kinds;
  /** What a new case begins with. */
  starter: Table;
  /** The invented case that a first visit shows. */
  example: Table;
}

export interface Draft {
  case: Table;
  id: string | null;
  revision: number | null;
  isSaved: boolean;
}

const KEY = "woold.draft";

export function loadFields(): Promise<Fields> {
  return get<Fields>("/api/fields");
}

export function keptDraft(example: Table): Draft {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "null") as Draft | null;
    if (kept && typeof kept.case === "object") return kept;
  } catch {
    // a draft that cannot be read is no draft
  }
  return { case: structuredClone(example), id: null, revision: null, isSaved: true };
}

export function keepDraft(draft: Draft): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(draft));
  } catch {
    // storage is full or forbidden: the page still works, and says so when it is left unsaved
  }
}

export async function readToml(toml: string): Promise<Table> {
  return (await send<{ case: Table }>("POST", "/api/case/read", { toml })).case;
}

export async function writeToml(table: Table): Promise<string> {
  return (await send<{ toml: string }>("POST", "/api/case/write", { case: table })).toml;
}

export function titleOf(table: Table): string {
  return typeof table["title"] === "string" && table["title"] ? table["title"] : "Untitled case";
}

/** Steps of a dotted path: "program.bands[0].height". */
function steps(path: string): (string | number)[] {
  return [...path.matchAll(/([^.[\]]+)|\[(\d+)\]/g)].map((found) => (found[2] === undefined ? String(found[1]) : Number(found[2])));
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

/** The typed value of a field, also where it stands in a table with its origin. */
export function typedOf(value: Value | undefined): Value | undefined {
  if (value !== undefined && typeof value === "object" && !Array.isArray(value)) return value["value"];
  return value;
}
