/** Problems told outside of the form, each question with the button that answers it. */

import type { Problem } from "./api";
import { told } from "./api";
import { el } from "./dom";
import { fieldWords } from "./field_words";
import { say } from "./words";

/** Says of a value that was asked about that it is right. */
export function confirmButton(field: string, confirm: () => void): HTMLElement {
  const label = say("It is right: {field}", { field: fieldWords(field) });
  return el("button", { type: "button", class: "confirm", "aria-label": label, click: confirm }, say("It is right"));
}

/**
 * A line for each problem.
 * @param confirm keeps that the value in a field is right, and asks anew.
 */
export function problemsShown(problems: Problem[], confirm: (field: string) => void): HTMLElement[] {
  return problems.map((each) =>
    el(
      "p",
      { class: "error" },
      told(each),
      ...(each.kind === "question" ? [" ", confirmButton(each.field, () => confirm(each.field))] : []),
    ),
  );
}
