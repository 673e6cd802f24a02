/** The things on a shelf as a list to choose from. */

import type { Child } from "./dom";
import { el } from "./dom";
import type { KindLines, NewVersion } from "./generated/api";
import { say } from "./words";

/** A thing by its kind and name. */
export interface Thing {
  kind: NewVersion["kind"];
  name: string;
}

/** A moment as the reader's browser writes it. */
export function when(at: string): string {
  const moment = new Date(at);
  return Number.isNaN(moment.valueOf())
    ? at
    : moment.toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short" });
}

/** A list for each kind of which there is something. */
export function keptLines(kinds: KindLines[], chosen: Thing | null, open: (thing: Thing) => void): HTMLElement[] {
  return kinds
    .filter((each) => each.things.length > 0)
    .map(({ kind, label, things }) =>
      el(
        "section",
        {},
        el("h3", {}, label),
        el("ul", { class: "kept" }, ...things.map((each) => el("li", {}, ...line({ kind, ...each })))),
      ),
    );

  function line(each: KindLines["things"][number] & { kind: string }): Child[] {
    const thing = { kind: each.kind as Thing["kind"], name: each.name };
    const isChosen = chosen?.kind === thing.kind && chosen.name === thing.name;
    return [
      el(
        "button",
        {
          type: "button",
          class: "kept-thing",
          "data-kind": thing.kind,
          "data-name": thing.name,
          "aria-current": isChosen ? "true" : null,
          click: () => open(thing),
        },
        `@${each.name}`,
      ),
      el(
        "span",
        { class: "quiet-words" },
        say("version {version}, {who}, {when}", { version: each.version, who: each.by, when: when(each.at) }),
      ),
    ];
  }
}
