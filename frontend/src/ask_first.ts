/** Asks before something is done that somebody may not want. */

import type { Child } from "./dom";
import { el, freshId } from "./dom";
import { say } from "./words";

export interface Choice {
  code: string;
  label: string;
  isMain?: boolean;
}

/** Shows words and choices over the page; null where nothing was chosen. */
export function askFirst(title: string, body: Child[], choices: Choice[]): Promise<string | null> {
  const name = freshId("asked");
  return new Promise((resolve) => {
    const buttons = choices.map(({ code, label, isMain }) =>
      el("button", { type: "submit", value: code, class: isMain ? "main" : "quiet" }, label),
    );
    const stay = el("button", { type: "submit", value: "", class: "quiet" }, say("Leave it as it is"));
    const dialog = el(
      "dialog",
      { class: "asked", "aria-labelledby": name },
      el(
        "form",
        { method: "dialog" },
        el("h2", { id: name }, title),
        ...body,
        el("div", { class: "filebar" }, ...buttons, stay),
      ),
    );
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue || null);
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}
