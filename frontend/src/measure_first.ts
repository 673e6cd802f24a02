/** What to measure first, on the bench. */

import { ask } from "./api";
import type { Ways } from "./blocks";
import { blocksShown } from "./blocks";
import { byId } from "./dom";
import type { Sensitivity } from "./generated/api";
import { OpenedPart } from "./opened_part";
import type { Shell } from "./shell";

export function measureFirst(
  shell: Shell,
  ways: () => Ways,
  confirm: (field: string) => void,
): OpenedPart<Sensitivity> {
  return new OpenedPart(
    "measure-first",
    (signal) =>
      ask("post", "/api/sensitivity", {
        body: { case: shell.draft.case },
        query: { units: shell.show.system },
        signal,
      }),
    ({ blocks }) => byId("measure-first-answer").replaceChildren(...blocksShown(blocks, ways())),
    confirm,
  );
}
