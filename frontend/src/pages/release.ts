/** Which machines first: a release's file and the trials so far, made into a plan by the server. */

import { ask, askFile, problemsIn, Refused } from "../api";
import { blocksShown } from "../blocks";
import { byId, download, el } from "../dom";
import type { SentFile } from "../generated/api";
import { LongWork } from "../long_work";
import { noted } from "../noted";
import { problemsShown } from "../questions";
import { keepInMind, rememberedTable } from "../remembered";
import { sentFile, whenChosen } from "../sent_file";
import { start } from "../shell";
import { say } from "../words";

interface Kept {
  files: SentFile[];
  sites: SentFile | null;
  isExample: boolean;
  job: string | null;
}

const KEPT = "woold.release";

class ReleasePage {
  private readonly kept: Kept = rememberedTable<Kept>(KEPT, { files: [], sites: null, isExample: false, job: null });
  private right: string[] = [];
  private shown = "";
  private readonly work = new LongWork("release", {
    found: (job) => void this.fetch(job),
    refused: (problems) => {
      const confirm = (field: string): void => {
        this.right.push(field);
        void this.begin();
      };
      byId("release-problems").replaceChildren(...problemsShown(problems, confirm));
    },
    gone: () => this.change({ job: null }),
  });

  constructor() {
    whenChosen(byId<HTMLInputElement>("release-files"), (files) => void this.choose(files));
    whenChosen(byId<HTMLInputElement>("release-sites"), ([file]) => {
      if (file) void sentFile(file).then((sites) => this.change({ sites, isExample: false }));
    });
    byId("release-of-store").addEventListener("click", () => this.change({ sites: null, isExample: false }));
    byId("release-example").addEventListener("click", () => {
      this.change({ files: [], sites: null, isExample: true });
      void this.begin();
    });
    byId("ask-release").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.begin();
    });
    for (const format of ["pdf", "html"] as const)
      byId(`release-${format}`).addEventListener("click", () => void this.report(format));
  }

  async open(): Promise<void> {
    this.tellSources();
    if (this.kept.job) this.work.follow(this.kept.job);
  }

  private async choose(files: File[]): Promise<void> {
    this.change({ files: await Promise.all(files.map(sentFile)), isExample: false });
  }

  private change(next: Partial<Kept>): void {
    Object.assign(this.kept, next);
    if (!("job" in next)) {
      this.right = [];
      if (this.shown) byId("answer-state").textContent = say("Changed since; what is shown is an earlier plan.");
    }
    keepInMind(KEPT, JSON.stringify(this.kept));
    this.tellSources();
  }

  private tellSources(): void {
    const { files, sites, isExample } = this.kept;
    const names = files.map((each) => each.name).join(", ");
    byId("release-source").textContent = isExample
      ? say("The invented company: none of it exists.")
      : names || say("No file is open yet.");
    byId("sites-named").textContent = isExample
      ? say("Ten invented sites.")
      : (sites?.name ?? say("The trials of this store that were weighed."));
  }

  private async begin(): Promise<void> {
    byId("release-problems").replaceChildren();
    const { files, sites, isExample } = this.kept;
    if (!files.length && !isExample) {
      byId("release-problems").replaceChildren(el("p", { class: "error" }, say("Open a release's files first.")));
      return;
    }
    const body = { files, sites, trials: [], example: isExample, as_typed: this.right };
    const job = await this.work.begin(() => ask("post", "/api/release", { body }));
    if (job) this.change({ job });
  }

  private async fetch(job: string): Promise<void> {
    try {
      const { blocks } = await ask("get", "/api/release/{job}", { path: { job } });
      this.shown = job;
      byId("release-answer").replaceChildren(...blocksShown(blocks));
      byId("no-answer").hidden = true;
      byId("answer-ways").hidden = false;
      byId<HTMLAnchorElement>("release-json").href = `/api/release/${job}/document`;
      byId("answer-state").textContent = say("Up to date");
    } catch (error) {
      if (error instanceof Refused && error.status === 404) {
        this.change({ job: null });
        this.work.lost();
      } else byId("release-problems").replaceChildren(...problemsShown(problemsIn(error), () => undefined));
    }
  }

  private async report(format: "pdf" | "html"): Promise<void> {
    await noted(byId("answer-note"), async () => {
      const inside = { job: this.shown, format };
      const content = await askFile("/api/release/{job}/report/{format}", inside, {}, { paper: "a4" });
      download(`line-release.${format}`, content, content.type);
    });
  }
}

start(() => new ReleasePage().open());
