/** On the bench: what the case in hand takes from the shelf, and what changed there since. */

import type { Problem } from "./api";
import { ask, problemsIn } from "./api";
import { blocksShown } from "./blocks";
import { byId, el } from "./dom";
import type { Table } from "./draft";
import type { KindLines, MadeOfView } from "./generated/api";
import type { InHand } from "./in_hand";
import { Live } from "./live";
import { problemsShown } from "./questions";
import type { Thing } from "./shelf_lines";
import { say } from "./words";

const ROOT = "from-shelf";

export class CaseShelf {
  private kinds: KindLines[] = [];
  private made: MadeOfView | null = null;
  private readonly live: Live<MadeOfView>;

  constructor(private readonly hand: InHand) {
    this.live = new Live(
      (signal) => ask("post", "/api/shelf/since", { body: { case: hand.case }, signal }),
      (made) => {
        this.made = made;
        this.show();
      },
      (_, problems) => this.tell(problems),
      500,
    );
    hand.whenReplaced(() => this.changed());
  }

  async start(): Promise<void> {
    this.kinds = (await ask("get", "/api/shelf")).kinds;
    this.show();
    this.changed();
  }

  /** The case has changed. */
  changed(): void {
    const rests = this.hand.case.made_of;
    if (Array.isArray(rests) && rests.length > 0) {
      this.live.changed();
      return;
    }
    this.live.stop();
    this.made = null;
    this.show();
  }

  private tell(problems: Problem[]): void {
    byId(`${ROOT}-problems`).replaceChildren(...problemsShown(problems, () => undefined));
  }

  private show(): void {
    const made = this.made?.things ?? [];
    const differ = made.filter((each) => each.state !== "as it was" || each.by_hand > 0);
    byId(`${ROOT}-state`).textContent = made.length
      ? differ.length
        ? say("{count} taken, {changed} changed since", { count: made.length, changed: differ.length })
        : say("{count} taken, all as on the shelf", { count: made.length })
      : say("nothing taken");
    byId(ROOT).classList.toggle("has-changed", differ.length > 0);
    const offered = this.kinds.filter((each) => each.things.length > 0);
    const rests = made.filter((each) => !offered.some(({ kind }) => kind === each.kind));
    const focused = document.activeElement?.id;
    byId(`${ROOT}-things`).replaceChildren(
      ...offered.map((each) =>
        this.line(
          each,
          made.find(({ kind }) => kind === each.kind),
        ),
      ),
      ...rests.map((each) => el("p", {}, `@${each.name}: ${each.told}`)),
    );
    if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
    const isEmpty = offered.length === 0;
    byId(`${ROOT}-empty`).hidden = !isEmpty;
    const blocks = differ.length ? (this.made?.blocks ?? []) : [];
    byId(`${ROOT}-changes`).replaceChildren(...blocksShown(blocks, { isFolded: true }));
  }

  private line({ kind, one, things }: KindLines, made?: MadeOfView["things"][number]): HTMLElement {
    const id = `take-${kind}`;
    const select = el(
      "select",
      { id },
      el("option", { value: "" }, say("not from the shelf")),
      ...things.map((each) => el("option", { value: each.name }, `@${each.name}`)),
    );
    select.value = made && things.some((each) => each.name === made.name) ? made.name : "";
    const button = el(
      "button",
      {
        type: "button",
        id: `${id}-now`,
        click: () => void this.take({ kind: kind as Thing["kind"], name: select.value }),
      },
      say("Take it"),
    );
    const offer = (): void => {
      const its = things.find((each) => each.name === select.value);
      const isIt = its !== undefined && made?.name === its.name;
      button.hidden = its === undefined || (isIt && made.state === "as it was" && made.by_hand === 0);
      button.textContent = its
        ? isIt
          ? say("Take version {version} anew", { version: its.version })
          : say("Take version {version}", { version: its.version })
        : "";
    };
    select.addEventListener("change", offer);
    offer();
    return el(
      "div",
      { class: "shelf-line" },
      el("label", { for: id }, one),
      select,
      button,
      made
        ? el(
            "p",
            { class: "quiet-words" },
            say("version {version}: {told}", { version: made.version, told: made.told }),
          )
        : null,
    );
  }

  private async take(thing: Thing): Promise<void> {
    try {
      const { case: table } = await ask("post", "/api/shelf/take", { body: { case: this.hand.case, ...thing } });
      this.tell([]);
      this.hand.replace(table as Table, { id: this.hand.id, revision: this.hand.revision, isSaved: false });
    } catch (error) {
      this.tell(problemsIn(error));
    }
  }
}
