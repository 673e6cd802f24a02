/** A trial as the server describes it, and an entry as the phone sends it. */

export interface SheetField {
  name: string;
  label: string;
  kind: string;
  doc: string;
  required: boolean;
  choices: string[];
  units: string[];
  /** SI value of one of each unit. */
  factors: Record<string, number>;
  metric: string;
  trade: string;
  low: number | null;
  high: number | null;
}

export interface Sheet {
  kind: "load" | "width" | "pull";
  title: string;
  doc: string;
  key: string[];
  fields: SheetField[];
}

export interface PlannedLoad {
  number: number;
  block: string;
  shift: string;
  roll: string;
  treatment: string;
  load_type: string;
  is_wrapped: boolean;
}

export interface OpenTrial {
  key: string;
  title: string;
  question: string;
  units: "metric" | "trade";
  treatments: string[];
  load_types: string[];
  zone_names: string[];
  zone_heights_m: Record<string, number[]>;
  expected_film_mass_kg: Record<string, Record<string, number>>;
  order: PlannedLoad[];
  wrapped: string[];
  sheets: Sheet[];
}

export interface Cell {
  typed: string;
  unit: string;
}

export type Row = Record<string, Cell>;

/** What is sent for one wrapped load, photos apart. */
export interface EntryBody {
  load: Row;
  widths: Row[];
  pulls: Row[];
  as_typed: string[];
  reason: string;
}

/** Everything typed for one load, as it stands in the form: cells by a name of their own. */
export interface Draft {
  id: string;
  trial: string;
  begun: number;
  touched: number;
  cells: Record<string, string>;
  units: Record<string, string>;
  photos: string[];
  as_typed: string[];
  reason: string;
}

/** An id that nobody else makes; also on a plain http page, where the browser offers less. */
export function freshEntryId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
