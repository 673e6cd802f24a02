/** A report on a page, to read and to print: the same blocks as on paper. */

import { problemsIn, told } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import type { ReportView } from "./generated/api";
import { say, when } from "./words";

/**
 * Shows a report, or why it cannot be made and what to do.
 * @param make asks the server for it.
 */
export async function showReport(make: () => Promise<ReportView>): Promise<ReportView | null> {
  const kind = byId("report-kind");
  const print = byId<HTMLButtonElement>("print");
  print.addEventListener("click", () => window.print());
  try {
    const found = await make();
    byId("report-title").textContent = found.title;
    kind.textContent = say("{kind}, made {when}", { kind: found.subtitle, when: when(found.made_at) });
    byId("report-blocks").replaceChildren(...blocksShown(found.blocks));
    // Handed over: the cautions stand open.
    for (const care of byId("report-blocks").querySelectorAll<HTMLDetailsElement>(".care")) care.open = true;
    byId("report-footer").textContent = found.footer;
    print.disabled = false;
    for (const id of ["pdf", "html"]) byId(id).hidden = false;
    return found;
  } catch (error) {
    kind.textContent = say("This report cannot be made yet.");
    byId("why-not").replaceChildren(...problemsIn(error).map((each) => el("p", { class: "error" }, told(each))));
    return null;
  }
}
