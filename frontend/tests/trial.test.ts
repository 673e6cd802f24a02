/** What a phone sends of a form, what it doubts, and where a refused field stands. */

import { describe, expect, it } from "vitest";
import type { EntryField, OpenTrial } from "../src/generated/api";
import type { Draft } from "../src/trial/model";
import { doubts, rowsOf } from "../src/trial/rows";

const field = (name: string, kind: string, units: string[], low: number | null, high: number | null): EntryField => ({
  name,
  label: name,
  kind,
  doc: "",
  required: false,
  choices: [],
  units,
  // 1 lb = 0.453 592 37 kg and 1 lbf = 4.448 221 615 260 5 N exactly (NIST SP 811, 2008, appendix B).
  factors: { g: 1e-3, lb: 0.45359237, N: 1, lbf: 4.4482216152605, mm: 1e-3 },
  metric: units[0] ?? "",
  trade: units.at(-1) ?? "",
  low,
  high,
});

const trial = {
  units: "metric",
  zone_names: ["bottom", "top"],
  sides: { front: "front", right: "right", back: "back", left: "left" },
  usual: { jars: { baseline: { "load.film_mass": [0.19, 0.325] } } },
  sheets: [
    {
      kind: "load",
      fields: [
        field("load", "word", [], null, null),
        field("film_mass", "small_mass", ["g", "lb"], 0.02, 3),
        field("tare", "small_mass", ["g"], 0, 1),
        field("turns", "count", [], 1, 100),
        field("cycle_time", "time", ["s"], 10, 900),
        field("mark_before", "length", ["mm"], 0.05, 1),
        field("mark_after", "length", ["mm"], 0.05, 5),
      ],
    },
    { kind: "width", fields: [field("height", "length", ["mm"], 0, 3), field("film_width", "length", ["mm"], 0.1, 1)] },
    {
      kind: "pull",
      fields: [
        field("height", "length", ["mm"], 0, 3),
        field("force", "force", ["N", "lbf"], 1, 500),
        field("age", "hours", [], 0, 1e6),
      ],
    },
  ],
} as unknown as OpenTrial;

const draft = (cells: Record<string, string>, units: Record<string, string> = {}): Draft =>
  ({ cells: { "load.load": "7", ...cells }, units, photos: [], as_typed: [], reason: "" }) as unknown as Draft;

describe("the rows that are sent", () => {
  it("hold what was typed in the unit that was chosen, and nothing that was not", () => {
    const { body, places } = rowsOf(
      trial,
      draft({ "load.film_mass": " 0.55 ", "pull.top.right": "12", "height.top": "900" }, { "pull.force": "lbf" }),
    );
    expect(body.load).toEqual({ load: { typed: "7", unit: "" }, film_mass: { typed: "0.55", unit: "g" } });
    expect(body.pulls).toEqual([
      {
        load: { typed: "7", unit: "" },
        side: { typed: "right", unit: "" },
        height: { typed: "900", unit: "mm" },
        force: { typed: "12", unit: "lbf" },
      },
    ]);
    expect(body.widths).toEqual([]);
    expect(places.get("pull[0].force")).toBe("pull.top.right");
  });
});

describe("doubts", () => {
  it("ask about what is no number, out of range, or far from the prediction", () => {
    const found = doubts(trial, draft({ "load.film_mass": "x1", "pull.bottom.front": "900" }));
    expect([...found.keys()]).toEqual(["load.film_mass", "pull.bottom.front"]);
    const typed = { "load.load_type": "jars", "load.treatment": "baseline", "load.film_mass": "1250" };
    expect(doubts(trial, draft(typed)).get("load.film_mass")).toContain("5.0 times");
  });
  it("take the unit into account: half a pound is 227 g", () => {
    const typed = { "load.load_type": "jars", "load.treatment": "baseline", "load.film_mass": "0.5" };
    expect(doubts(trial, draft(typed, { "load.film_mass": "lb" })).size).toBe(0);
    expect(doubts(trial, draft(typed)).size).toBe(1);
  });
});
