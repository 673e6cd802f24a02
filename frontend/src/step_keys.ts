/** Two buttons to undo and redo, and the keys that every program has for them. */

import { byId } from "./dom";
import type { Steps } from "./steps";

export function wireSteps(undo: () => void, redo: () => void): void {
  byId("undo").addEventListener("click", undo);
  byId("redo").addEventListener("click", redo);
  document.addEventListener("keydown", (event) => {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || event.altKey || !["z", "y"].includes(key)) return;
    if (isOtherText(event.target)) return;
    event.preventDefault();
    if (key === "y" || event.shiftKey) redo();
    else undo();
  });
}

/** Says on the buttons what can be done. */
export function markSteps(steps: Steps): void {
  for (const [id, can] of [
    ["undo", steps.canUndo],
    ["redo", steps.canRedo],
  ] as const) {
    const button = document.getElementById(id);
    // Not disabled: whoever stands on it with the keyboard stays there.
    button?.setAttribute("aria-disabled", String(!can));
  }
}

/** Whether somebody writes into a field that is not kept step by step. */
function isOtherText(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement) || target.closest("[data-field]")) return false;
  return target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && target.type === "text");
}
