import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { Refused } from "../src/api";
import { Live } from "../src/live";

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

const noAnswer = new Refused(0, [{ field: "server", given: "no answer", allowed: "", todo: "", kind: "error" }]);
const wrong = new Refused(422, [{ field: "load.mass", given: "much", allowed: "", todo: "", kind: "error" }]);

function live(answers: (string | Refused)[]) {
  const [shown, told] = [[] as string[], [] as string[]];
  const ask = async (): Promise<string> => {
    const answer = answers.shift();
    if (answer === undefined || answer instanceof Refused) throw answer ?? wrong;
    return answer;
  };
  const asked = new Live(
    ask,
    (answer) => shown.push(answer),
    (state) => told.push(state),
  );
  return { asked, shown, told };
}

test("what was not answered is asked again by itself until it is", async () => {
  const { asked, shown, told } = live([noAnswer, noAnswer, "there"]);
  asked.changed();
  await vi.advanceTimersByTimeAsync(1000);
  expect([shown, told.at(-1)]).toEqual([[], "stale"]);
  await vi.advanceTimersByTimeAsync(4000);
  expect([shown, told.at(-1)]).toEqual([["there"], "fresh"]);
});

test("a refusal is told once nothing was typed for a while, and not asked about again", async () => {
  const { asked, shown, told } = live([wrong, "late"]);
  asked.changed();
  await vi.advanceTimersByTimeAsync(200);
  expect(told.at(-1)).toBe("asking");
  await vi.advanceTimersByTimeAsync(60_000);
  expect([shown, told.at(-1)]).toEqual([[], "stale"]);
});

test("while something is typed on, no refusal is told", async () => {
  const { asked, shown, told } = live([wrong, "right"]);
  asked.changed();
  await vi.advanceTimersByTimeAsync(200);
  asked.changed();
  await vi.advanceTimersByTimeAsync(60_000);
  expect([shown, told.includes("stale")]).toEqual([["right"], false]);
});
