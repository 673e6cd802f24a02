/** Small things that are nice to remember; where the browser remembers nothing, the page works without. */

export function remembered(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

export function keepInMind(key: string, text: string): void {
  try {
    localStorage.setItem(key, text);
  } catch {
    // it is asked for again next time
  }
}

export function forgetText(key: string): void {
  try {
    localStorage.removeItem(key);
  } catch {
    // nothing was kept
  }
}

/** A JSON value; the other one where there is none, or none that can be read. */
export function rememberedValue<T>(key: string, otherwise: T): T {
  try {
    return (JSON.parse(remembered(key) ?? "null") as T | null) ?? otherwise;
  } catch {
    return otherwise;
  }
}
