import { describe, expect, it } from "vitest";
import { stamped, stampOf, timeWords } from "../src/trial/clock";
import { isPicture } from "../src/trial/shrinking";

describe("a clock that stands anywhere", () => {
  it("gives a date that every reader knows, or none", () => {
    // RFC 3339, section 1: years 0000 to 9999.
    expect(stampOf(0)).toBe("1970-01-01T00:00:00.000Z");
    expect([stampOf(3.2e14), stampOf(Number.NaN), stamped("+012167-04-20T12:52:20.058Z"), stamped(null)]).toEqual([
      null,
      null,
      null,
      null,
    ]);
    expect(stamped("2026-11-26T20:00:00.000Z")).toBe("2026-11-26T20:00:00.000Z");
  });

  it("is told in a unit that can be read", () => {
    expect([600, 5 * 3600, 10 * 86_400].map(timeWords)).toEqual(["10 min", "5 h", "10 days"]);
  });
});

describe("a photo", () => {
  it("is known by its first bytes", async () => {
    // JPEG: ITU-T T.81, SOI marker; PNG: W3C, 5.2; WebP: RFC 9649, 2.4.
    const heads = [
      [0xff, 0xd8, 0xff, 0xe0],
      [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a],
      [0x52, 0x49, 0x46, 0x46, 1, 2, 3, 4, 0x57, 0x45, 0x42, 0x50],
      [0x4d, 0x5a],
      [],
    ];
    const found = await Promise.all(heads.map((each) => isPicture(new Blob([new Uint8Array(each)]))));
    expect(found).toEqual([true, true, true, false, false]);
  });
});
