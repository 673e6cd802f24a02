/** A lacing drawn to scale from above; its rollers are moved with a pointer or the arrow keys. */

import { svg } from "./dom";
import type { Drawing, DrawnRoller } from "./generated/api";
import type { Shower } from "./units";
import { say } from "./words";

const FINE = 0.001;
const COARSE = 0.005;
/** Height of letters on the screen [px]. */
const LETTER = 14;
const KEYS: Record<string, [number, number]> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};

/** Where a name stands from its roller's centre; its class says which end of it. */
type Box = [number, number, number, number];

interface NamePlace {
  x: number;
  y: number;
  class: string;
}

export class Lacing {
  private readonly groups = new Map<number, SVGGElement>();
  private readonly film = svg("g", { class: "film-path" });
  private readonly discs = svg("g");
  private readonly node: SVGSVGElement;
  private drawing: Drawing | null = null;
  private box: Box | null = null;
  /** Where names stand, by roller. */
  private readonly names = new Map<string, Box>();
  /** Millimetres of the drawing in a pixel of the screen. */
  private pixel = 1;

  constructor(
    host: HTMLElement,
    name: string,
    private readonly show: Shower,
    private readonly moved: (index: number, x: number, y: number) => void,
  ) {
    this.node = svg(
      "svg",
      {
        class: "lacing",
        role: "group",
        "aria-label": say("{name}, seen from above. Rollers move with the arrow keys: 5 mm, with Shift 1 mm.", {
          name,
        }),
      },
      this.film,
      this.discs,
    );
    host.append(this.node);
  }

  setDrawing(drawing: Drawing | null, isHeld = false): void {
    this.drawing = drawing;
    this.names.clear();
    this.node.toggleAttribute("hidden", drawing === null);
    if (!drawing) return;
    this.fit(drawing, isHeld);
    this.node.classList.remove("is-old");
    const mm = (value: number): string => (value * 1000).toFixed(1);
    const at = ([x, y]: [number, number]): string => `${mm(x)} ${mm(-y)}`;
    const parts: string[] = [];
    drawing.spans.forEach((span, index) => {
      parts.push(`${index ? "L" : "M"}${at(span.start_m)}L${at(span.end_m)}`);
      const arc = drawing.arcs[index];
      // Counter-clockwise as seen from above is sweep 0 in a drawing whose y points down.
      if (arc)
        parts.push(
          `A${mm(arc.radius_m)} ${mm(arc.radius_m)} 0 ${arc.contact_angle_rad > Math.PI ? 1 : 0} ${arc.turn > 0 ? 0 : 1} ${at(arc.end_m)}`,
        );
    });
    this.film.replaceChildren(
      svg("path", { d: parts.join("") }),
      ...drawing.spans.map((span) => this.arrow(span.start_m, span.end_m)),
    );
    for (const [index, roller] of drawing.rollers.entries()) this.disc(roller, index);
    for (const [index, group] of this.groups) {
      if (index < drawing.rollers.length) continue;
      group.remove();
      this.groups.delete(index);
    }
  }

  /** What is drawn belongs to places that have changed since. */
  setOld(): void {
    this.node.classList.add("is-old");
  }

  private arrow(start: [number, number], end: [number, number]): SVGElement {
    const length = Math.hypot(end[0] - start[0], end[1] - start[1]) * 1000;
    const angle = (-Math.atan2(end[1] - start[1], end[0] - start[0]) * 180) / Math.PI;
    const place = `translate(${(500 * (start[0] + end[0])).toFixed(1)} ${(-500 * (start[1] + end[1])).toFixed(1)}) rotate(${angle.toFixed(1)})`;
    return svg("path", {
      class: "arrow",
      d: length > 30 * this.pixel ? "M6 0L-5 5L-5 -5Z" : "",
      transform: `${place} scale(${this.pixel.toFixed(3)})`,
    });
  }

