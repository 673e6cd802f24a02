/** The dancer beside the turning load, seen from above: arm, spring, stops, film. */

import { svg } from "./dom";
import type { ArmShape } from "./generated/api";
import type { Turning } from "./perimeter";
import { Perimeter } from "./perimeter";
import { say } from "./words";

type Point = [number, number];

export class DancerDrawing {
  private readonly load = svg("path", { class: "plan-load" });
  private readonly film = svg("path", { class: "plan-film" });
  private readonly exit = svg("circle", { class: "plan-part", r: 30 });
  private readonly plan = svg(
    "svg",
    { class: "plan", role: "img", "aria-label": say("The turning load and the film that runs to it, seen from above") },
    this.load,
    this.film,
    this.exit,
    svg("circle", { class: "plan-axis", r: 12 }),
  );
  private readonly arm = svg("path", { class: "plan-arm" });
  private readonly roller = svg("circle", { class: "plan-part" });
  private readonly spring = svg("path", { class: "plan-spring" });
  private readonly lines = svg("path", { class: "plan-film" });
  private readonly stops = svg("path", { class: "plan-stop" });
  private readonly close = svg(
    "svg",
    {
      class: "plan",
      role: "img",
      "aria-label": say("The dancer's arm between its stops, its spring and the film that it carries"),
    },
    this.stops,
    this.spring,
    this.lines,
    this.arm,
    this.roller,
    svg("circle", { class: "plan-axis", r: 7 }),
  );
  private perimeter: Perimeter | null = null;
  private shape: ArmShape | null = null;
  private reach = 1;

  constructor(private readonly host: HTMLElement) {
    host.replaceChildren(this.plan, this.close);
  }

  setCase(turning: Turning, shape: ArmShape): void {
    this.host.classList.add("is-drawn");
    this.perimeter = new Perimeter(turning);
    this.shape = shape;
    this.reach = turning.machine.exit_distance_m;
    const far = Math.max(...this.perimeter.stations.map((each) => Math.hypot(each.x, each.y)));
    const wide = 1000 * (far + this.reach) + 160;
    this.plan.setAttribute(
      "viewBox",
      `${(-1000 * far - 80).toFixed(0)} ${(-1000 * far - 80).toFixed(0)} ${wide.toFixed(0)} ${(2000 * far + 160).toFixed(0)}`,
    );
    this.load.setAttribute(
      "d",
      `${this.perimeter.stations.map((each, index) => `${index ? "L" : "M"}${mm([each.x, each.y])}`).join("")}Z`,
    );
    this.exit.setAttribute("cx", (1000 * this.reach).toFixed(0));
    const { arm_length_m: length, anchor_m: anchor } = shape;
    const left = -0.15 * length;
    const right = Math.max(length * 1.25, anchor[0] + 0.05);
    const top = Math.max(length, anchor[1]) + 0.05;
    this.close.setAttribute(
      "viewBox",
      [left, -top, right - left, top + 0.85 * length].map((each) => (1000 * each).toFixed(0)).join(" "),
    );
    this.roller.setAttribute("r", (90 * length).toFixed(0));
    const ray = (angle: number): string => `M${mm(polar(0.25 * length, angle))}L${mm(polar(1.2 * length, angle))}`;
    this.stops.setAttribute("d", ray(shape.lower_stop_rad) + ray(shape.upper_stop_rad));
  }

  show(exitAngle: number, armAngle: number): void {
    const { perimeter, shape } = this;
    if (!perimeter || !shape) return;
    // The load turns clockwise seen from above, so the exit point may stand still.
    this.load.setAttribute("transform", `rotate(${((exitAngle * 180) / Math.PI).toFixed(2)})`);
    const [x, y] = perimeter.touch(exitAngle);
    const [cos, sin] = [Math.cos(exitAngle), Math.sin(exitAngle)];
    this.film.setAttribute("d", `M${mm([x * cos + y * sin, y * cos - x * sin])}L${mm([this.reach, 0])}`);

    const end = polar(shape.arm_length_m, armAngle);
    const hole = polar(shape.hole_m, armAngle);
    this.arm.setAttribute("d", `M0 0L${mm(end)}`);
    this.roller.setAttribute("cx", (1000 * end[0]).toFixed(1));
    this.roller.setAttribute("cy", (-1000 * end[1]).toFixed(1));
    this.spring.setAttribute("d", zigzag(hole, shape.anchor_m));
    const side = 0.09 * shape.arm_length_m;
    const low = -0.8 * shape.arm_length_m;
    this.lines.setAttribute(
      "d",
      `M${mm([end[0] - side, low])}L${mm([end[0] - side, end[1]])}A${1000 * side} ${1000 * side} 0 0 1 ${mm([end[0] + side, end[1]])}L${mm([end[0] + side, low])}`,
    );
  }
}

function mm([x, y]: Point): string {
  return `${(1000 * x).toFixed(1)} ${(-1000 * y).toFixed(1)}`;
}

function polar(length: number, angle: number): Point {
  return [length * Math.cos(angle), length * Math.sin(angle)];
}

function zigzag(from: Point, to: Point): string {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const length = Math.hypot(dx, dy) || 1;
  const side = 0.014;
  const turns = 9;
  const points: Point[] = [from];
  for (let index = 0; index <= turns; index += 1) {
    const along = 0.15 + (0.7 * index) / turns;
    const beside = index === 0 || index === turns ? 0 : index % 2 ? side : -side;
    points.push([from[0] + along * dx - (beside * dy) / length, from[1] + along * dy + (beside * dx) / length]);
  }
  return [...points, to].map((point, index) => `${index ? "L" : "M"}${mm(point)}`).join("");
}
