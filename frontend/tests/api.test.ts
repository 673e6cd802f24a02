/** Addresses and sentences of the interface. */

import { describe, expect, it } from "vitest";
import { address, brief, problem, problemsOf, sentence, told } from "../src/api";

describe("an address", () => {
  it("has what was typed escaped, and leaves out what is not asked", () => {
    expect(address("/api/accounts/{name}", { name: "a/b c" })).toBe("/api/accounts/a%2Fb%20c");
    expect(address("/api/predict", {}, { units: "si", decimal_comma: undefined })).toBe("/api/predict?units=si");
  });
});

describe("a problem", () => {
  it("is one sentence, with its field in front where it has one", () => {
    const found = {
      field: "film.thickness",
      given: "3 N",
      allowed: "a thickness",
      todo: "Mend it.",
      kind: "error",
    } as const;
    expect(sentence(found)).toBe("3 N; allowed: a thickness. Mend it.");
    expect(told(found)).toBe("film.thickness: 3 N; allowed: a thickness. Mend it.");
    expect(told(problem("", "no answer", "Try again."))).toBe("no answer. Try again.");
    const long = problem("title", "x".repeat(204), "Mend the value.");
    expect(sentence(brief(long))).toBe(`${"x".repeat(59)}…. Mend the value.`);
    expect(brief(found)).toBe(found);
  });
});

describe("an answer that is none of ours", () => {
  it("says that too much was sent, or which answer it was", async () => {
    const [large] = await problemsOf(new Response("Content Too Large", { status: 413 }));
    expect(large).toMatchObject({ field: "request", todo: "Take less, such as a smaller file." });
    const [other] = await problemsOf(new Response("<html>", { status: 502 }));
    expect(other).toMatchObject({ field: "server", given: "answer 502" });
    const ours = { errors: [problem("film.price", "no number")] };
    expect(await problemsOf(Response.json(ours, { status: 413 }))).toEqual(ours.errors);
  });
});