  private fit(drawing: Drawing, isHeld: boolean): void {
    if (isHeld && this.box) return;
    const left = Math.min(...drawing.rollers.map((each) => each.x_m - each.diameter_m / 2));
    const right = Math.max(...drawing.rollers.map((each) => each.x_m + each.diameter_m / 2));
    const low = Math.min(...drawing.rollers.map((each) => each.y_m - each.diameter_m / 2));
    const high = Math.max(...drawing.rollers.map((each) => each.y_m + each.diameter_m / 2));
    const margin = 0.02 + 0.08 * Math.max(right - left, high - low);
    this.box = [left - margin, right + margin, low - margin, high + margin];
    const { clientWidth: wide, clientHeight: tall } = this.node;
    const scale = (box: [number, number, number, number]): number =>
      1000 * Math.max((box[1] - box[0]) / (wide || 400), (box[3] - box[2]) / (tall || 350));
    // Names beside the rollers need room at the right; they are as large as the scale makes them.
    this.pixel = scale(this.box);
    for (const each of drawing.rollers) {
      const words = (each.name.length + 7) * 0.62 * LETTER * this.pixel;
      if (each.diameter_m < 0.08) this.box[1] = Math.max(this.box[1], each.x_m + each.diameter_m / 2 + words / 1000);
    }
    this.pixel = scale(this.box);
    this.node.setAttribute(
      "viewBox",
      [this.box[0], -this.box[3], this.box[1] - this.box[0], this.box[3] - this.box[2]]
        .map((each) => (each * 1000).toFixed(1))
        .join(" "),
    );
  }

  private disc(roller: DrawnRoller, index: number): void {
    let group = this.groups.get(index);
    if (!group) {
      group = svg("g", {
        class: "roller",
        tabindex: "0",
        role: "button",
        "aria-roledescription": say("roller that can be moved"),
      });
      this.groups.set(index, group);
      this.discs.append(group);
      this.listen(group, index);
    }
    const radius = (roller.diameter_m * 1000) / 2;
    const angle = roller.contact_angle_rad === null ? "" : this.show.show(roller.contact_angle_rad, "angle");
    const words = angle ? `${roller.name} ${angle}` : roller.name;
    const letter = LETTER * this.pixel;
    const isInside = radius > 0.3 * letter * Math.max(roller.name.length, angle.length) && radius > 1.3 * letter;
    const reach = Math.max(13 * this.pixel, radius);
    const place = {
      name: roller.name,
      x: this.show.show(roller.x_m, "small_length"),
      y: this.show.show(roller.y_m, "small_length"),
    };
    group.setAttribute(
      "aria-label",
      angle
        ? say("{name} {angle} of contact, centre {x}, {y}", { ...place, angle })
        : say("{name}, centre {x}, {y}", place),
    );
    group.setAttribute("data-role", roller.role);
    group.setAttribute("transform", `translate(${(roller.x_m * 1000).toFixed(1)} ${(-roller.y_m * 1000).toFixed(1)})`);
    group.replaceChildren(
      svg("circle", { class: "grip", r: reach }),
      radius > 0
        ? svg("circle", { class: "face", r: radius })
        : svg("path", { class: "face", d: "M-6 -6L6 6M6 -6L-6 6", transform: `scale(${this.pixel})` }),
      isInside
        ? svg(
            "text",
            { y: (angle ? -0.1 : 0.35) * letter, "font-size": letter },
            svg("tspan", { x: 0 }, `${roller.name} `),
            angle ? svg("tspan", { x: 0, dy: 1.15 * letter }, angle) : null,
          )
        : svg("text", { ...this.beside(roller, words), "font-size": letter }, words),
    );
  }

  /** Where a name stands beside its roller: where it lies over no other roller, no film and no edge. */
  private beside(roller: DrawnRoller, words: string): NamePlace {
    const letter = LETTER * this.pixel;
    const off = Math.max((roller.diameter_m * 1000) / 2, 7 * this.pixel) + 0.4 * letter;
    const level = 0.35 * letter;
    const places = [
      { x: off, y: roller.diameter_m ? level - 0.9 * letter : level, class: "beside start" },
      { x: off, y: level + 0.9 * letter, class: "beside start" },
      { x: 0, y: -off, class: "beside middle" },
      { x: 0, y: off + 0.7 * letter, class: "beside middle" },
      { x: -off, y: level - 0.9 * letter, class: "beside end" },
      { x: -off, y: level + 0.9 * letter, class: "beside end" },
    ];
    const width = 0.6 * letter * words.length;
    const clashes = places.map((each) => this.clashes(roller, each, width, letter));
    const place = places[clashes.indexOf(Math.min(...clashes))] ?? { x: off, y: level, class: "beside start" };
    this.names.set(roller.name, nameBox(roller, place, width, letter));
    return place;
  }

