/** Single pictures of a film that is still on the phone: are tags in them, and where are two points? */

import { noteClock, problemsIn, problemsOf, proof, Refused, told } from "./api";
import { byId, el } from "./dom";
import type { TagsSeen } from "./generated/api";
import { say } from "./words";

const PLACES = [0, 0.35, 0.7];
const WIDEST = 1920;
const WAIT_MS = 8_000;

type Point = [number, number];

export class FilmPictures {
  /** Pivot and arm's end, in pixels of the film. */
  points: Point[] = [];
  private first: ImageBitmap | null = null;
  private scale = 1;
  private isPicking = false;
  private seen: TagsSeen | null = null;
  private looked = 0;

  constructor() {
    byId<HTMLCanvasElement>("film-picture").addEventListener("click", (event) => this.took(event));
  }

  /** Says what is seen in a few pictures, and shows the first. */
  async look(film: File): Promise<void> {
    const turn = ++this.looked;
    const words = byId("film-look");
    this.points = [];
    this.seen = null;
    words.textContent = say("Looking for tags …");
    const video = el("video", { muted: true, playsinline: true, preload: "auto" });
    video.muted = true;
    video.src = URL.createObjectURL(film);
    try {
      await event(video, "loadeddata");
      const enough: boolean[] = [];
      let last = "";
      for (const place of PLACES) {
        const picture = await pictureAt(video, place * (Number.isFinite(video.duration) ? video.duration : 0));
        const found = await tagsIn(picture.content);
        if (turn !== this.looked) return;
        enough.push(found.enough);
        last = found.words;
        if (place === 0) {
          this.first = picture.bitmap;
          this.scale = picture.scale;
          this.seen = found;
          this.draw();
        }
      }
      const good = enough.filter(Boolean).length;
      words.textContent = say("The tags of frame and arm are seen in {good} of {all} pictures. {last}", {
        good,
        all: enough.length,
        last: good === enough.length ? "" : last,
      }).trim();
    } catch (error) {
      words.textContent =
        error instanceof Refused
          ? problemsIn(error).map(told).join(" ")
          : say("This browser cannot show the film; it can be sent and judged all the same.");
    } finally {
      URL.revokeObjectURL(video.src);
    }
  }

  /** Whether clicks in the picture pick points. */
  pick(isPicking: boolean): void {
    this.isPicking = isPicking;
    this.points = [];
    this.draw();
  }

  private took(click: MouseEvent): void {
    if (!this.isPicking) return;
    const canvas = byId<HTMLCanvasElement>("film-picture");
    const { left, top, width } = canvas.getBoundingClientRect();
    const grain = (canvas.width / width) * this.scale;
    const point: Point = [Math.round((click.clientX - left) * grain), Math.round((click.clientY - top) * grain)];
    this.points = this.points.length >= 2 ? [point] : [...this.points, point];
    this.draw();
  }

  private draw(): void {
    const canvas = byId<HTMLCanvasElement>("film-picture");
    const brush = canvas.getContext("2d");
    if (!this.first || !brush) return;
    canvas.hidden = false;
    canvas.width = this.first.width;
    canvas.height = this.first.height;
    brush.drawImage(this.first, 0, 0);
    brush.lineWidth = Math.max(2, canvas.width / 400);
    brush.strokeStyle = "#ffd23f";
    for (const tag of this.seen?.tags ?? []) {
      brush.beginPath();
      for (const [x, y] of tag.corners) brush.lineTo(x, y);
      brush.closePath();
      brush.stroke();
    }
    this.points.forEach(([x, y]) => {
      brush.beginPath();
      brush.arc(x / this.scale, y / this.scale, canvas.width / 80, 0, 2 * Math.PI);
      brush.stroke();
    });
  }
}

async function pictureAt(
  video: HTMLVideoElement,
  time: number,
): Promise<{ bitmap: ImageBitmap; content: Blob; scale: number }> {
  if (time > 0) {
    video.currentTime = time;
    await event(video, "seeked");
  }
  const scale = Math.max(1, video.videoWidth / WIDEST);
  const canvas = el("canvas", {
    width: Math.round(video.videoWidth / scale),
    height: Math.round(video.videoHeight / scale),
  });
  canvas.getContext("2d")?.drawImage(video, 0, 0, canvas.width, canvas.height);
  const content = await new Promise<Blob | null>((give) => canvas.toBlob(give, "image/jpeg", 0.92));
  if (!content) throw new Error("no picture");
  return { bitmap: await createImageBitmap(canvas), content, scale };
}

async function tagsIn(picture: Blob): Promise<TagsSeen> {
  const answer = await fetch("/api/films/look", {
    method: "POST",
    body: picture,
    headers: { accept: "application/json", "content-type": "application/octet-stream", ...proof() },
  });
  noteClock(answer);
  if (!answer.ok) throw new Refused(answer.status, await problemsOf(answer));
  return (await answer.json()) as TagsSeen;
}

function event(video: HTMLVideoElement, name: "loadeddata" | "seeked"): Promise<void> {
  return new Promise((done, failed) => {
    const give = (): void => failed(new Error(name));
    const late = setTimeout(give, WAIT_MS);
    video.addEventListener("error", give, { once: true });
    video.addEventListener(
      name,
      () => {
        clearTimeout(late);
        done();
      },
      { once: true },
    );
  });
}
