/** News of work that goes on at the server, as they come. */

import type { DesignJob, WorkNews } from "./generated/api";
import { say } from "./words";

export type News = WorkNews | DesignJob;

const EVENTS = ["progress", "result", "problems", "cancelled"] as const satisfies News["event"][];

// A page that is left closes its streams too, and the work goes on.
let isLeft = false;
addEventListener("beforeunload", () => {
  isLeft = true;
});

/**
 * Hears of a job, from its beginning.
 *
 * A stream that broke comes back by itself; one that was refused does not.
 * @param gone the server does not know the job any more.
 */
export function jobStream(address: string, hear: (news: News) => void, gone: () => void): EventSource {
  const stream = new EventSource(address);
  for (const name of EVENTS)
    stream.addEventListener(name, (event) => hear(JSON.parse((event as MessageEvent<string>).data) as News));
  stream.addEventListener("error", () => {
    if (!isLeft && stream.readyState === EventSource.CLOSED) gone();
  });
  return stream;
}

/** Moves the bar of what is done, and says the step. */
export function progressShown(bar: HTMLProgressElement, news: News, began: number): string {
  if (news.done !== null && news.steps) bar.value = news.done / news.steps;
  else bar.removeAttribute("value");
  const seconds = ((performance.now() - began) / 1000).toFixed(0);
  return say("{step} … ({seconds} s)", { step: news.step, seconds });
}
