/** Every word of the pages, in the reader's language: the page brings its translations along. */

/** Names in braces of a text: where values go. */
type Names<Text extends string> = Text extends `${string}{${infer Name}}${infer Rest}` ? Name | Names<Rest> : never;
type Values<Text extends string> = string extends Text
  ? [Record<string, string | number>?]
  : [Names<Text>] extends [never]
    ? []
    : [Record<Names<Text>, string | number>];

let catalogue: Record<string, string> | null = null;

function translated(text: string): string {
  if (catalogue === null) {
    const words = typeof document === "undefined" ? null : document.getElementById("words");
    catalogue = JSON.parse(words?.textContent || "{}") as Record<string, string>;
  }
  return catalogue[text] ?? text;
}

/** The text in the reader's language, with values put in; English is the key of the catalogue. */
export function say<const Text extends string>(text: Text, ...given: Values<Text>): string {
  const found = translated(text);
  const values = given[0] as Record<string, string | number> | undefined;
  return values ? found.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole)) : found;
}

/** Marks a text that is said later, where it is shown. */
export function toSay<Text extends string>(text: Text): Text {
  return text;
}

/** Tag of the reader's language, for numbers and times. */
export function language(): string {
  return (typeof document === "undefined" ? "" : document.documentElement.lang) || "en";
}

/** A moment as the reader writes day and time. */
export function when(at: string): string {
  return new Date(at).toLocaleString(language());
}

/** A share as per cent. */
export function percent(share: number, decimals = 1): string {
  return `${(100 * share).toFixed(decimals)} %`;
}
