/** What another carriage may save, from five facts that a customer knows; on the page and on paper. */

import { ask, askFile, type Problem, problemsIn } from "../api";
import { blocksShown } from "../blocks";
import { byId, download, el } from "../dom";
import type { Table } from "../draft";
import { readToml, titleOf } from "../draft";
import type { QuoteAsked, SentFile } from "../generated/api";
import { markFields } from "../marked_fields";
import { noted } from "../noted";
import { keepInMind, rememberedTable } from "../remembered";
import { sentFile, whenChosen } from "../sent_file";
import { makeRoom } from "../settled";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { say } from "../words";

interface Kept {
  facts: Record<string, string>;
  offered: string;
  sites: SentFile | null;
  alone: boolean;
}

const KEPT = "woold.quote";
const IN_HAND = "in hand";
const NAMES = [
  "length",
  "width",
  "height",
  "loads_per_year",
  "roll_width",
  "thickness",
  "film_per_load",
  "rolls_per_week",
  "roll_mass",
  "carriage",
  "film_price",
  "price",
];
const FIELDS: Record<string, string> = Object.fromEntries(
  [...NAMES, "offered"].map((name) => [name, `quote-${name.replaceAll("_", "-")}`]),
);
const FIRST: Kept = { facts: { carriage: "unknown" }, offered: "", sites: null, alone: false };

start(main);

async function main(): Promise<void> {
  let page: QuotePage | null = null;
  const shell = await openShell(() => page?.again());
  page = new QuotePage(shell);
  await page.open();
}

class QuotePage {
  private kept: Kept = rememberedTable(KEPT, FIRST);
  private right: string[] = [];
  /** What the answer that is shown was asked for. */
  private shown: QuoteAsked | null = null;
  private turn = 0;

  constructor(private readonly shell: Shell) {
    const form = byId("ask-quote");
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      void this.begin();
    });
    form.addEventListener("input", (event) => {
      // A file that is chosen tells of itself.
      if ((event.target as Element).id === "quote-sites") return;
      const facts = Object.fromEntries(NAMES.map((name) => [name, this.field(name).value]));
      this.change({
        facts,
        offered: this.field("offered").value,
        alone: byId<HTMLInputElement>("quote-alone").checked,
      });
    });
    whenChosen(byId<HTMLInputElement>("quote-sites"), ([file]) => {
      if (file) void sentFile(file).then((sites) => this.change({ sites, alone: false }));
    });
    byId("quote-of-store").addEventListener("click", () => this.change({ sites: null, alone: false }));
    byId("quote-clear").addEventListener("click", () => {
      this.change(structuredClone(FIRST));
      this.mark([]);
      this.fill();
    });
    for (const format of ["pdf", "html"] as const)
      byId(`quote-${format}`).addEventListener("click", () => void this.paper(format));
    byId("quote-json").addEventListener("click", () => void this.document());
    shell.draft.whenReplaced(() => void this.cases());
  }

  async open(): Promise<void> {
    await this.cases();
    this.fill();
  }

  /** The reader wants other units. */
  again(): void {
    if (this.shown) void this.show({ ...this.shown, at: null });
  }

  private field(name: string): HTMLInputElement | HTMLSelectElement {
    return byId(FIELDS[name] ?? "");
  }

  private fill(): void {
    for (const name of NAMES) this.field(name).value = this.kept.facts[name] ?? "";
    if (!this.field("carriage").value) this.field("carriage").value = "unknown";
    this.field("offered").value = this.kept.offered;
    this.tellSource();
  }

  private change(next: Partial<Kept>): void {
    Object.assign(this.kept, next);
    this.right = [];
    keepInMind(KEPT, JSON.stringify(this.kept));
    if (this.shown) byId("answer-state").textContent = say("Changed since; what is shown is as it was. Ask anew.");
    this.tellSource();
  }

  private tellSource(): void {
    const { sites, alone } = this.kept;
    byId<HTMLInputElement>("quote-alone").checked = alone;
    if (alone) byId("quote-source").textContent = say("No site counts.");
    else if (sites) byId("quote-source").textContent = say("The sites of {name}.", { name: sites.name });
    else byId("quote-source").textContent = say("The trials of this store that were weighed.");
  }

  /** Cases whose carriage may be offered: the one on the bench, and those that are saved. */
  private async cases(): Promise<void> {
    const { cases } = await ask("get", "/api/cases");
    const inHand = say("In hand on the bench: {title}", { title: titleOf(this.shell.draft.case) });
    const choice = this.field("offered") as HTMLSelectElement;
    choice.replaceChildren(
      el("option", { value: "" }, say("none is named")),
      el("option", { value: IN_HAND }, inHand),
      ...cases.map((each) => el("option", { value: each.id }, each.title || say("Untitled case"))),
    );
    choice.value = this.kept.offered;
    if (choice.selectedIndex < 0) choice.value = "";
  }

  private async offered(): Promise<Table | null> {
    const id = this.field("offered").value;
    if (!id) return null;
    if (id === IN_HAND) return this.shell.draft.case;
    return readToml((await ask("get", "/api/cases/{id}", { path: { id } })).toml);
  }

  private async begin(): Promise<void> {
    this.mark([]);
    const { facts, sites, alone } = this.kept;
    const known = { ...facts, carriage: this.field("carriage").value };
    try {
      await this.show({
        facts: known,
        offered: await this.offered(),
        sites,
        alone,
        paper: "a4",
        as_typed: this.right,
        at: null,
      });
    } catch (error) {
      this.fail(error);
    }
  }

  private async show(body: QuoteAsked): Promise<void> {
    this.turn += 1;
    const { turn } = this;
    byId("answer-state").textContent = say("Calculating …");
    makeRoom(byId("quote-answer"));
    try {
      const query = { units: this.shell.show.system };
      const { blocks, made_at } = await ask("post", "/api/quote", { body, query });
      if (turn !== this.turn) return;
      this.shown = { ...body, at: made_at };
      byId("quote-answer").replaceChildren(...blocksShown(blocks));
      byId("no-answer").hidden = true;
      byId("answer-ways").hidden = false;
      byId("answer-state").textContent = say("Up to date");
      const card = byId("answer-card");
      const { top } = card.getBoundingClientRect();
      if (top < 0 || top > window.innerHeight) card.scrollIntoView();
    } catch (error) {
      if (turn === this.turn) this.fail(error);
    }
  }

  private fail(error: unknown): void {
    byId("answer-state").textContent = say("Something must be settled first.");
    this.mark(problemsIn(error));
  }

  private mark(problems: Problem[]): void {
    const confirm = (field: string): void => {
      this.right.push(field);
      void this.begin();
    };
    byId("quote-problems").replaceChildren(...markFields(problems, FIELDS, confirm));
  }

  private async paper(format: "pdf" | "html"): Promise<void> {
    await noted(byId("answer-note"), async () => {
      const query = { units: this.shell.show.system };
      const content = await askFile("/api/quote/paper/{format}", { format }, query, this.asked());
      download(`quote.${format}`, content, content.type);
    });
  }

  private async document(): Promise<void> {
    await noted(byId("answer-note"), async () => {
      const query = { units: this.shell.show.system };
      const content = await askFile("/api/quote/document", {}, query, this.asked());
      download("quote.json", content, content.type);
    });
  }

  /** Paper says what the page shows. */
  private asked(): QuoteAsked {
    if (!this.shown) throw new Error("nothing was asked");
    return this.shown;
  }
}
