/** Talks to the server: JSON in, JSON out, refusals as problems at fields. */

export interface Problem {
  field: string;
  given: string;
  allowed: string;
  todo: string;
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
  const allowed = problem.allowed ? `; allowed: ${problem.allowed}` : "";
  return `${problem.given}${allowed}. ${problem.todo}`.trim();
}

/** Headers that prove that a request comes from one of our own pages. */
export function proof(): Record<string, string> {
  // A cookie and not the page, since a page may come out of this browser's own store.
  const token = /(?:^|;\s*)woold_csrf=([^;]+)/.exec(document.cookie)?.[1];
  return token ? { "x-csrf-token": token } : {};
}

async function answer<T>(response: Response): Promise<T> {
  if (response.ok) return (response.status === 204 ? undefined : await response.json()) as T;
  if (response.status === 401) location.assign(`/sign-in?next=${encodeURIComponent(location.pathname)}`);
  let problems: Problem[] = [];
  try {
    problems = ((await response.json()) as { problems?: Problem[] }).problems ?? [];
  } catch {
    // not JSON: told below
  }
  if (!problems.length) {
    problems = [{ field: "server", given: `answer ${response.status}`, allowed: "", todo: "Try again." }];
  }
  throw new Refused(response.status, problems);
}

async function request<T>(method: string, path: string, body: BodyInit | null, type: string | null, signal?: AbortSignal): Promise<T> {
  const headers: Record<string, string> = { accept: "application/json", ...proof() };
  if (type) headers["content-type"] = type;
  let response: Response;
  try {
    response = await fetch(path, { method, body, headers, signal: signal ?? null });
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new Refused(0, [{ field: "server", given: "no answer", allowed: "", todo: "Is woold serve running?" }]);
  }
  return answer<T>(response);
}

export function get<T>(path: string): Promise<T> {
  return request<T>("GET", path, null, null);
}

export function send<T>(method: "POST" | "PUT" | "DELETE", path: string, body?: unknown, signal?: AbortSignal): Promise<T> {
  const text = body === undefined ? null : JSON.stringify(body);
  return request<T>(method, path, text, text === null ? null : "application/json", signal);
}

export function upload<T>(path: string, form: FormData): Promise<T> {
  return request<T>("POST", path, form, null);
}

export function isAbort(error: unknown): boolean {
  return error instanceof DOMException && error.name === "AbortError";
}

/** What went wrong, for a line on the page. */
export function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
