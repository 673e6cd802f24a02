/** Problems at the fields of a small form; what has no field there is told together. */

import type { Problem } from "./api";
import { sentence } from "./api";
import { byId } from "./dom";
import { confirmButton, problemsShown } from "./questions";

/**
 * Marks the fields, and returns the lines of all other problems.
 * @param fields names of fields, each with the id of its input; #ID-error holds what is told.
 * @param confirm keeps that the value in a field is right, and asks anew.
 */
export function markFields(
  problems: Problem[],
  fields: Record<string, string>,
  confirm: (field: string) => void,
): HTMLElement[] {
  for (const [name, id] of Object.entries(fields)) {
    const own = problems.filter((each) => each.field === name);
    const line = byId(`${id}-error`);
    line.replaceChildren(
      ...own.flatMap((each) => [
        sentence(each),
        ...(each.kind === "question" ? [" ", confirmButton(each.field, () => confirm(each.field))] : []),
      ]),
    );
    line.hidden = own.length === 0;
    if (own.length) byId(id).setAttribute("aria-invalid", "true");
    else byId(id).removeAttribute("aria-invalid");
  }
  return problemsShown(
    problems.filter((each) => !(each.field in fields)),
    confirm,
  );
}
