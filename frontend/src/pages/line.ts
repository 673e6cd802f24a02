/** The line: opened once, asked one question after another; answers are found again after a reload. */

import type { Problem } from "../api";
import { ask, askFile, problemsIn, Refused } from "../api";
import { blocksShown } from "../blocks";
import { byId, download, el } from "../dom";
import type { Table } from "../draft";
import { showEarlierLines } from "../earlier_lines";
import type { LineAnswer, LineAsked, LineOnServer, LineOpened, LineRun, LineSent } from "../generated/api";
import { HeatPart, putOnBench } from "../heat_table";
import type { KeptLine, Question } from "../line_kept";
import { keepLine, keptLine } from "../line_kept";
import { LongWork } from "../long_work";
import { markFields } from "../marked_fields";
import { noted } from "../noted";
import { problemsShown } from "../questions";
import { sentFile, whenChosen } from "../sent_file";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { say } from "../words";

const FIELDS = {
  sample: "line-sample",
  carriage: "line-carriage",
  machine: "line-machine",
  film: "line-film",
  film_loss: "line-loss",
  hold_margin: "line-margin",
  set_force: "line-forces",
  rethread_time: "line-rethread",
};

start(main);

async function main(): Promise<void> {
  let page: LinePage | null = null;
  const shell = await openShell(() => page?.again());
  page = new LinePage(shell);
  await page.open();
}

class LinePage {
  private readonly kept: KeptLine = keptLine();
  private sent: LineSent | null = null;
  private answer: LineAnswer | null = null;
  private shown = "";
  private right: string[] = [];
  private readonly heat: HeatPart;
  private readonly work: LongWork;

