/** Values of a form as text, and back. */

import type { Field, Value } from "./draft";
import { say } from "./words";

/** A value as it would be typed; what is not there is no text. */
export function asText(value: Value | Field["default"]): string {
  if (value === null) return "";
  if (Array.isArray(value)) {
    const nested = value.some((each) => Array.isArray(each));
    return value.map(asText).join(nested ? "\n" : ", ");
  }
  return typeof value === "object" ? asText(value.value ?? "") : String(value);
}

/** What a new row of a list begins with. */
export function exampleOf(field: Field): Value {
  return fromText(field, field.example || field.choices[0]?.code || "") ?? "";
}

/** What was typed, as the case file has it; undefined where nothing was. */
export function fromText(field: Field, text: string): Value | undefined {
  const trimmed = text.trim();
  if (!trimmed) return undefined;
  const parts = (line: string): Value[] =>
    line
      .split(",")
      .map((each) => each.trim())
      .filter(Boolean);
  if (field.type === "flag") return trimmed === "true";
  if (field.type === "list of lists")
    return trimmed
      .split("\n")
      .map(parts)
      .filter((each) => each.length);
  if (field.type === "list") return parts(trimmed);
  const isNumber = (field.type === "count" || field.type === "number") && !field.kind;
  return isNumber && Number.isFinite(Number(trimmed))
    ? Number(trimmed)
    : field.type === "text" && !field.kind
      ? text
      : trimmed;
}

/** What is said of a value that nobody measured. */
export function placeholderWords(range: string | null, origin: string): string {
  if (range === null) return say("Placeholder, nobody measured it: {origin}", { origin });
  return say("Placeholder, nobody measured it ({range}): {origin}", { range, origin });
}
