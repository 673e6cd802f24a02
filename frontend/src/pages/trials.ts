/** The trials of this store. */

import { get } from "../api";
import { byId, el } from "../dom";
import { start } from "../shell";

interface TrialLine {
  key: string;
  title: string;
  loads_planned: number;
  loads_wrapped: number;
}

start(async () => {
  const { trials } = await get<{ trials: TrialLine[] }>("/api/trials");
  byId("none").hidden = trials.length > 0;
  byId("trials").replaceChildren(
    ...trials.map((each) => {
      const path = `/trials/${encodeURIComponent(each.key)}`;
      return el(
        "li",
        { class: "pane trial-line" },
        el("h2", {}, el("a", { href: path }, each.title || each.key)),
        el("p", {}, `${each.loads_wrapped} of ${each.loads_planned} loads wrapped`),
        el("progress", { max: Math.max(each.loads_planned, 1), value: each.loads_wrapped, "aria-label": `loads wrapped of ${each.title || each.key}` }),
        el("p", { class: "choices" }, el("a", { class: "button main", href: `${path}/form` }, "Write down a load"), el("a", { class: "button", href: path }, "See what it says so far")),
      );
    }),
  );
});
