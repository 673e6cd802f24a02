/** The wrapped stack in motion on its vehicle, seen from the side. */

import { svg } from "./dom";
import type { SimulatedWay } from "./generated/api";
import { say } from "./words";

type Point = [number, number];

/** Of what slides or falls far, so many footprints are drawn. */
const FAR = 2;

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
    // All of the way in the picture; of what slides off, so far that the stack stays large enough.
    const reached = way.positions.flatMap((_, sample) =>
      heights.flatMap((_each, index) => this.corners(sample, index)),
    );
    const across = reached.map(([x]) => x);
    const left = Math.max(Math.min(...across), -Math.max(...behind) - FAR * wide) - 0.15 * wide;
    const right = Math.min(Math.max(...across), Math.max(...ahead) + FAR * wide) + 0.15 * wide;
    const top = Math.max(tall, ...reached.map(([, y]) => y)) + 0.05 * tall;
    const [first] = way.positions;
    this.picture.setAttribute("viewBox", [left, -top, right - left, top + 0.08 * tall].map(round).join(" "));
    this.floor.setAttribute("d", `M${point([left, 0])}L${point([right, 0])}`);
    this.rest.setAttribute("d", first ? first.map((_, index) => this.body(0, index)).join("") : "");
  }

  /** The bodies at a time [s]. */
  show(time: number): void {
    const { way } = this;
    if (!way) return;
    const after = way.times_s.findIndex((each) => each >= time);
    const sample = after < 0 ? way.times_s.length - 1 : after;
    const bodies = this.heights.map((_, index) => this.body(sample, index));
    this.pallet.setAttribute("d", bodies[0] ?? "");
    this.tiers.setAttribute("d", bodies.slice(1).join(""));
  }

  private body(sample: number, index: number): string {
    return `M${this.corners(sample, index).map(point).join("L")}Z`;
  }

  private corners(sample: number, index: number): Point[] {
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
    return corners.map(([u, v]): Point => [x + u * cos - v * sin, y + u * sin + v * cos]);
  }
}

/** Millimetres, downwards as a picture counts. */
function point([x, y]: Point): string {
  return `${round(x)} ${round(-y)}`;
}

function round(metres: number): string {
  return (1000 * metres).toFixed(0);
}
