/** A trial as the server describes it, and an entry as the phone sends it. */

import type { TypedCell } from "../generated/api";

export type Cell = TypedCell;
export type Row = Record<string, Cell>;

/** What is sent for one wrapped load, photos apart. */
export interface EntryBody {
  load: Row;
  widths: Row[];
  pulls: Row[];
  as_typed: string[];
  reason: string;
  /** Who typed, and when by this phone's clock. */
  typed_by?: string;
  typed_at?: string | null;
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
  typed_by?: string;
}
