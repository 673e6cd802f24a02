import { describe, expect, it } from "vitest";
import { Steps } from "../src/steps";

const fresh = (): Steps => new Steps({ past: [], now: "a", next: [] });

describe("steps", () => {
  it("go back and forth", () => {
    const steps = fresh();
    steps.put("b", 0);
    steps.put("c", 5000);
    expect([steps.undo(), steps.undo(), steps.undo()]).toEqual(["b", "a", null]);
    expect([steps.redo(), steps.redo(), steps.redo()]).toEqual(["b", "c", null]);
  });

  it("are one where they follow at once, and never swallow where they began", () => {
    const steps = fresh();
    for (const [place, now] of ["a1", "a12", "a123"].entries()) steps.put(now, 100 * place);
    expect(steps.undo()).toBe("a");
    steps.put("b", 250);
    expect(steps.undo()).toBe("a");
  });

  it("are not made by what changes nothing", () => {
    const steps = fresh();
    steps.put("a", 0);
    expect(steps.canUndo).toBe(false);
  });

  it("forget what was undone once something else is done", () => {
    const steps = fresh();
    steps.put("b", 0);
    steps.undo();
    steps.put("c", 5000);
    expect(steps.canRedo).toBe(false);
    expect(steps.undo()).toBe("a");
  });

  it("keep no more than a browser likes to, the latest of them", () => {
    const steps = fresh();
    for (let place = 0; place < 300; place += 1) steps.put(`${place}`.padStart(100_000, "x"), 5000 * place);
    expect(steps.all.past.join("").length).toBeLessThanOrEqual(1_500_000);
    expect(steps.undo()).toContain("298");
  });
});
