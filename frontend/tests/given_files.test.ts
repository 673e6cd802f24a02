import { describe, expect, it } from "vitest";
import { accepts } from "../src/given_files";

describe("a file that is dropped", () => {
  it("belongs to the field that asks for its kind", () => {
    const film = { name: "Arm.MP4", type: "video/mp4" };
    const table = { name: "trace.csv", type: "text/csv" };
    expect([accepts("video/*", film), accepts("video/*", table)]).toEqual([true, false]);
    expect([accepts(".csv, .txt", table), accepts(".toml,text/csv", table), accepts(".toml", table)]).toEqual([
      true,
      true,
      false,
    ]);
    expect(accepts("", table)).toBe(false);
  });
});
