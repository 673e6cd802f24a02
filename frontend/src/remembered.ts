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

/** A JSON value; the other one where there is none, or none that can be read. */
export function rememberedValue<T>(key: string, otherwise: T, where: Where = "localStorage"): T {
  try {
    return (JSON.parse(remembered(key, where) ?? "null") as T | null) ?? otherwise;
  } catch {
    return otherwise;
  }
}
