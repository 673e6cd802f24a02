/** A film of the dancer: its tags looked at, sent in pieces, judged on the server, shown. */

import { ask, noteClock, problemsIn, problemsOf, proof, Refused } from "./api";
import type { AnyBlock } from "./blocks";
import { blocksShown, verdictShown } from "./blocks";
import { meanTurn, orderBars } from "./dancer_charts";
import { byId, el } from "./dom";
import { FilmPictures } from "./film_pictures";
import type { FilmOfDancer, FilmUpload, FilmView } from "./generated/api";
import { problemsShown } from "./questions";
import type { Shell } from "./shell";
import { constantsTicked, putFitted } from "./trace_panel";
import { say } from "./words";

const PIECE = 2_000_000;
const LEAST_PIECE = 64_000;
const TRIES = 6;

export class FilmPanel {
  private view: FilmView | null = null;
  private readonly pictures = new FilmPictures();
  private right = new Set<string>();

  constructor(
    private readonly shell: Shell,
    private readonly care: (cautions: AnyBlock[]) => void,
    private readonly used: () => void,
  ) {
    const file = byId<HTMLInputElement>("film-file");
    const look = (): void => {
      const [film] = file.files ?? [];
      if (film) void this.pictures.look(film);
    };
    const pick = (): void => this.pictures.pick(isTicked("film-points"));
    file.addEventListener("change", look);
    byId("film-points").addEventListener("change", pick);
    // Both may have been set before the page was ready, such as by a reload.
    pick();
    look();
    byId("film-form").addEventListener("submit", (event) => {
      event.preventDefault();
      void this.judge(file.files?.[0] ?? null);
    });
    // Another value is asked about again.
    byId("film-form").addEventListener("input", () => this.right.clear());
    byId("film-use").addEventListener("click", () => this.use());
  }

  /** The reader wants other units: what is shown stays, new films come in them. */
  again(): void {
    if (this.view) byId("film-state").textContent = say("Judge the film again to see it in these units.");
  }

  private async judge(film: File | null): Promise<void> {
    const state = byId("film-state");
    const button = byId("film-form").querySelector("button");
    if (!film) {
      state.textContent = say("Choose a film first.");
      return;
    }
    const points = this.pictures.points;
    if (isTicked("film-points") && points.length < 2) {
      state.textContent = say("Pick the pivot, then the arm's end, in the picture.");
      return;
    }
    const times = [typed("film-low"), typed("film-high")].filter(Boolean).map(Number);
    if (times.length === 1) {
      state.textContent = say("Give the times of both stops, or of neither.");
      return;
    }
    const stopTimes = times.length === 2 ? ([times[0], times[1]] as [number, number]) : null;
    if (button) button.disabled = true;
    try {
      const id = await nameOf(film);
      await send(id, film);
      state.textContent = say("Reading the film …");
      const [pivot, arm] = isTicked("film-points") ? points : [];
      const body: FilmOfDancer = {
        name: film.name,
        size: film.size,
        corners: Number(byId<HTMLInputElement>("film-corners").value) || 4,
        reverse: isTicked("film-reverse"),
        speed: typed("film-speed") || null,
        case: isTicked("film-case") ? this.shell.draft.case : null,
        pivot: pivot ?? null,
        arm: arm ?? null,
        arm_length: typed("film-length") || null,
        stop_times: stopTimes,
        fit: constantsTicked("film-fit"),
        keep: isTicked("film-keep"),
        start: 0,
        as_typed: [...this.right],
      };
      const query = { units: this.shell.show.system };
      this.show(await ask("post", "/api/films/{id}/judge", { path: { id }, body, query }));
      state.textContent = body.keep
        ? say("Judged {name}; the film is kept for a fortnight.", { name: film.name })
        : say("Judged {name}; the film is deleted.", { name: film.name });
    } catch (error) {
      const confirm = (field: string): void => {
        this.right.add(field);
        void this.judge(film);
      };
      state.replaceChildren(...problemsShown(problemsIn(error), confirm));
    } finally {
      byId("film-progress").hidden = true;
      if (button) button.disabled = false;
    }
  }

