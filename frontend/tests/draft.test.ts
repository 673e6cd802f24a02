/** Values in a case, found and put by the dotted paths of its file. */

import { describe, expect, it } from "vitest";
import type { Field, Table } from "../src/draft";
import { putAt, typedOf, valueAt } from "../src/draft";
import { asText, fromText } from "../src/form_text";
import { lengthLike } from "../src/length_text";

const field = (type: Field["type"], kind = ""): Field => ({ type, kind }) as Field;

describe("a case's table", () => {
  it("is read and written by path, making tables and lists on the way", () => {
    const table: Table = {};
    putAt(table, "carriage.rollers[0].x", "120 mm");
    expect(table).toEqual({ carriage: { rollers: [{ x: "120 mm" }] } });
    expect(valueAt(table, "carriage.rollers[0].x")).toBe("120 mm");
    expect(valueAt(table, "film.thickness")).toBeUndefined();
  });
  it("loses a row of a list wholly, a key alone", () => {
    const table: Table = { program: { bands: [{ wraps: 1 }, { wraps: 2 }], overlap: "50 %" } };
    putAt(table, "program.bands[0]", undefined);
    putAt(table, "program.overlap", undefined);
    putAt(table, "nothing.here", undefined);
    expect(table).toEqual({ program: { bands: [{ wraps: 2 }] } });
  });
  it("has values with and without an origin", () => {
    expect(typedOf({ value: "16 um", origin: "label" })).toBe("16 um");
    expect(typedOf("16 um")).toBe("16 um");
  });
});

describe("a field's text", () => {
  it("comes back as it was", () => {
    const corners = [
      ["0 m", "0 m"],
      ["1 m", "0 m"],
    ];
    expect(fromText(field("list of lists"), asText(corners))).toEqual(corners);
    expect(fromText(field("list"), asText(["a", "b"]))).toEqual(["a", "b"]);
  });
  it("is a number only where a number is meant", () => {
    expect(fromText(field("count"), " 6 ")).toBe(6);
    expect(fromText(field("number", "length"), "6 m")).toBe("6 m");
    expect(fromText(field("flag"), "true")).toBe(true);
    expect(fromText(field("text"), "  ")).toBeUndefined();
  });
});

describe("a length that is dragged", () => {
  // 1 in = 25.4 mm and 1 ft = 12 in exactly (international yard and pound agreement of 1959).
  it.each([
    ["120 mm", 0.1234, "123 mm"],
    ["4.5 in", 0.1016, "4 in"],
    ["1 ft", 0.3048, "1 ft"],
    ["3 parsnips", 0.05, "50 mm"],
  ])("like %s is %f m: %s", (typed, metres, text) => expect(lengthLike(typed, metres)).toBe(text));
});
