/** What is told of a download beside its button. */

import { problemsIn, sentence } from "./api";
import { say } from "./words";

/** Lays a file out and keeps it: told meanwhile, once it is there, or why it is not. */
export async function noted(note: HTMLElement, action: () => Promise<void>): Promise<void> {
  note.className = "one-line";
  note.textContent = say("Laying out …");
  try {
    await action();
    note.textContent = say("Downloaded.");
  } catch (error) {
    note.className = "one-line error";
    note.textContent = problemsIn(error).map(sentence).join(" ");
  }
}
