/** The wrapped stack in motion on its vehicle, seen from the side. */

import { svg } from "./dom";
import type { SimulatedWay } from "./generated/api";
import { say } from "./words";

type Point = [number, number];

/** Time between the pictures that stand in for motion where the reader wants none [s]. */
const STILL = 0.25;

export class StackDrawing {
  private readonly floor = svg("path", { class: "stack-floor" });
  private readonly rest = svg("path", { class: "stack-rest" });
  private readonly pallet = svg("path", { class: "stack-pallet" });
  private readonly tiers = svg("path", { class: "stack-tiers" });
  private readonly picture = svg(
    "svg",
    { class: "stack-picture", role: "img", "aria-label": say("The stack on its vehicle, seen from the side") },
    this.floor,
    this.rest,
    this.pallet,
    this.tiers,
  );
  private way: SimulatedWay | null = null;
  private heights: number[] = [];
  private ahead: number[] = [];
  private behind: number[] = [];

  constructor(host: HTMLElement) {
    host.replaceChildren(this.picture);
  }

  /** Bodies from the pallet up, with their heights and what stands before and behind their middles [m]. */
  setWay(way: SimulatedWay, heights: number[], ahead: number[], behind: number[]): void {
    this.way = way;
    this.heights = heights;
    this.ahead = ahead;
    this.behind = behind;
    const tall = heights.reduce((sum, each) => sum + each, 0);
    const wide = Math.max(...ahead) + Math.max(...behind);
    const left = -Math.max(...behind) - 0.25 * wide;
    const right = Math.max(...ahead) + 0.6 * wide;
    const [first] = way.positions;
    this.picture.setAttribute("viewBox", [left, -1.1 * tall, right - left, 1.18 * tall].map(round).join(" "));
    this.floor.setAttribute("d", `M${point([left, 0])}L${point([right, 0])}`);
    this.rest.setAttribute("d", first ? first.map((_, index) => this.body(0, index)).join("") : "");
  }

  /** The bodies at a time [s]. */
  show(time: number): void {
    const { way } = this;
    if (!way) return;
    const seen = wantsStills() ? Math.round(time / STILL) * STILL : time;
    const after = way.times_s.findIndex((each) => each >= seen);
    const sample = after < 0 ? way.times_s.length - 1 : after;
    const bodies = this.heights.map((_, index) => this.body(sample, index));
    this.pallet.setAttribute("d", bodies[0] ?? "");
    this.tiers.setAttribute("d", bodies.slice(1).join(""));
  }

  private body(sample: number, index: number): string {
    const [x, y, turn] = this.way?.positions[sample]?.[index] ?? [0, 0, 0];
    const half = 0.5 * (this.heights[index] ?? 0);
    const front = this.ahead[index] ?? 0;
    const back = -(this.behind[index] ?? 0);
    const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
    const corners: Point[] = [
      [back, -half],
      [front, -half],
      [front, half],
      [back, half],
    ];
    return `M${corners.map(([u, v]) => point([x + u * cos - v * sin, y + u * sin + v * cos])).join("L")}Z`;
  }
}

function wantsStills(): boolean {
  return window.matchMedia("(prefers-reduced-motion: reduce)").matches;
}

/** Millimetres, downwards as a picture counts. */
function point([x, y]: Point): string {
  return `${round(x)} ${round(-y)}`;
}

function round(metres: number): string {
  return (1000 * metres).toFixed(0);
}
