/** Axes, layers and the load's outline, against counts and places worked out by hand. */

import { describe, expect, it } from "vitest";
import { ticks } from "../src/chart";
import type { LegShape } from "../src/generated/api";
import { countLayers, shadeOf } from "../src/heat";
import { edgeAt, legAt } from "../src/legs";
import { Perimeter } from "../src/perimeter";
import { significant } from "../src/units";

const leg = (part: string, first: number, last: number, from: number, to: number): LegShape => ({
  part,
  first_turn: first,
  last_turn: last,
  first_edge_m: from,
  last_edge_m: to,
  width_m: 0.5,
});

describe("numbers", () => {
  it("keep their whole part and lose needless zeros", () => {
    expect([0, 0.01234, 1.5, 99.96, 1234.5].map((each) => significant(each))).toEqual([
      "0",
      "0.0123",
      "1.5",
      "100",
      "1235",
    ]);
    expect(significant(Number.NaN)).toBe("–");
  });
  it("stand on an axis in steps of 1, 2 or 5", () => {
    expect(ticks(0, 10, 5)).toEqual([0, 2, 4, 6, 8, 10]);
    expect(ticks(-1, 1, 4)).toEqual([-1, -0.5, 0, 0.5, 1]);
  });
});

describe("the film's edge", () => {
  const legs = [leg("bottom wraps", 0, 2, 0, 0), leg("rise", 2, 6, 0, 1)];
  it("rises evenly within its leg", () => {
    expect(legAt(legs, 1).part).toBe("bottom wraps");
    expect(edgeAt(legAt(legs, 4), 4)).toBeCloseTo(0.5, 12);
    expect(edgeAt(legAt(legs, 99), 99)).toBe(1);
  });
  it("lays as many layers as turns passed", () => {
    const counts = countLayers([leg("bottom wraps", 0, 3, 0, 0)], 3, 4, 10, 0, 1);
    // Film of half the height: three layers on the lower five rows, none above.
    expect([...counts.slice(0, 20)]).toEqual(Array(20).fill(3));
    expect([...counts.slice(20)]).toEqual(Array(20).fill(0));
  });
  it("is shaded darker the more there is, up to the last shade", () => {
    expect(shadeOf(99)).toBe(shadeOf(7));
    expect(shadeOf(1)).not.toBe(shadeOf(2));
  });
});

describe("an outline", () => {
  const square = new Perimeter({
    turns: 3,
    outline: {
      vertices_m: [
        [-1, -1],
        [1, -1],
        [1, 1],
        [-1, 1],
      ],
      corner_radius_m: 0,
    },
    machine: { kind: "turntable", exit_distance_m: 3, turning_speed_rad_per_s: 1 },
    turn: {
      angle_rad: [0, Math.PI / 2, Math.PI, (3 * Math.PI) / 2],
      film_speed_m_per_s: [1, 3, 1, 3],
      free_span_m: [2, 2, 2, 2],
      touched_vertex: [3, 0, 1, 2],
    },
  });
  it("has its corners at quarters of the way round, and its first one again at the end", () => {
    expect(square.stations.map((each) => each.share)).toEqual([0, 0.25, 0.5, 0.75, 1]);
    const middle = square.at(0.125);
    expect([middle.x, middle.y]).toEqual([0, -1]);
    const [out] = square.stations.map((each) => each.out);
    expect(out?.map((each) => Math.round(each * 1e9) / 1e9)).toEqual([-1, -1]);
  });
  it("begins a turn where the first corner is touched, and asks for film between its samples", () => {
    expect(square.start).toBeCloseTo(Math.PI / 2, 12);
    expect(square.speed(0)).toBeCloseTo(3, 12);
    expect(square.speed(0.125)).toBeCloseTo(2, 12);
    expect(square.laid(1)).toBe(1);
  });
});
