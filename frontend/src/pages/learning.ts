/** What the trials of the store teach of inputs that nobody measured, and of a load not wrapped yet. */

import type { Problem } from "../api";
import { ask, problemsIn, Refused } from "../api";
import { blocksShown } from "../blocks";
import { byId, el } from "../dom";
import type { Table } from "../draft";
import { confirmed, readToml, titleOf } from "../draft";
import type { LearningAsked, SentFile } from "../generated/api";
import { loadsWrapped } from "../loads_wrapped";
import { LongWork } from "../long_work";
import { markFields } from "../marked_fields";
import { problemsShown } from "../questions";
import { keepInMind, rememberedTable } from "../remembered";
import { sentFile, whenChosen } from "../sent_file";
import type { Shell } from "../shell";
import { openShell, start } from "../shell";
import { say } from "../words";

interface Kept {
  trials: string[];
  case: string;
  against: string;
  least: string;
  job: string | null;
}

const KEPT = "woold.learning";
const IN_HAND = "in hand";
/** Bytes of files that a page sends at once. */
const LARGEST = 30e6;
const FIELDS = { case: "learning-case", against: "learning-against", at_least: "learning-least" };

start(main);

async function main(): Promise<void> {
  let page: LearningPage | null = null;
  const shell = await openShell(() => page?.again());
  page = new LearningPage(shell);
  await page.open();
}

class LearningPage {
  private readonly kept: Kept = rememberedTable<Kept>(KEPT, {
    trials: [],
    case: "",
    against: "",
    least: "",
    job: null,
  });
  private right: string[] = [];
  private files: SentFile[] = [];
  private shown = "";
  private readonly work = new LongWork("learning", {
    found: (job) => void this.fetch(job),
    refused: (problems) => this.mark(problems),
    gone: () => this.keep({ job: null }),
  });

