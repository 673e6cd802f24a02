/** What an earlier form of a page kept: no shape of it makes a page fail. */

import { describe, expect, it } from "vitest";
import { inShapeOf } from "../src/remembered";

describe("what was kept", () => {
  const first = { name: "", loads: 3, trials: ["a"], facts: { mass: "1 kg" }, file: null as object | null };

  it("counts where it has the shape of today's form", () => {
    const kept = { name: "x", loads: 4, trials: [], facts: { height: "2 m" }, file: { name: "a.csv" } };
    expect(inShapeOf(first, kept)).toEqual(kept);
  });

  it.each([
    [{ name: null, loads: "4", trials: {}, facts: [], file: [1] }],
    [{ name: ["x"], loads: null, trials: "a", facts: "x", file: 5 }],
    [{ gone: 1 }],
    [{}],
  ])("is as at first where it has not", (kept) => {
    expect(inShapeOf(first, kept)).toEqual(first);
  });
});
