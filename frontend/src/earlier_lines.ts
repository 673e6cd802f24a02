/** Lines that the server still has: who sent them and when, what was asked, and a way back to each. */

import { ask } from "./api";
import { byId, el } from "./dom";
import type { LineOnServer, LineRun } from "./generated/api";
import type { Question } from "./line_kept";
import { say, when } from "./words";

const WORDS = { class: "words" };

/**
 * Shows the list.
 * @param open what opens a line again, at one of its questions.
 */
export async function showEarlierLines(open: (line: LineOnServer, run: LineRun | null) => void): Promise<void> {
  const { lines } = await ask("get", "/api/line", {});
  if (!lines.length) {
    byId("line-list").replaceChildren(el("p", { class: "quiet-words" }, say("The server has none.")));
    return;
  }
  byId("line-list").replaceChildren(
    el(
      "div",
      { class: "scroll" },
      el(
        "table",
        {},
        el(
          "thead",
          {},
          el("tr", {}, ...[say("line"), say("asked")].map((head) => el("th", { scope: "col", ...WORDS }, head))),
        ),
        el("tbody", {}, ...lines.map((line) => row(line, open))),
      ),
    ),
  );
}

function row(line: LineOnServer, open: (line: LineOnServer, run: LineRun | null) => void): HTMLElement {
  return el(
    "tr",
    {},
    el(
      "td",
      WORDS,
      el(
        "button",
        { type: "button", class: "quiet", click: () => open(line, null) },
        say("Open {name}", { name: line.name }),
      ),
      el("p", { class: "quiet-words" }, say("sent {when} by {by}", { when: when(line.at), by: line.by })),
    ),
    el(
      "td",
      WORDS,
      ...(line.runs.length
        ? line.runs.map((run) =>
            el("p", {}, el("button", { type: "button", class: "quiet", click: () => open(line, run) }, told(run))),
          )
        : [say("nothing yet")]),
    ),
  );
}

function told(run: LineRun): string {
  const values = { question: asked(run.question), when: when(run.at), by: run.by };
  return run.sample === null
    ? say("{question}, {when}, {by}", values)
    : say("{question}, {loads} loads, {when}, {by}", { ...values, loads: run.sample });
}

/** The question in the words of the page. */
function asked(question: Question): string {
  const radio = document.querySelector<HTMLInputElement>(`#line-questions input[value="${question}"]`);
  return radio?.parentElement?.textContent?.trim() ?? question;
}
