/** Reports and the set-up sheet of the case in hand: shown, printed, taken away; or why not. */

import type { Problem } from "../api";
import { ask, askFile, problemsIn } from "../api";
import { blocksShown } from "../blocks";
import { byId, download, el } from "../dom";
import type { Table } from "../draft";
import { confirmed, titleOf } from "../draft";
import type { ReportBody, ReportView } from "../generated/api";
import { latestJob } from "../kept_search";
import { problemsShown } from "../questions";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { say } from "../words";

type Kind = "prediction" | "sheet" | "carriages" | "design" | "transport";

/** Where what a report needs is made, if it is not there. */
const WAYS: Partial<Record<Kind, { path: string; words: () => string }>> = {
  carriages: { path: "/carriage", words: () => say("To the carriage page") },
  design: { path: "/design", words: () => say("To the design page") },
};

start(async () => {
  let page: ReportPage | null = null;
  const shell = await openShell(() => page?.again());
  page = new ReportPage(shell);
});

class ReportPage {
  private readonly kind = byId<HTMLSelectElement>("report-kind");
  private shown: { view: ReportView; kind: Kind; body: ReportBody } | null = null;
  private asking: AbortController | null = null;

  constructor(private readonly shell: Shell) {
    const { draft } = shell;
    const title = (): void => {
      byId("case-title").textContent = titleOf(draft.case);
    };
    title();
    draft.whenReplaced(() => {
      title();
      this.old();
    });
    const asked = new URLSearchParams(location.search).get("of");
    if (asked && [...this.kind.options].some((each) => each.value === asked)) this.kind.value = asked;
    byId("report-form").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.make();
    });
    byId("report-form").addEventListener("input", () => this.old());
    byId("report-print").addEventListener("click", () => window.print());
    for (const format of ["pdf", "html"] as const)
      byId(`report-${format}`).addEventListener("click", () => void this.keep(format));
  }

  /** The reader wants other units. */
  again(): void {
    if (this.shown) void this.make();
  }

  private old(): void {
    if (this.shown) this.tell(say("Changed since; what is shown is as it was. Make it anew."), "stale");
  }

  private body(): ReportBody {
    const { draft } = this.shell;
    const other =
      this.kind.value === "carriages" && draft.candidate
        ? {
            ...draft.case,
            title: say("{title}, other carriage", { title: titleOf(draft.case) }),
            carriage: draft.candidate,
          }
        : null;
    return {
      case: draft.case,
      candidate: other as Table | null,
      job: this.kind.value === "design" ? latestJob() : null,
      paper: byId<HTMLSelectElement>("report-paper").value as NonNullable<ReportBody["paper"]>,
    };
  }

  private query() {
    return { units: this.shell.show.system, decimal_comma: byId<HTMLInputElement>("report-comma").checked };
  }

  private async make(): Promise<void> {
    this.asking?.abort();
    const asking = new AbortController();
    this.asking = asking;
    const kind = this.kind.value as Kind;
    const body = structuredClone(this.body());
    this.tell(say("Making it …"), "asking");
    try {
      const view = await ask("post", "/api/reports/{kind}", {
        path: { kind },
        query: this.query(),
        body,
        signal: asking.signal,
      });
      this.shown = { view, kind, body: { ...body, at: view.made_at } };
      this.show(view);
      this.fail([]);
      this.tell(say("Made. Print it, or take it away."), "fresh");
    } catch (error) {
      if (this.asking !== asking) return;
      this.tell(this.shown ? say("Not made; what is shown is an earlier one.") : say("Not made."), "stale");
      this.fail(problemsIn(error));
    }
  }

  private show(view: ReportView): void {
    byId("report-panel").hidden = false;
    byId("report-title").textContent = view.title;
    byId("report-subtitle").textContent = view.subtitle;
    byId("report").replaceChildren(...blocksShown(view.blocks));
    byId("report-foot").textContent = view.footer;
    byId("report-note").textContent = "";
    byId("report-title").focus();
  }

  private fail(problems: Problem[]): void {
    const confirm = (field: string): void => {
      confirmed(this.shell.draft.case, field);
      this.shell.draft.changed();
      void this.make();
    };
    byId("report-problems").replaceChildren(...problemsShown(problems, confirm));
    const way = byId("report-way");
    way.hidden = problems.length === 0;
    const missing = problems.some((each) => ["candidate", "job"].includes(each.field));
    const to = missing ? WAYS[this.kind.value as Kind] : undefined;
    way.replaceChildren(
      el("a", { href: to?.path ?? "/", class: "button" }, to?.words() ?? say("Mend it on the bench")),
    );
  }

  private async keep(format: "pdf" | "html"): Promise<void> {
    if (!this.shown) return;
    const { view, kind, body } = this.shown;
    const note = byId("report-note");
    note.textContent = say("Laying out …");
    try {
      const content = await askFile("/api/reports/{kind}/{format}", { kind, format }, this.query(), body);
      download(`${view.name}.${format}`, content, content.type);
      note.textContent = say("Downloaded.");
    } catch (error) {
      note.textContent = "";
      this.fail(problemsIn(error));
    }
  }

  private tell(words: string, state: string): void {
    byId("report-panel").dataset.state = state;
    byId("report-state").textContent = words;
  }
}
