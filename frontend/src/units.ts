/** Shows SI values in the units that the reader chose; the factors come from the server. */

import type { FormFields, ShownUnit } from "./generated/api";
import { keepInMind, remembered } from "./remembered";
import { say } from "./words";

export type Kinds = FormFields["kinds"];
export type System = "si" | "trade" | "both";

const KEY = "woold.units";

export function chosenSystem(): System {
  const kept = remembered(KEY);
  return kept === "si" || kept === "trade" ? kept : "both";
}

export function keepSystem(system: System): void {
  keepInMind(KEY, system);
}

/** Plain decimal text with some significant digits; whole parts are never cut. */
export function significant(value: number, digits = 3): string {
  if (!Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const decimals = Math.min(12, Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value)))));
  const text =
    Math.abs(value) >= 10_000
      ? value.toLocaleString("en", { maximumFractionDigits: decimals })
      : value.toFixed(decimals);
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

export class Shower {
  constructor(
    readonly kinds: Kinds,
    public system: System = chosenSystem(),
  ) {}

  /** One unit of a kind: the trade's only where the reader asked for the trade's alone. */
  line(kind: string): ShownUnit {
    const known = this.kinds[kind];
    if (!known) return { symbol: "", factor: 1, offset: 0 };
    return this.system === "trade" ? known.trade : known.metric;
  }

  number(value: number, kind: string): number {
    const line = this.line(kind);
    return line.factor * value + line.offset;
  }

  show(value: number | null | undefined, kind: string): string {
    if (value === null || value === undefined) return "–";
    const known = this.kinds[kind];
    if (!known) return significant(value);
    const metric = text(value, known.metric);
    if (known.metric.symbol === known.trade.symbol) return metric;
    const trade = text(value, known.trade);
    return { si: metric, trade, both: `${metric} (${trade})` }[this.system];
  }

  /** In one unit only, for tables. */
  short(value: number | null | undefined, kind: string): string {
    if (value === null || value === undefined) return "–";
    return text(value, this.line(kind));
  }

  range(low: number | null, high: number | null, kind: string): string {
    if (low === null || high === null) return say("not known");
    const line = this.line(kind);
    return say("{low} to {high}", { low: significant(line.factor * low + line.offset), high: text(high, line) });
  }
}

function text(value: number, line: ShownUnit): string {
  const number = significant(line.factor * value + line.offset);
  if (!line.symbol) return number;
  return line.symbol === "°" ? `${number}°` : `${number}\u00a0${line.symbol}`;
}
