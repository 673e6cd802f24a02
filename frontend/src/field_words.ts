/** Names of the case file's fields, said as the form says them: no reader has to know the file. */

import type { FormSection } from "./generated/api";
import { say } from "./words";

const words = new Map<string, string>();
let pattern: RegExp | null = null;

/** Learns what each table and field of a case is called. */
export function learnFields(sections: FormSection[]): void {
  for (const { name, label, fields } of sections) {
    if (name) words.set(name, label);
    for (const field of fields) words.set(name ? `${name}.${field.name}` : field.name, field.label);
  }
  const dotted = [...words.keys()].filter((each) => each.includes(".")).sort((one, two) => two.length - one.length);
  const escaped = dotted.map((each) =>
    each
      .split(".")
      .map((part) => `${part}(?:\\[\\d+\\])?`)
      .join("\\."),
  );
  pattern = escaped.length
    ? new RegExp(`(?<![\\w.])(?:base\\.|candidate\\.)?(?:${escaped.join("|")})(?![\\w])`, "g")
    : null;
}

/** A field as the form names it, with the part that it stands in: "Film, thickness". */
export function fieldWords(path: string): string {
  const plain = path.replace(/^(base|candidate)\./, "").replace(/\[\d+\]/g, "");
  const label = words.get(plain);
  if (label === undefined) return labelHere(plain) ?? (path.startsWith("--") ? path.slice(2).replace(/-/g, " ") : path);
  const number = /\[(\d+)\](?!.*\[)/.exec(path)?.[1];
  const parent = words.get(plain.split(".").slice(0, -1).join("."));
  const own =
    number !== undefined && path.endsWith("]")
      ? say("{name}, {number}", { name: label, number: Number(number) + 1 })
      : label;
  if (parent === undefined) return own;
  const from =
    number !== undefined && !path.endsWith("]")
      ? say("{name}, {number}", { name: parent, number: Number(number) + 1 })
      : parent;
  return say("{part}: {field}", { part: from, field: own.charAt(0).toLowerCase() + own.slice(1) });
}

/** Whether the page has words for a field; a text that is no field's name speaks for itself. */
export function isSaid(path: string): boolean {
  const plain = path.replace(/^(base|candidate)\./, "").replace(/\[\d+\]/g, "");
  return words.has(plain) || !/^[a-z_]+(\.[a-z_]+)*$/.test(plain) || labelHere(plain) !== undefined;
}

/** What the page itself calls a field that is none of a case's. */
function labelHere(name: string): string | undefined {
  const place = globalThis.document?.querySelector(
    `:is([data-field="${CSS.escape(name)}"], [data-names="${CSS.escape(name)}"])`,
  );
  const input = place?.matches("input, select, textarea") ? place : place?.querySelector("input, select, textarea");
  const label = (input as HTMLInputElement | null | undefined)?.labels?.[0];
  return label?.textContent?.trim() || undefined;
}

/** A sentence of a result in which fields are named as the form names them. */
export function plainWords(text: string): string {
  // A name by itself needs no quotes.
  if (words.has(text) || (pattern && text !== "" && text.replace(pattern, "") === "")) return fieldWords(text);
  return pattern ? text.replace(pattern, quoted) : text;
}

/** Of two cases that are compared it says which one's. */
function quoted(path: string): string {
  const field = fieldWords(path);
  if (path.startsWith("base.")) return say("“{field}” of the base", { field });
  if (path.startsWith("candidate.")) return say("“{field}” of the candidate", { field });
  return `“${field}”`;
}
