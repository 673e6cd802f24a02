/** Which line is open in this browser, what was asked of it last, and where the answers are. */

import { keepInMind, rememberedTable } from "./remembered";

export type Question = "map" | "carriage" | "kits" | "recipes" | "wear";

export interface KeptLine {
  line: string | null;
  name: string;
  question: Question;
  /** The latest job of each question. */
  jobs: Partial<Record<Question, string>>;
  fields: Record<string, string>;
}

const KEPT = "woold.line";
const NOTHING: KeptLine = { line: null, name: "", question: "map", jobs: {}, fields: {} };

export function keptLine(): KeptLine {
  return rememberedTable(KEPT, NOTHING);
}

export function keepLine(kept: KeptLine): void {
  keepInMind(KEPT, JSON.stringify(kept));
}