  private show(view: FilmView): void {
    this.view = view;
    const { study, blocks, turn, orders } = view;
    const [head, ...rest] = blocks;
    const host = byId("film-answer");
    const verdict = head?.block === "heading" ? head.text : study.file;
    const still = el("img", { class: "film-still", alt: say("A frame of the film with what was followed in it") });
    still.src = URL.createObjectURL(pictureOf(view.still));
    const { trace } = study;
    byId("film-use").hidden = view.fitted.length === 0;
    byId("film-note").textContent = "";
    this.care(view.cautions);
    host.replaceChildren(
      verdictShown(verdict, study.verdict === "smooth"),
      ...blocksShown(rest.slice(0, 1)),
      still,
      ...(trace && turn ? meanTurn({ study: trace, turn }, this.shell.show, host.clientWidth) : []),
      ...(trace ? [el("h3", {}, say("How large, by times a turn")), orderBars({ study: trace, orders })] : []),
      ...blocksShown(rest.slice(1), { isFolded: true }),
    );
  }

  /** The fitted constants take the place of what the case states, with their ranges. */
  private use(): void {
    if (!this.view) return;
    putFitted(this.shell, this.view.fitted, this.view.study.file);
    this.used();
    byId("film-note").textContent = say("The case has the fitted constants now; Undo takes them back.");
  }
}

function typed(id: string): string {
  return byId<HTMLInputElement>(id).value.trim();
}

function isTicked(id: string): boolean {
  return byId<HTMLInputElement>(id).checked;
}

/** The same film has the same name, so that sending it goes on where it stopped, even after a reload. */
async function nameOf(film: File): Promise<string> {
  const text = `${film.name}|${film.size}|${film.lastModified}`;
  let sum = 0n;
  for (const letter of text) sum = (sum * 131n + BigInt(letter.codePointAt(0) ?? 0)) % (1n << 96n);
  return `film-${sum.toString(36)}-${film.size.toString(36)}`;
}

async function send(id: string, film: File): Promise<void> {
  const bar = byId<HTMLProgressElement>("film-progress");
  const state = byId("film-state");
  let { received } = await ask("get", "/api/films/{id}", { path: { id } });
  if (received > film.size) {
    await ask("delete", "/api/films/{id}", { path: { id } });
    received = 0;
  }
  let piece = PIECE;
  let failed = 0;
  bar.hidden = false;
  while (received < film.size) {
    bar.value = received / film.size;
    const share = Math.floor((100 * received) / film.size);
    state.textContent = say("Sending: {share} %", { share });
    try {
      received = await sendPiece(id, received, film.slice(received, received + piece));
      failed = 0;
    } catch (error) {
      if (error instanceof Refused) throw error;
      // The line broke: smaller pieces, from where the server stopped.
      failed += 1;
      if (failed >= TRIES) throw error;
      piece = Math.max(LEAST_PIECE, Math.round(piece / 4));
      await new Promise((wake) => setTimeout(wake, 1000 * failed));
    }
  }
  bar.value = 1;
}

async function sendPiece(id: string, start: number, part: Blob): Promise<number> {
  const answer = await fetch(`/api/films/${encodeURIComponent(id)}/${start}`, {
    method: "PUT",
    body: part,
    headers: { accept: "application/json", "content-type": "application/octet-stream", ...proof() },
  });
  noteClock(answer);
  if (answer.status >= 500) throw new Error(say("answer {status}", { status: answer.status }));
  if (!answer.ok) throw new Refused(answer.status, await problemsOf(answer));
  return ((await answer.json()) as FilmUpload).received;
}

function pictureOf(base64: string): Blob {
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  return new Blob([bytes], { type: "image/png" });
}
