/** Work that takes a while on the server: followed step by step, found again after a reload, stopped. */

import type { Problem } from "./api";
import { ask, problemsIn } from "./api";
import { byId } from "./dom";
import type { WorkNews } from "./generated/api";
import type { News } from "./job_stream";
import { jobStream, progressShown } from "./job_stream";
import { say } from "./words";

interface Parts {
  run: HTMLButtonElement;
  stop: HTMLButtonElement;
  progress: HTMLProgressElement;
  state: HTMLElement;
}

interface Heard {
  /** The answer is there. */
  found(job: string): void;
  /** It was refused. */
  refused(problems: Problem[]): void;
  /** The server does not know the job any more. */
  gone(): void;
}

export class LongWork {
  private stream: EventSource | null = null;
  private job: string | null = null;
  private began = 0;
  private readonly parts: Parts;

  /**
   * @param name of its parts: #NAME-run, #NAME-stop, #NAME-progress, #NAME-state.
   */
  constructor(
    name: string,
    private readonly heard: Heard,
  ) {
    this.parts = {
      run: byId(`${name}-run`),
      stop: byId(`${name}-stop`),
      progress: byId(`${name}-progress`),
      state: byId(`${name}-state`),
    };
    this.parts.stop.addEventListener("click", () => void this.cancel());
    this.finish();
  }

  /** What is being asked for starts. */
  async begin(start: () => Promise<WorkNews>): Promise<string | null> {
    this.finish();
    this.parts.run.disabled = true;
    this.tell(say("Starting …"));
    try {
      const { job } = await start();
      this.follow(job);
      return job;
    } catch (error) {
      this.finish();
      this.tell("");
      this.heard.refused(problemsIn(error));
      return null;
    }
  }

  /** Hears of a job, from its beginning. */
  follow(job: string): void {
    this.finish();
    this.job = job;
    this.began = performance.now();
    this.parts.run.disabled = true;
    this.parts.stop.disabled = false;
    this.parts.progress.hidden = false;
    const gone = (): void => {
      this.finish();
      this.lost();
      this.heard.gone();
    };
    this.stream = jobStream(`/api/work/${job}/events`, (news) => this.hear(news), gone);
  }

  /** The server does not know it any more: said, so that nobody waits for it. */
  lost(): void {
    this.tell(say("The server has this answer no more, such as after it was started anew: ask once more."));
  }

  /** Follows nothing any more; the work goes on. */
  leave(): void {
    this.finish();
    this.tell("");
  }

  tell(words: string): void {
    this.parts.state.textContent = words;
  }

  private hear(news: News): void {
    if (news.event === "progress") {
      this.tell(progressShown(this.parts.progress, news, this.began));
      return;
    }
    this.finish();
    if (news.event === "problems") {
      this.tell(say("Something must be settled first."));
      this.heard.refused(news.errors);
    } else if (news.event === "cancelled") this.tell(say("Stopped."));
    else {
      this.tell("");
      this.heard.found(news.job);
    }
  }

  private async cancel(): Promise<void> {
    if (!this.job) return;
    this.parts.stop.disabled = true;
    try {
      await ask("delete", "/api/work/{job}", { path: { job: this.job } });
    } catch (error) {
      this.heard.refused(problemsIn(error));
    }
  }

  private finish(): void {
    this.stream?.close();
    this.stream = null;
    this.job = null;
    this.parts.run.disabled = false;
    this.parts.stop.disabled = true;
    this.parts.progress.hidden = true;
  }
}
