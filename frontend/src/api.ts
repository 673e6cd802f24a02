/** Talks to the server, in the types of its own description; refusals are problems at fields. */

import { fieldWords, plainWords } from "./field_words";
import type { OneProblem, Problems, paths } from "./generated/api";
import { say } from "./words";

export type Problem = Omit<OneProblem, "message">;
/** Until something is asked once more where there was no answer [ms]. */
const ONCE_MORE_MS = 600;

type Method = "get" | "post" | "put" | "delete";
type Path = keyof paths;
type Operation<P extends Path, M extends Method> = NonNullable<paths[P][M]>;
type Ok<Responses> = Responses[keyof Responses & (200 | 201 | 202)];

/** What an operation answers. */
export type Answered<P extends Path, M extends Method> =
  Operation<P, M> extends { responses: infer R }
    ? Ok<R> extends { content: { "application/json": infer A } }
      ? A
      : undefined
    : never;
type BodyOf<O> = O extends { requestBody: { content: { "application/json": infer B } } } ? B : undefined;
type QueryOf<O> = O extends { parameters: { query?: infer Q } } ? Q : undefined;

interface Sent<O> {
  /** What stands in the address where the path has braces. */
  path?: Record<string, string>;
  query?: QueryOf<O>;
  body?: BodyOf<O>;
  signal?: AbortSignal;
}

export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly problems: Problem[],
  ) {
    super(problems.map(sentence).join("\n"));
  }
}

/** A problem as one sentence, without its field. */
export function sentence(problem: Problem): string {
  const given = plainWords(problem.given);
  const allowed = plainWords(problem.allowed);
  const todo = plainWords(problem.todo);
  if (problem.kind === "question") return say("{given}; usual: {allowed}. {todo}", { given, allowed, todo }).trim();
  return (allowed ? say("{given}; allowed: {allowed}. {todo}", { given, allowed, todo }) : `${given}. ${todo}`).trim();
}

/** The same after its field. */
export function told(problem: Problem): string {
  return problem.field ? `${fieldWords(problem.field)}: ${sentence(problem)}` : sentence(problem);
}

/** Letters of what was given that are told where there is little room; at its field all stands. */
const GIVEN = 60;

/** A problem for a place with little room: what is allowed and what to do are not pushed out of it. */
export function brief(problem: Problem): Problem {
  const { given } = problem;
  return given.length > GIVEN ? { ...problem, given: `${given.slice(0, GIVEN - 1)}…` } : problem;
}

/** A problem that is found here, not by the server. */
export function problem(field: string, given: string, todo = ""): Problem {
  return { field, given, allowed: "", todo, kind: "error" };
}

/** Headers that prove that a request comes from one of our own pages. */
export function proof(): Record<string, string> {
  // A cookie and not the page, since a page may come out of this browser's own store.
  const token = /(?:^|;\s*)woold_csrf=([^;]+)/.exec(document.cookie)?.[1];
  return token ? { "x-csrf-token": token } : {};
}

/** Why the server refused; it says so in one shape. */
export async function problemsOf(response: Response): Promise<Problem[]> {
  try {
    const { errors } = (await response.json()) as Problems;
    if (errors.length) return errors;
  } catch {
    // not of ours: told below
  }
  if (response.status === 413)
    return [problem("request", say("more than is taken at once"), say("Take less, such as a smaller file."))];
  return [problem("server", say("answer {status}", { status: response.status }), say("Try again."))];
}

let ahead: number | null = null;

/** Learns from an answer how far this computer's clock is ahead of the server's. */
export function noteClock(response: Response): void {
  const theirs = Date.parse(response.headers.get("date") ?? "");
  if (Number.isFinite(theirs)) ahead = (Date.now() - theirs) / 1000;
}

/** What this computer's clock is ahead of the server's [s]; null where no answer came yet. */
export function clockAheadS(): number | null {
  return ahead;
}

async function answer(response: Response): Promise<unknown> {
  if (response.ok) return response.status === 204 ? undefined : await response.json();
  if (response.status === 401) location.assign(`/sign-in?next=${encodeURIComponent(location.pathname)}`);
  throw new Refused(response.status, await problemsOf(response));
}

/** The address of an operation. */
export function address(path: Path, inside: Record<string, string> = {}, query: object = {}): string {
  const whole = path.replace(/\{(\w+)\}/g, (_, name: string) => encodeURIComponent(inside[name] ?? ""));
  const asked = new URLSearchParams(Object.entries(query).filter(([, value]) => value !== undefined && value !== null));
  return asked.size ? `${whole}?${asked}` : whole;
}

/** Asks for an operation of the interface. */
export async function ask<P extends Path, M extends Method>(
  method: M,
  path: P,
  sent: Sent<Operation<P, M>> = {},
): Promise<Answered<P, M>> {
  return (await answer(await fetched(method, address(path, sent.path, sent.query as object), sent))) as Answered<P, M>;
}

/** A file that an operation makes of what is sent. */
export async function askFile<P extends Path>(
  path: P,
  inside: Record<string, string>,
  query: object,
  body: BodyOf<Operation<P, "post">>,
): Promise<Blob> {
  const response = await fetched("post", address(path, inside, query), { body });
  if (!response.ok) await answer(response);
  return response.blob();
}

async function fetched(
  method: Method,
  url: string,
  { body, signal }: { body?: unknown; signal?: AbortSignal },
): Promise<Response> {
  const headers: Record<string, string> = { accept: "application/json", ...proof() };
  const text = body === undefined ? null : JSON.stringify(body);
  if (text !== null) headers["content-type"] = "application/json";
  // A line that breaks for a moment takes nothing away: what only asks is asked once more.
  for (let tries = method === "get" && navigator.onLine ? 2 : 1; ; tries -= 1) {
    try {
      const response = await fetch(url, { method: method.toUpperCase(), body: text, headers, signal: signal ?? null });
      noteClock(response);
      return response;
    } catch (error) {
      if (isAbort(error)) throw error;
      if (tries > 1) {
        await new Promise((go) => setTimeout(go, ONCE_MORE_MS));
        continue;
      }
      const todo = say("Look whether network and server are there, then try again.");
      throw new Refused(0, [problem("server", say("no answer"), todo)]);
    }
  }
}

/** Whether there was no answer at all: what was asked is neither right nor wrong. */
export function isOutOfReach(problems: Problem[]): boolean {
  return problems.length > 0 && problems.every((each) => each.field === "server");
}

export function isAbort(error: unknown): boolean {
  return error instanceof DOMException && error.name === "AbortError";
}

/** What went wrong, for a line on the page. */
export function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** The problems of a refusal; any other error as one. */
export function problemsIn(error: unknown): Problem[] {
  return error instanceof Refused ? error.problems : [problem("", reason(error))];
}