  constructor(private readonly shell: Shell) {
    byId("ask-learning").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.begin();
    });
    byId("ask-learning").addEventListener("input", () => {
      this.right = [];
      this.keep({
        case: byId<HTMLSelectElement>(FIELDS.case).value,
        against: byId<HTMLSelectElement>(FIELDS.against).value,
        least: byId<HTMLInputElement>(FIELDS.at_least).value,
      });
      this.old();
    });
    byId("ask-version").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.askVersion();
    });
    whenChosen(byId<HTMLInputElement>("learning-files"), (chosen) => void this.take(chosen));
    byId("learning-files-away").addEventListener("click", () => this.learnFrom([]));
    byId("learning-print").addEventListener("click", () => window.print());
    shell.draft.whenReplaced(() => void this.cases());
  }

  async open(): Promise<void> {
    const trials = (await ask("get", "/api/trials")).trials.filter((each) => each.loads_wrapped > 0);
    byId("no-trials").hidden = trials.length > 0;
    byId("learning-trials").append(
      ...trials.map((each) => {
        const isChosen = this.kept.trials.includes(each.key);
        const box = el("input", { type: "checkbox", value: each.key, checked: isChosen });
        box.addEventListener("change", () => {
          const chosen = [...byId("learning-trials").querySelectorAll("input")].filter((one) => one.checked);
          this.keep({ trials: chosen.map((one) => one.value) });
          this.old();
        });
        const words = loadsWrapped(each.loads_wrapped);
        return el("label", {}, box, each.title || each.key, el("span", { class: "quiet-words" }, words));
      }),
    );
    byId<HTMLInputElement>(FIELDS.at_least).value = this.kept.least;
    await Promise.all([this.cases(), this.versions()]);
    if (this.kept.job) this.work.follow(this.kept.job);
  }

  /** Files that somebody chose: trials to learn from instead of the store's. */
  private async take(chosen: File[]): Promise<void> {
    const size = chosen.reduce((sum, each) => sum + each.size, 0);
    if (size <= LARGEST) return this.learnFrom(await Promise.all(chosen.map(sentFile)));
    const note = byId("learning-files-note");
    note.className = "error";
    note.textContent = say("{size} MB are too many for a page: take fewer files, or the terminal.", {
      size: Math.ceil(size / 1e6),
    });
  }

  private learnFrom(files: SentFile[]): void {
    // A sheet that names no trial belongs to the trial file before it: the one that is named like it.
    const stem = ({ name }: SentFile): string => name.replace(/\.\w+$/, "");
    const isSheet = ({ name }: SentFile): number => Number(!/\.toml$/i.test(name));
    this.files = [...files].sort((one, other) => stem(one).localeCompare(stem(other)) || isSheet(one) - isSheet(other));
    this.right = [];
    const note = byId("learning-files-note");
    note.className = "quiet-words";
    note.textContent = files.length
      ? say("Learns from {names}, and not from the store.", { names: this.files.map((each) => each.name).join(", ") })
      : "";
    byId("learning-files-away").hidden = files.length === 0;
    byId<HTMLFieldSetElement>("learning-trials").disabled = files.length > 0;
    this.mark([]);
    this.old();
  }

  /** The reader wants other units. */
  again(): void {
    if (this.shown) void this.fetch(this.shown);
  }

  private keep(next: Partial<Kept>): void {
    Object.assign(this.kept, next);
    keepInMind(KEPT, JSON.stringify(this.kept));
  }

  private old(): void {
    if (this.shown) byId("answer-state").textContent = say("Changed since; what is shown is as it was. Learn anew.");
  }

  /** Cases to choose from: the one on the bench, and those that are saved. */
  private async cases(): Promise<void> {
    const { cases } = await ask("get", "/api/cases");
    for (const [field, none] of [
      ["case", say("none")],
      ["against", say("nothing")],
    ] as const) {
      const choice = byId<HTMLSelectElement>(FIELDS[field]);
      choice.replaceChildren(
        el("option", { value: "" }, none),
        el(
          "option",
          { value: IN_HAND },
          say("In hand on the bench: {title}", { title: titleOf(this.shell.draft.case) }),
        ),
        ...cases.map((each) => el("option", { value: each.id }, each.title || say("Untitled case"))),
      );
      choice.value = this.kept[field];
      if (choice.selectedIndex < 0) choice.value = "";
    }
  }

  /** Versions of what was learnt: each answers as it did then. */
  private async versions(): Promise<void> {
    const { versions, blocks } = await ask("get", "/api/learning/versions");
    byId("no-versions").hidden = versions.length > 0;
    byId("ask-version").hidden = versions.length === 0;
    byId("version").replaceChildren(...versions.map((each) => el("option", { value: String(each) }, String(each))));
    byId("learning-versions").replaceChildren(...blocksShown(blocks));
  }

  private async askVersion(): Promise<void> {
    const state = byId("version-state");
    const chosen = (field: "case" | "against"): string => byId<HTMLSelectElement>(FIELDS[field]).value;
    byId("version-problems").replaceChildren();
    state.textContent = say("Calculating …");
    try {
      const body = {
        case: (await this.table(chosen("case"))) ?? this.shell.draft.case,
        against: await this.table(chosen("against")),
        at_least: byId<HTMLInputElement>(FIELDS.at_least).value.trim(),
        version: Number(byId<HTMLSelectElement>("version").value),
        as_typed: this.right,
      };
      const query = { units: this.shell.show.system };
      const { version, at, trials, tells, blocks } = await ask("post", "/api/learning/forecast", { body, query });
      const known = { version, day: at.slice(0, 10), trials: trials.join(", ") };
      state.textContent = tells
        ? say("What version {version} of {day} says, learnt from: {trials}.", known)
        : say("Version {version} tells nothing of this film on this carriage.", known);
      byId("version-answer").replaceChildren(...blocksShown(blocks));
    } catch (error) {
      state.textContent = say("Something must be settled first.");
      const confirm = (field: string): void => {
        this.right.push(field);
        void this.askVersion();
      };
      byId("version-problems").replaceChildren(...problemsShown(problemsIn(error), confirm));
    }
  }

  private async table(id: string): Promise<Table | null> {
    if (!id) return null;
    if (id === IN_HAND) return this.shell.draft.case;
    return readToml((await ask("get", "/api/cases/{id}", { path: { id } })).toml);
  }

  private async begin(): Promise<void> {
    this.mark([]);
    const chosen = (field: "case" | "against"): string => byId<HTMLSelectElement>(FIELDS[field]).value;
    try {
      const body: LearningAsked = {
        trials: this.files.length ? [] : this.kept.trials,
        files: this.files,
        case: await this.table(chosen("case")),
        against: await this.table(chosen("against")),
        at_least: byId<HTMLInputElement>(FIELDS.at_least).value.trim(),
        as_typed: this.right,
      };
      const job = await this.work.begin(() => ask("post", "/api/learning", { body }));
      if (!job) return;
      this.old();
      this.keep({ job });
    } catch (error) {
      this.mark(problemsIn(error));
    }
  }

  private mark(problems: Problem[]): void {
    const confirm = (field: string): void => {
      // What the case on the bench states is confirmed there.
      if (field === "at_least" || field.includes("!")) this.right.push(field);
      else {
        confirmed(this.shell.draft.case, field);
        this.shell.draft.changed();
      }
      void this.begin();
    };
    byId("learning-problems").replaceChildren(...markFields(problems, FIELDS, confirm));
  }

  private async fetch(job: string): Promise<void> {
    try {
      const { blocks, is_trusted } = await ask("get", "/api/learning/{job}", {
        path: { job },
        query: { units: this.shell.show.system },
      });
      this.shown = job;
      await this.versions();
      byId("learning-answer").replaceChildren(...blocksShown(blocks));
      byId("no-answer").hidden = true;
      byId("answer-ways").hidden = false;
      byId<HTMLAnchorElement>("learning-json").href = `/api/learning/${job}/document`;
      byId("answer-state").textContent = is_trusted ? say("Up to date") : say("Withheld");
    } catch (error) {
      if (error instanceof Refused && error.status === 404) {
        this.keep({ job: null });
        this.work.lost();
      } else this.mark(problemsIn(error));
    }
  }
}
