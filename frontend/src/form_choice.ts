/** A field of a form in which one of some words is chosen. */

import { el } from "./dom";
import type { Field } from "./draft";
import { say } from "./words";

/** The choice; what is usual is named where nothing was chosen. */
export function choice(field: Field, id: string, chosen: string): HTMLSelectElement {
  const yesOrNo = [
    { code: "true", label: say("yes") },
    { code: "false", label: say("no") },
  ];
  const choices = field.type === "flag" ? yesOrNo : field.choices;
  const usual = choices.find((each) => each.code === String(field.default));
  const unset = usual ? say("{value} (default)", { value: usual.label }) : say("not given");
  const select = el(
    "select",
    { id },
    field.required ? null : el("option", { value: "" }, unset),
    ...choices.map((each) => el("option", { value: each.code }, each.label)),
  );
  select.value = chosen;
  return select;
}
