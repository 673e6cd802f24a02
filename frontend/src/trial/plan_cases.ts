/** Which two cases a trial compares: saved ones, the one in hand on the bench, or files. */

import { ask } from "../api";
import { byId, el } from "../dom";
import type { Table } from "../draft";
import { titleOf, writeToml } from "../draft";
import type { CaseLine } from "../generated/api";
import { handOfTab } from "../in_hand";
import type { KeptDraft } from "../kept_draft";
import { say } from "../words";

const IN_HAND = "in hand";
const SAVED = "saved ";
const OF_TRIAL = "file ";

/** What a trial file holds, the texts of its cases by name, and the number of loads as typed. */
export type PlanDraft = KeptDraft<{ trial: Table; cases: Record<string, string>; loads: string }>;

export interface NamedCase {
  name: string;
  toml: string;
}

/** A title as the name of a case file. */
export function fileName(title: string): string {
  const plain = title
    .replace(/[^A-Za-z0-9]+/g, "-")
    .replace(/^-|-$/g, "")
    .toLowerCase();
  return `${plain.slice(0, 80) || "case"}.toml`;
}

export class CaseChoice {
  private saved: CaseLine[] = [];
  private inHand: Table | null = null;

  constructor(
    private readonly draft: PlanDraft,
    private readonly removed: (name: string) => void,
  ) {}

  /** Learns which cases there are. */
  async load(): Promise<void> {
    this.inHand = handOfTab();
    this.saved = (await ask("get", "/api/cases")).cases;
    this.show();
  }

  show(): void {
    const names = Object.keys(this.draft.now.cases);
    for (const side of ["baseline", "candidate"] as const) {
      const select = byId<HTMLSelectElement>(`${side}-case`);
      const before = select.value;
      const choices = [
        el("option", { value: "" }, say("Choose a case")),
        this.inHand &&
          el("option", { value: IN_HAND }, say("In hand on the bench: {title}", { title: titleOf(this.inHand) })),
        group(
          say("Saved cases"),
          this.saved.map((each) => [SAVED + each.id, each.title || say("Untitled case")]),
        ),
        group(
          say("Cases of this trial"),
          names.map((name) => [OF_TRIAL + name, name]),
        ),
      ];
      select.replaceChildren(...choices.filter((each) => each !== null));
      const first = this.firstType()?.[side];
      select.value = before || (typeof first === "string" ? OF_TRIAL + first : "");
      if (select.selectedIndex < 0) select.value = "";
    }
    byId("case-list").replaceChildren(
      ...names.map((name) =>
        el(
          "li",
          {},
          el("code", {}, name),
          " ",
          el(
            "button",
            { type: "button", class: "quiet", click: () => this.removed(name) },
            say("Take {name} out", { name }),
          ),
        ),
      ),
    );
  }

  /** The case that is chosen for a side; null where none is. */
  async chosen(side: "baseline" | "candidate"): Promise<NamedCase | null> {
    const value = byId<HTMLSelectElement>(`${side}-case`).value;
    if (value === IN_HAND && this.inHand)
      return { name: fileName(titleOf(this.inHand)), toml: await writeToml(this.inHand) };
    if (value.startsWith(SAVED)) {
      const kept = await ask("get", "/api/cases/{id}", { path: { id: value.slice(SAVED.length) } });
      return { name: fileName(kept.title), toml: kept.toml };
    }
    const name = value.slice(OF_TRIAL.length);
    const toml = this.draft.now.cases[name];
    return toml === undefined ? null : { name, toml };
  }

  private firstType(): Table | undefined {
    const types = this.draft.now.trial.load_types;
    const first = Array.isArray(types) ? types[0] : undefined;
    return typeof first === "object" && !Array.isArray(first) ? first : undefined;
  }
}

function group(label: string, choices: [string, string][]): HTMLElement | null {
  if (!choices.length) return null;
  return el("optgroup", { label }, ...choices.map(([value, text]) => el("option", { value }, text)));
}
