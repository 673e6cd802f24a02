/** What a draft begins with: the plan's load, and what seldom changes from load to load. */

import type { OpenTrial, OrderedLoad } from "../generated/api";
import { keepInMind, rememberedValue } from "../remembered";
import type { Draft } from "./model";
import { fieldOf, unitOf } from "./rows";

const UNITS_KEY = "woold.entry-units";
const LAST_KEY = "woold.entry-last";
const REMEMBERED = ["load.roll", "load.operator", "load.tare", "pull.age"];

/** Cells that are filled in beforehand: a load with nothing else was not measured yet. */
export function givenCells(trial: OpenTrial): Set<string> {
  const heights = trial.zone_names.map((zone) => `height.${zone}`);
  return new Set([
    "load.load",
    "load.treatment",
    "load.load_type",
    "load.block",
    "load.shift",
    ...REMEMBERED,
    ...heights,
  ]);
}

const read = (key: string): Record<string, string> => rememberedValue<Record<string, string>>(key, {});

/** Keeps units and what seldom changes for the next load. */
export function remember(draft: Draft): void {
  keepInMind(UNITS_KEY, JSON.stringify({ ...read(UNITS_KEY), ...draft.units }));
  const last = Object.fromEntries(REMEMBERED.map((name) => [name, draft.cells[name] ?? ""]));
  keepInMind(LAST_KEY, JSON.stringify(last));
}

/** The load of the plan that a draft is for. */
export function planned(trial: OpenTrial, draft: Draft): OrderedLoad | undefined {
  const typed = (draft.cells["load.load"] ?? "").trim();
  // 7, 07 and 7.0 are one load.
  return typed ? trial.order.find((each) => each.number === Number(typed)) : undefined;
}

/** Fills a draft for a load of the plan, or for one outside of it. */
export function prepare(trial: OpenTrial, draft: Draft, load: string): void {
  draft.units = { ...read(UNITS_KEY), ...draft.units };
  draft.cells["load.load"] = load;
  for (const [name, text] of Object.entries(read(LAST_KEY))) draft.cells[name] ??= text;
  const found = planned(trial, draft);
  if (found) {
    draft.cells["load.treatment"] = found.treatment;
    draft.cells["load.load_type"] = found.load_type;
    draft.cells["load.block"] = found.block;
    draft.cells["load.shift"] = found.shift;
    if (found.roll) draft.cells["load.roll"] = found.roll;
  }
  if (!draft.cells["height-typed"]) fillHeights(trial, draft);
}

/** Heights at which to measure on this type of load, in the unit that is chosen. */
export function fillHeights(trial: OpenTrial, draft: Draft): void {
  const field = fieldOf(trial, "pull", "height");
  const factor = field.factors[unitOf(trial, draft, "height", field)] ?? 1;
  const heights = trial.zone_heights_m[draft.cells["load.load_type"] ?? ""] ?? [];
  trial.zone_names.forEach((zone, place) => {
    const height = heights[place];
    if (height !== undefined)
      draft.cells[`height.${zone}`] = String(
        Number((height / factor).toFixed(factor < 0.005 ? 0 : factor < 0.1 ? 1 : 3)),
      );
  });
}
