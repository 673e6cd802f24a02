/** The trials of this store. */

import { ask } from "../api";
import { byId, el } from "../dom";
import type { TrialLine } from "../generated/api";
import { start } from "../shell";
import { say } from "../words";

start(main);

async function main(): Promise<void> {
  const { trials } = await ask("get", "/api/trials");
  byId("none").hidden = trials.length > 0;
  byId("trials").replaceChildren(...trials.map(line));
}

function line(each: TrialLine): HTMLElement {
  const path = `/trials/${encodeURIComponent(each.key)}`;
  const title = each.title || each.key;
  const [wrapped, planned] = [each.loads_wrapped, each.loads_planned];
  return el(
    "li",
    { class: "pane trial-line" },
    el("h2", {}, el("a", { href: path }, title)),
    el("p", {}, say("{wrapped} of {planned} loads wrapped", { wrapped, planned })),
    el("progress", {
      max: Math.max(planned, 1),
      value: wrapped,
      "aria-label": say("loads wrapped of {title}", { title }),
    }),
    el(
      "p",
      { class: "choices" },
      el("a", { class: "button main", href: `${path}/form` }, say("Write down a load")),
      el("a", { class: "button", href: path }, say("See what it says so far")),
    ),
  );
}
