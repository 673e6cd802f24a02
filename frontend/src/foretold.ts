/** What trials teach of the case on the bench, or of a trial's cases. */

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
        body: { case: shell.draft.case, at_least: "" },
        query: { units: shell.show.system },
        signal,
      }),
    show,
    confirm,
  );
}

/** Of the trial of a key; asked for when its part is opened. */
export function foretoldOfTrial(key: string): OpenedPart<ForetoldView> {
  return new OpenedPart(
    "foretold",
    (signal) => ask("get", "/api/learning/of-trial/{key}", { path: { key }, signal }),
    show,
    () => undefined,
  );
}

function show({ version, at, by, trials, tells, blocks }: ForetoldView): void {
  const known = { version, day: at.slice(0, 10), by, trials: trials.join(", ") };
  const words = !version
    ? say("Nothing was learnt from trials of this store yet.")
    : tells
      ? say("By version {version} of what was learnt ({day}, {by}) from: {trials}.", known)
      : say("What was learnt ({trials}) tells nothing of this film on this carriage.", known);
  byId("foretold-answer").replaceChildren(
    el("p", {}, words, " ", el("a", { href: "/learning" }, say("What trials teach"))),
    ...blocksShown(blocks),
  );
}
