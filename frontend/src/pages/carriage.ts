/** Two film carriages side by side: lacings to move, what they deliver, what the other one saves. */

import { ask, reason } from "../api";
import { blocksShown } from "../blocks";
import { CarriagePanel } from "../carriage_panel";
import { byId, debounced, download, el } from "../dom";
import type { Table } from "../draft";
import { titleOf, writeToml } from "../draft";
import { fieldWords } from "../field_words";
import type { ComparisonView, ExampleCarriage } from "../generated/api";
import { Glance } from "../glance";
import { Live, stateWords } from "../live";
import { savingBars, stretchCurves } from "../saving_charts";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { say } from "../words";

const FINAL_DRAWS = 10_000;
const LIVE_DRAWS = 400;

start(async () => {
  let page: CarriagePage | null = null;
  const { carriages } = await ask("get", "/api/carriage/examples");
  const shell = await openShell(() => void page?.open());
  page = new CarriagePage(shell, carriages);
  await page.open();
});

class CarriagePage {
  private readonly base: CarriagePanel;
  private readonly candidate: CarriagePanel;
  private readonly live: Live<ComparisonView>;
  private readonly glance = new Glance(byId("glance"));
  private readonly finish = debounced(1500, () => this.finished());
  private draws = LIVE_DRAWS;
  private isOpen = false;

  constructor(
    private readonly shell: Shell,
    examples: ExampleCarriage[],
  ) {
    const { draft } = shell;
    const candidate = structuredClone(draft.case);
    candidate.title = say("{title}, other carriage", { title: titleOf(draft.case) });
    candidate.carriage =
      structuredClone(draft.candidate) ??
      (structuredClone(examples[1]?.carriage) as Table | undefined) ??
      draft.case.carriage ??
      {};
    const keepBase = (): void => draft.changed();
    const keepCandidate = (): void => draft.compare(candidate.carriage as Table);
    keepCandidate();
    const answered = (): void => this.changed();
    const refused = (): void => this.refused();
    this.base = new CarriagePanel("base", draft.case, shell, examples, { edited: keepBase, answered, refused });
    this.candidate = new CarriagePanel("candidate", candidate, shell, examples, {
      edited: keepCandidate,
      answered,
      refused,
    });
    byId("case-title").textContent = titleOf(draft.case);
    draft.whenReplaced(() => {
      byId("case-title").textContent = titleOf(draft.case);
      const { carriage } = candidate;
      Object.assign(candidate, structuredClone(draft.case), {
        title: candidate.title,
        carriage: draft.candidate ?? carriage,
      });
      this.base.refresh();
      this.candidate.refresh();
    });
    this.live = new Live<ComparisonView>(
      (signal) => this.compare(signal),
      (answer) => this.show(answer),
      (state, problems) => {
        const fields = problems.map((each) => fieldWords(each.field)).join("; ");
        byId("comparison").dataset.state = state;
        byId("comparison-state").textContent =
          state === "stale" ? say("Not compared: {fields}", { fields }) : stateWords(state);
        if (state === "stale") this.refused();
      },
      0,
    );
    byId("take-candidate").addEventListener("click", () => {
      this.base.take(structuredClone(candidate.carriage as Table));
      byId("carriage-note").textContent = say("The case on the bench now has the candidate's carriage.");
    });
    byId("download-candidate").addEventListener("click", () => {
      writeToml(candidate)
        .then((text) => download("candidate.toml", text, "application/toml"))
        .catch((error: unknown) => (byId("carriage-note").textContent = reason(error)));
    });
  }

  async open(): Promise<void> {
    await Promise.all([this.base.ask(), this.candidate.ask()]);
    this.isOpen = true;
    this.changed();
  }

  /** A carriage that cannot be saves nothing, and goes on no bench. */
  private refused(): void {
    const isCandidate = this.candidate.state === "stale";
    const words = isCandidate
      ? say("no saving: the candidate cannot be")
      : say("no saving: the two cannot be compared");
    this.glance.none(words, say("Mend the values that are marked below; nothing is compared until then."));
    byId("saving").replaceChildren(el("p", { class: "empty" }, words));
    byId<HTMLButtonElement>("take-candidate").disabled = isCandidate;
    this.curves();
  }

  private curves(): void {
    const host = byId("curve");
    const shown = (panel: CarriagePanel) => (panel.state === "stale" ? undefined : (panel.view ?? undefined));
    host.replaceChildren(...stretchCurves(shown(this.base), shown(this.candidate), this.shell.show, host.clientWidth));
  }

  private compare(signal: AbortSignal): Promise<ComparisonView> {
    const body = { base: this.base.table, candidate: this.candidate.table, draws: this.draws, seed: 1 };
    return ask("post", "/api/carriage/compare", { body, query: { units: this.shell.show.system }, signal });
  }

  private changed(): void {
    this.curves();
    if (this.candidate.state === "stale" || this.base.state === "stale") {
      this.live.stop();
      this.refused();
      return;
    }
    if (!this.isOpen) return;
    this.draws = LIVE_DRAWS;
    this.live.changed();
    this.finish();
  }

  /** Nothing moved for a while: the ranges get all of their draws. */
  private finished(): void {
    if (this.candidate.state === "stale" || this.base.state === "stale") return;
    this.draws = FINAL_DRAWS;
    this.live.changed();
  }

  private show(view: ComparisonView): void {
    this.glance.show(view.glance, view.comparison.candidate_verdict.holds);
    byId<HTMLButtonElement>("take-candidate").disabled = false;
    const [answer, ...rest] = blocksShown(view.blocks);
    const bars = view.comparison.is_saving ? [savingBars(view, byId("saving").clientWidth || 480)] : [];
    byId("saving").replaceChildren(...(answer ? [answer] : []), ...bars, ...rest);
  }
}