  constructor(private readonly shell: Shell) {
    this.heat = new HeatPart(shell);
    this.work = new LongWork("line", {
      found: (job) => void this.fetch(job),
      refused: (problems) => this.mark(problems),
      gone: () => this.forget(),
    });
    whenChosen(byId<HTMLInputElement>("line-files"), (files) => void this.chosen(files));
    byId("line-shelf").addEventListener("click", () => void this.send({ files: [], with_store: true }));
    byId("line-example").addEventListener("click", () => void this.send({ example: true }));
    byId("ask-line").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.begin();
    });
    for (const each of radios()) each.addEventListener("change", () => this.choose(each.value as Question));
    byId("ask-line").addEventListener("input", (event) => {
      const { id, value, type } = event.target as HTMLInputElement;
      if (!id) return;
      this.right = [];
      this.kept.fields[id] = type === "checkbox" ? (isChecked(id) ? "on" : "") : value;
      keepLine(this.kept);
    });
  }

  async open(): Promise<void> {
    const { line } = this.kept;
    this.choose(this.kept.question, false);
    await this.list();
    // Whoever opens one meanwhile keeps it.
    const isTaken = (): boolean => this.sent !== null || this.kept.line !== line;
    if (isTaken()) return;
    if (!line) {
      byId("line-source").textContent = say("No line is open yet.");
      return;
    }
    try {
      const found = await ask("get", "/api/line/{line}", { path: { line } });
      if (isTaken()) return;
      this.opened(found);
      this.restore();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.kept.line = null;
      this.kept.jobs = {};
      keepLine(this.kept);
      byId("line-source").textContent = say("The server does not have the line any more: open it again.");
    }
  }

  private list = (): Promise<void> => showEarlierLines((line, run) => void this.back(line, run));

  /** A line of the list, with the latest answer to each of its questions. */
  private async back(line: LineOnServer, run: LineRun | null): Promise<void> {
    byId("line-problems").replaceChildren();
    try {
      const found = await ask("get", "/api/line/{line}", { path: { line: line.line } });
      this.kept.jobs = {};
      for (const each of [...line.runs].reverse()) this.kept.jobs[each.question] = each.job;
      if (run) {
        this.kept.jobs[run.question] = run.job;
        this.kept.fields["line-sample"] = run.sample === null ? "" : String(run.sample);
      }
      this.empty();
      this.opened(found);
      this.choose(run?.question ?? this.kept.question);
    } catch (error) {
      byId("line-problems").replaceChildren(...problemsShown(problemsIn(error), () => undefined));
      await this.list();
    }
  }

  /** The reader wants other units. */
  again(): void {
    if (this.shown) void this.fetch(this.shown);
  }

  private async chosen(files: File[]): Promise<void> {
    await this.send({ files: await Promise.all(files.map(sentFile)), with_store: isChecked("line-with-store") });
  }

  private async send(given: Partial<LineSent>): Promise<void> {
    const body: LineSent = { files: [], title: "", with_store: false, example: false, as_typed: [], ...given };
    this.sent = body;
    const source = byId("line-source");
    source.textContent = say("Reading …");
    byId("line-problems").replaceChildren();
    try {
      const found = await ask("post", "/api/line", { body });
      if (this.kept.line !== found.line) {
        this.kept.jobs = {};
        this.empty();
      }
      this.opened(found);
      this.restore();
      await this.list();
    } catch (error) {
      source.textContent = this.kept.line
        ? say("Not opened; {name} is still open.", { name: this.kept.name })
        : say("Not opened.");
      const confirm = (field: string): void => {
        void this.send({ ...this.sent, as_typed: [...(this.sent?.as_typed ?? []), field] });
      };
      byId("line-problems").replaceChildren(...problemsShown(problemsIn(error), confirm));
    }
  }

  private opened(found: LineOpened): void {
    this.kept.line = found.line;
    this.kept.name = found.name;
    const combinations = found.combinations.toLocaleString(document.documentElement.lang);
    const { name, rows_left_out: rows } = found;
    byId("line-source").textContent = rows
      ? say("{name}: {combinations} combinations. Rows that cannot be used: {rows}.", { name, combinations, rows })
      : say("{name}: {combinations} combinations.", { name, combinations });
    byId<HTMLDetailsElement>("line-holds").open = rows > 0;
    byId("line-check").replaceChildren(...blocksShown(found.blocks));
    const { question } = this.kept;
    this.options("line-carriage", found.carriages, question === "wear" ? null : this.everyCarriage(question));
    this.options("line-machine", found.machine_models, say("all"));
    this.options("line-film", found.films, say("all"));
    keepLine(this.kept);
  }

  private everyCarriage(question: Question): string {
    return question === "recipes" ? say("the one of today") : say("all that list springs");
  }

  private options(id: string, names: string[], every: string | null): void {
    const choice = byId<HTMLSelectElement>(id);
    const before = this.kept.fields[id] ?? "";
    choice.replaceChildren(
      ...(every === null ? [] : [el("option", { value: "" }, every)]),
      ...names.map((each) => el("option", { value: each }, each)),
    );
    choice.value = names.includes(before) || every !== null ? before : (names[0] ?? "");
    if (choice.selectedIndex < 0) choice.selectedIndex = 0;
  }

  /** Another question: its fields, and its answer where there is one. */
  private choose(question: Question, isAsked = true): void {
    this.kept.question = question;
    this.right = [];
    for (const each of radios()) each.checked = each.value === question;
    for (const each of document.querySelectorAll<HTMLElement>(".line-fields [data-for]"))
      each.hidden = !each.dataset.for?.split(" ").includes(question);
    for (const [id, value] of Object.entries(this.kept.fields)) {
      const field = document.getElementById(id);
      if (field instanceof HTMLInputElement) {
        if (field.type === "checkbox") field.checked = value === "on";
        else field.value = value;
      }
    }
    const choice = byId<HTMLSelectElement>("line-carriage");
    const names = [...choice.options].map((each) => each.value).filter(Boolean);
    if (names.length) this.options(choice.id, names, question === "wear" ? null : this.everyCarriage(question));
    this.mark([]);
    if (!isAsked) return;
    keepLine(this.kept);
    this.restore();
  }

  /** The latest answer to the question, if it is still there; what is worked on is followed. */
  private restore(): void {
    const job = this.kept.jobs[this.kept.question];
    if (job && job === this.shown) return;
    this.work.leave();
    this.empty();
    if (job) this.work.follow(job);
  }

  private forget(): void {
    delete this.kept.jobs[this.kept.question];
    keepLine(this.kept);
    byId("answer-state").textContent = "";
  }

  private empty(): void {
    this.answer = null;
    this.shown = "";
    byId("no-answer").hidden = false;
    byId("answer-ways").hidden = true;
    for (const id of ["line-answer", "line-more", "sheets"]) byId(id).replaceChildren();
    byId("answer-note").textContent = "";
    byId("answer-state").textContent = "";
    this.heat.show(null, "", "");
  }

  private async begin(): Promise<void> {
    const { line, question } = this.kept;
    if (!line) {
      this.mark([]);
      byId("ask-problems").replaceChildren(el("p", { class: "error" }, say("Open a line first.")));
      return;
    }
    const body = this.asked(question);
    if (!body) return;
    const job = await this.work.begin(() => ask("post", "/api/line/{line}/ask", { path: { line }, body }));
    if (!job) return;
    this.mark([]);
    if (this.answer) byId("answer-state").textContent = say("What is shown is an earlier answer.");
    this.kept.jobs[question] = job;
    keepLine(this.kept);
    await this.list();
  }

  private asked(question: Question): LineAsked | null {
    const text = (id: string): string => byId<HTMLInputElement>(id).value.trim();
    const sample = text("line-sample");
    if (["map", "carriage"].includes(question) && sample && !/^[1-9]\d{0,7}$/.test(sample)) {
      this.mark([
        { field: "sample", given: sample, allowed: say("a whole number, 1 or more"), todo: "", kind: "error" },
      ]);
      return null;
    }
    const isOf = (...questions: Question[]): boolean => questions.includes(question);
    return {
      question,
      sample: isOf("map", "carriage") && sample ? Number(sample) : null,
      carriage: isOf("kits", "recipes", "wear") ? text("line-carriage") : "",
      machine: isOf("recipes") ? text("line-machine") : "",
      film: isOf("recipes") ? text("line-film") : "",
      by_machine: isOf("kits") && isChecked("line-by-machine"),
      loss: text("line-loss"),
      margin: text("line-margin"),
      forces: text("line-forces")
        .split(",")
        .map((each) => each.trim())
        .filter(Boolean),
      rethread: isOf("wear") ? text("line-rethread") : "",
      draws: 1000,
      as_typed: this.right,
    };
  }

  private mark(problems: Problem[]): void {
    const confirm = (field: string): void => {
      this.right.push(field);
      void this.begin();
    };
    byId("ask-problems").replaceChildren(...markFields(problems, FIELDS, confirm));
  }

  private async fetch(job: string): Promise<void> {
    const question = this.kept.question;
    try {
      const answer = await ask("get", "/api/line/answers/{job}", {
        path: { job },
        query: { units: this.shell.show.system },
      });
      if (answer.question !== question || this.kept.question !== question) return;
      this.answer = answer;
      this.shown = job;
      this.show(answer, job);
    } catch (error) {
      if (error instanceof Refused && error.status === 404) {
        this.forget();
        this.work.lost();
      } else this.mark(problemsIn(error));
    }
  }

  private show(answer: LineAnswer, job: string): void {
    byId("no-answer").hidden = true;
    byId("answer-state").textContent = say("Up to date");
    byId("answer-note").textContent = "";
    this.ways(answer, job);
    const isMap = answer.heat.length > 0;
    byId("line-answer").replaceChildren(...blocksShown(isMap ? [] : answer.blocks));
    this.heat.show(answer, job, this.kept.line ?? "");
    byId("line-more").replaceChildren(...blocksShown(isMap ? answer.blocks : []));
    this.showSheets(answer);
  }

  /** What can be taken away. */
  private ways(answer: LineAnswer, job: string): void {
    const cells = (format: "parquet" | "csv", words: string): HTMLElement =>
      el(
        "a",
        { class: "button", href: `/api/line/answers/${job}/cells/${format}`, download: `line-map.${format}` },
        words,
      );
    const host = byId("answer-ways");
    host.replaceChildren(
      el("button", { type: "button", click: () => void this.report(job, "pdf") }, say("Download PDF")),
      el("button", { type: "button", click: () => void this.report(job, "html") }, say("Download page")),
      el("a", { class: "button", href: `/api/line/answers/${job}/document`, download: "" }, say("Download JSON")),
      ...(answer.heat.length
        ? [cells("parquet", say("All cells (Parquet)")), cells("csv", say("All cells (CSV)"))]
        : []),
    );
    host.hidden = false;
  }

  private async report(job: string, format: "pdf" | "html"): Promise<void> {
    const { jobs, question } = this.kept;
    const other = question === "map" ? jobs.carriage : question === "carriage" ? jobs.map : undefined;
    await noted(byId("answer-note"), async () => {
      const body = { beside: other ?? null, paper: "a4" as const };
      const units = { units: this.shell.show.system };
      const content = await askFile("/api/line/answers/{job}/report/{format}", { job, format }, units, body);
      download(`line-${question}.${format}`, content, content.type);
    });
  }

  /** Recipes as cases: for the bench, and for the operator's sheet. */
  private showSheets({ sheets }: LineAnswer): void {
    if (!sheets.length) {
      byId("sheets").replaceChildren();
      return;
    }
    const line = (name: string, title: string, table: Table): HTMLElement =>
      el(
        "li",
        {},
        title,
        el("button", { type: "button", click: () => void this.sheet(name, table) }, say("Set-up sheet (PDF)")),
        el(
          "button",
          { type: "button", class: "quiet", click: () => putOnBench(this.shell, table, byId("answer-note")) },
          say("Put it on the bench"),
        ),
      );
    byId("sheets").replaceChildren(
      el("h3", {}, say("Each recipe on its hardest load")),
      el("ul", { class: "plain-list" }, ...sheets.map((each) => line(each.name, each.title, each.case as Table))),
    );
  }

  private async sheet(name: string, table: Table): Promise<void> {
    await noted(byId("answer-note"), async () => {
      const inside = { kind: "sheet", format: "pdf" };
      const body = { case: table };
      const content = await askFile(
        "/api/reports/{kind}/{format}",
        inside,
        { units: this.shell.show.system },
        body as Parameters<typeof askFile<"/api/reports/{kind}/{format}">>[3],
      );
      download(name.replace(/\.toml$/, "-sheet.pdf"), content, content.type);
    });
  }
}

function radios(): NodeListOf<HTMLInputElement> {
  return document.querySelectorAll<HTMLInputElement>("#line-questions input");
}

function isChecked(id: string): boolean {
  return byId<HTMLInputElement>(id).checked;
}
