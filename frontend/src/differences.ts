/** Where cases differ, field by field, and one made of two that began alike. */

import type { Table, Value } from "./draft";

export interface Difference {
  /** A field of a table, "program.force_to_load", or one of the case itself, "title". */
  field: string;
  before: Value | undefined;
  mine: Value | undefined;
  theirs: Value | undefined;
}

/** Fields by name; a list within a table counts as one. */
export function fieldsOf(table: Table): Map<string, Value> {
  const found = new Map<string, Value>();
  for (const [name, each] of Object.entries(table)) {
    if (!isTable(each) || "value" in each) found.set(name, each);
    else for (const [inner, value] of Object.entries(each)) found.set(`${name}.${inner}`, value);
  }
  return found;
}

/** Every field in which mine or theirs is not what both began with. */
export function differences(before: Table, mine: Table, theirs: Table): Difference[] {
  const [old, own, other] = [before, mine, theirs].map(fieldsOf) as [
    Map<string, Value>,
    Map<string, Value>,
    Map<string, Value>,
  ];
  return [...new Set([...own.keys(), ...other.keys(), ...old.keys()])]
    .map((field) => ({ field, before: old.get(field), mine: own.get(field), theirs: other.get(field) }))
    .filter((each) => !isSame(each.before, each.mine) || !isSame(each.before, each.theirs));
}

/** Whether both changed it, and not alike: somebody must choose. */
export function isDisputed({ before, mine, theirs }: Difference): boolean {
  return !isSame(before, mine) && !isSame(before, theirs) && !isSame(mine, theirs);
}

/** Theirs with what I changed; `isMine` decides where both did. */
export function merged(theirs: Table, found: Difference[], isMine: (field: string) => boolean): Table {
  const whole = structuredClone(theirs);
  for (const each of found) {
    const isOwn = isDisputed(each) ? isMine(each.field) : !isSame(each.before, each.mine);
    if (isOwn) putField(whole, each.field, each.mine);
  }
  return whole;
}

/** What stands in a field, in short. */
export function shortly(value: Value | undefined): string {
  if (value === undefined) return "–";
  const text =
    typeof value === "object"
      ? JSON.stringify(isTable(value) && "value" in value ? value.value : value)
      : String(value);
  return text.length > 60 ? `${text.slice(0, 59)}…` : text;
}

function putField(table: Table, field: string, value: Value | undefined): void {
  const [name = "", inner] = field.split(".", 2);
  if (inner === undefined) {
    if (value === undefined) delete table[name];
    else table[name] = value;
    return;
  }
  const held = table[name];
  const section = isTable(held) ? held : {};
  if (value === undefined) delete section[inner];
  else section[inner] = value;
  if (Object.keys(section).length) table[name] = section;
  else delete table[name];
}

function isTable(value: Value | undefined): value is Table {
  return typeof value === "object" && !Array.isArray(value);
}

function isSame(one: Value | undefined, other: Value | undefined): boolean {
  return JSON.stringify(sorted(one)) === JSON.stringify(sorted(other));
}

function sorted(value: Value | undefined): Value | undefined {
  if (value === undefined || typeof value !== "object") return value;
  if (Array.isArray(value)) return value.map((each) => sorted(each) as Value);
  return Object.fromEntries(
    Object.keys(value)
      .sort()
      .map((name) => [name, sorted(value[name]) as Value]),
  );
}
