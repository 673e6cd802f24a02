/** What trials teach of the case on the bench. */

import { ask } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import type { ForetoldView } from "./generated/api";
import { OpenedPart } from "./opened_part";
import type { Shell } from "./shell";
import { say } from "./words";

export function foretold(shell: Shell, confirm: (field: string) => void): OpenedPart<ForetoldView> {
  return new OpenedPart(
    "foretold",
    (signal) =>
      ask("post", "/api/learning/forecast", {
        body: { case: shell.draft.case },
        query: { units: shell.show.system },
        signal,
      }),
    show,
    confirm,
  );
}

function show({ trials, tells, blocks }: ForetoldView): void {
  const words = !trials.length
    ? say("Nothing was learnt from trials on this server yet.")
    : tells
      ? say("Learnt from: {trials}.", { trials: trials.join(", ") })
      : say("What was learnt ({trials}) tells nothing of this film on this carriage.", { trials: trials.join(", ") });
  byId("foretold-answer").replaceChildren(
    el("p", {}, words, " ", el("a", { href: "/learning" }, say("What trials teach"))),
    ...blocksShown(blocks),
  );
}
