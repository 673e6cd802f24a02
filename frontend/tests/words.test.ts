/** Texts with values put in; and which texts the build lists. */

import { describe, expect, it } from "vitest";
import { percent, say } from "../src/words";
import { textsOf } from "../words.mjs";

describe("say", () => {
  it("puts values in by name, also twice", () => {
    expect(say("turn {turn} of {turns}, {turn} so far", { turn: 1, turns: 14.2 })).toBe("turn 1 of 14.2, 1 so far");
  });
  it("never reads a value as a pattern", () => {
    expect(say("Opened {name}.", { name: "$& {name}" })).toBe("Opened $& {name}.");
  });
  it("says shares as per cent", () => {
    expect([percent(0.1234), percent(-0.5, 0)]).toEqual(["12.3 %", "-50 %"]);
  });
});

describe("texts for the catalogue", () => {
  it("are found in calls of all kinds", () => {
    const source = 'say("one"); el("p", {}, isIt ? say("two", { a: 1 }) : toSay(`three`)); say(NAMES[name]);';
    expect(textsOf("x.ts", source)).toEqual(["one", "two", "three"]);
  });
  it("are refused where they are put together", () => {
    const told = [`say("a" + b)`, "say(`a $" + "{b}`)", 'say(a ? "b" : "c")'];
    for (const source of told) expect(() => textsOf("x.ts", source)).toThrow(/x\.ts:1/);
  });
});