  /** How much of the drawing lies under a name, in points of it; an edge counts more than any. */
  private clashes(roller: DrawnRoller, place: NamePlace, width: number, height: number): number {
    const [left, right, low, high] = this.box ?? [-Infinity, Infinity, -Infinity, Infinity];
    const [x0, y0, x1, y1] = nameBox(roller, place, width, height);
    const isUnder = (x: number, y: number): boolean => x > x0 && x < x1 && y > y0 && y < y1;
    let count = x0 < left * 1000 || x1 > right * 1000 || y0 < -high * 1000 || y1 > -low * 1000 ? 1000 : 0;
    for (const { start_m: from, end_m: to } of this.drawing?.spans ?? []) {
      for (let share = 0; share <= 1; share += 0.02) {
        const at = [0, 1].map((axis) => 1000 * ((from[axis] ?? 0) * (1 - share) + (to[axis] ?? 0) * share));
        if (isUnder(at[0] ?? 0, -(at[1] ?? 0))) count++;
      }
    }
    for (const other of this.drawing?.rollers ?? []) {
      if (other === roller) continue;
      const [x, y] = [other.x_m * 1000, -other.y_m * 1000];
      const near = Math.hypot(Math.min(Math.max(x, x0), x1) - x, Math.min(Math.max(y, y0), y1) - y);
      if (near < other.diameter_m * 500) count += 50;
      const [left, top, right, bottom] = this.names.get(other.name) ?? [Infinity, Infinity, Infinity, Infinity];
      if (left < x1 && x0 < right && top < y1 && y0 < bottom) count += 50;
    }
    return count;
  }

  private listen(group: SVGGElement, index: number): void {
    group.addEventListener("keydown", (event) => {
      const step = KEYS[event.key];
      const roller = this.drawing?.rollers[index];
      if (!step || !roller) return;
      event.preventDefault();
      const size = event.shiftKey ? FINE : COARSE;
      this.shift(index, roller.x_m + step[0] * size, roller.y_m + step[1] * size);
    });
    let from: { x: number; y: number; at: DOMPoint } | null = null;
    group.addEventListener("pointerdown", (event) => {
      const roller = this.drawing?.rollers[index];
      if (!roller) return;
      group.setPointerCapture(event.pointerId);
      from = { x: roller.x_m, y: roller.y_m, at: this.point(event) };
    });
    group.addEventListener("pointermove", (event) => {
      if (!from) return;
      const to = this.point(event);
      this.shift(index, from.x + (to.x - from.at.x) / 1000, from.y - (to.y - from.at.y) / 1000);
    });
    const end = (): void => {
      from = null;
    };
    group.addEventListener("pointerup", end);
    group.addEventListener("pointercancel", end);
  }

  private point(event: PointerEvent): DOMPoint {
    const matrix = this.node.getScreenCTM();
    return new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix?.inverse() ?? new DOMMatrix());
  }

  /** The roller follows at once; the film follows when the server has answered. */
  private shift(index: number, x: number, y: number): void {
    const roller = this.drawing?.rollers[index];
    if (!roller) return;
    roller.x_m = Math.round(x / FINE) * FINE;
    roller.y_m = Math.round(y / FINE) * FINE;
    this.disc(roller, index);
    this.setOld();
    this.moved(index, roller.x_m, roller.y_m);
  }
}

/** Left, top, right and bottom of a name. */
function nameBox(roller: DrawnRoller, place: NamePlace, width: number, height: number): Box {
  const begin = place.class.endsWith("start") ? 0 : place.class.endsWith("middle") ? -0.5 : -1;
  const left = roller.x_m * 1000 + place.x + begin * width;
  const top = -roller.y_m * 1000 + place.y - 0.8 * height;
  return [left, top, left + width, top + 1.05 * height];
}
