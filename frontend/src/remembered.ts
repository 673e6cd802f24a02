/** Small things that are nice to remember; where the browser remembers nothing, the page works without. */

/** Kept by the browser, or by this tab alone. */
type Where = "localStorage" | "sessionStorage";

export function remembered(key: string, where: Where = "localStorage"): string | null {
  try {
    return window[where].getItem(key);
  } catch {
    return null;
  }
}

/** Whether it was kept: where it was not, it is asked for again next time. */
export function keepInMind(key: string, text: string, where: Where = "localStorage"): boolean {
  try {
    window[where].setItem(key, text);
    return true;
  } catch {
    return false;
  }
}

export function forgetText(key: string): void {
  try {
    localStorage.removeItem(key);
  } catch {
    // nothing was kept
  }
}

/** Everything that is remembered under a name that begins so. */
export function rememberedKeys(beginning: string): string[] {
  try {
    return Object.keys(localStorage).filter((key) => key.startsWith(beginning));
  } catch {
    return [];
  }
}

/** A JSON value; the other one where there is none, none that can be read, or one of another shape. */
export function rememberedValue<T>(key: string, otherwise: T, where: Where = "localStorage"): T {
  try {
    const kept: unknown = JSON.parse(remembered(key, where) ?? "null");
    return kept !== null && isLike(kept, otherwise) ? (kept as T) : otherwise;
  } catch {
    return otherwise;
  }
}

/** A table of what a page keeps. What an earlier form of the page kept otherwise, or not at all, is as at first. */
export function rememberedTable<T extends object>(key: string, first: T, where: Where = "localStorage"): T {
  return inShapeOf(first, rememberedValue<object>(key, {}, where));
}

/** A table with the fields of the first one: those that a kept one has in the same shape. */
export function inShapeOf<T extends object>(first: T, kept: object): T {
  const found = { ...first };
  for (const name of Object.keys(first) as (keyof T & string)[]) {
    const value: unknown = (kept as Record<string, unknown>)[name];
    if (value !== undefined && isLike(value, first[name])) found[name] = value as T[typeof name];
  }
  return found;
}

/** Whether a value is a list, a table, a text or a number as another is; where that is none, a table or text. */
function isLike(value: unknown, usual: unknown): boolean {
  if (usual === null) return value === null || isTable(value) || typeof value === "string";
  if (Array.isArray(usual)) return Array.isArray(value);
  return typeof usual === "object" ? isTable(value) : typeof value === typeof usual;
}

/** Whether a value has fields. */
export function isTable(value: unknown): boolean {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
