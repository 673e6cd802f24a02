/** The load's outline as stations: places with their share of the perimeter, and one turn of the film round it. */

import type { Predicted } from "./generated/api";

export interface Station {
  x: number;
  y: number;
  /** Outward, scaled so that a corner moves out of both of its sides evenly. */
  out: [number, number];
  /** Share of the perimeter from the first station, 0 to 1. */
  share: number;
}

const ROUND = 96;

/** What an outline and its turn are made of, with the turns of the whole program. */
export type Turning = Pick<Predicted, "outline" | "machine" | "turn"> & { turns: number };

export class Perimeter {
  readonly stations: Station[];
  /** Angle of the exit point at which a turn of the program begins [rad]. */
  readonly start: number;
  private readonly isRound: boolean;

  constructor(private readonly view: Turning) {
    const { vertices_m: vertices, corner_radius_m: radius } = view.outline;
    this.isRound = vertices.length === 1;
    const touched = view.turn.touched_vertex;
    const first = touched.findIndex((each, index) => each === 0 && touched.at(index - 1) !== 0);
    this.start = this.isRound ? 0 : (view.turn.angle_rad[Math.max(0, first)] ?? 0);
    this.stations = this.isRound ? this.circle(vertices[0] ?? [0, 0], radius) : polygon(vertices);
  }

  private circle([cx, cy]: [number, number], radius: number): Station[] {
    const reach = this.view.machine.exit_distance_m;
    const sight = Math.atan2(-cy, reach - cx) - Math.acos(Math.min(1, radius / Math.hypot(reach - cx, cy)));
    return Array.from({ length: ROUND + 1 }, (_, index) => {
      const angle = sight + (2 * Math.PI * index) / ROUND;
      const out: [number, number] = [Math.cos(angle), Math.sin(angle)];
      return { x: cx + radius * out[0], y: cy + radius * out[1], out, share: index / ROUND };
    });
  }

  /** Place at a share of the perimeter. */
  at(share: number): Station {
    const part = share - Math.floor(share);
    let index = this.stations.findIndex((each) => each.share > part);
    if (index < 1) index = this.stations.length - 1;
    const before = this.stations[index - 1] as Station;
    const after = this.stations[index] as Station;
    const mix = (part - before.share) / (after.share - before.share);
    const blend = (one: number, two: number): number => one + mix * (two - one);
    return {
      x: blend(before.x, after.x),
      y: blend(before.y, after.y),
      out: [blend(before.out[0], after.out[0]), blend(before.out[1], after.out[1])],
      share: part,
    };
  }

  /** Angle of the exit point round the load after some turns [rad]. */
  angle(turn: number): number {
    return this.start + 2 * Math.PI * turn;
  }

  /** Where the film touches the load while the exit point stands at an angle [m]. */
  touch(angle: number): [number, number] {
    const { vertices_m: vertices, corner_radius_m: radius } = this.view.outline;
    const turn = (((angle / (2 * Math.PI)) % 1) + 1) % 1;
    const { touched_vertex: touched } = this.view.turn;
    const vertex = vertices[touched[Math.floor(turn * touched.length)] ?? 0] ?? [0, 0];
    if (!radius) return vertex;
    const reach = this.view.machine.exit_distance_m;
    const [ahead, aside] = [reach * Math.cos(angle) - vertex[0], reach * Math.sin(angle) - vertex[1]];
    const side = Math.atan2(aside, ahead) - Math.acos(Math.min(1, radius / Math.hypot(ahead, aside)));
    return [vertex[0] + radius * Math.cos(side), vertex[1] + radius * Math.sin(side)];
  }

  /** Turns' worth of film that lies on the load: a whole side is laid when film comes flush with it. */
  laid(turn: number): number {
    if (this.isRound || turn >= this.view.turns) return turn;
    const whole = Math.floor(turn + 1e-9);
    const { touched_vertex: touched } = this.view.turn;
    const place = ((this.angle(turn) / (2 * Math.PI)) % 1) * touched.length;
    const vertex = touched[Math.floor(place + 1e-6) % touched.length] ?? 0;
    return whole + (this.stations[vertex]?.share ?? 0);
  }

  /** Film demand after some turns [m/s]. */
  speed(turn: number): number {
    const speeds = this.view.turn.film_speed_m_per_s;
    const place = ((this.angle(turn) / (2 * Math.PI)) % 1) * speeds.length;
    const index = Math.floor(place);
    const one = speeds[index % speeds.length] ?? 0;
    const two = speeds[(index + 1) % speeds.length] ?? one;
    return one + (place - index) * (two - one);
  }
}

function polygon(vertices: [number, number][]): Station[] {
  const count = vertices.length;
  const corner = (index: number): [number, number] => vertices[(index + count) % count] as [number, number];
  const lengths = vertices.map((_, index) =>
    Math.hypot(corner(index + 1)[0] - corner(index)[0], corner(index + 1)[1] - corner(index)[1]),
  );
  const total = lengths.reduce((sum, each) => sum + each, 0);
  const normal = (index: number): [number, number] => {
    const [one, two, length] = [corner(index), corner(index + 1), lengths[(index + count) % count] as number];
    return [(two[1] - one[1]) / length, -(two[0] - one[0]) / length];
  };
  let walked = 0;
  const stations = vertices.map(([x, y], index): Station => {
    const [before, after] = [normal(index - 1), normal(index)];
    const scale = 1 / Math.max(0.25, 1 + before[0] * after[0] + before[1] * after[1]);
    const station: Station = {
      x,
      y,
      out: [(before[0] + after[0]) * scale, (before[1] + after[1]) * scale],
      share: walked / total,
    };
    walked += lengths[index] as number;
    return station;
  });
  return [...stations, { ...(stations[0] as Station), share: 1 }];
}
