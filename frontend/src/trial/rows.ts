/** Turns what stands in the form into the rows that are sent, and names of refused fields back. */

import type { EntryField, OpenTrial } from "../generated/api";
import { say } from "../words";
import type { Cell, Draft, EntryBody, Row } from "./model";

export interface Rows {
  body: EntryBody;
  /** Form cell of each field of the rows: "pull[2].force" is "pull.middle.right". */
  places: Map<string, string>;
}

export function fieldOf(trial: OpenTrial, kind: string, name: string): EntryField {
  const found = trial.sheets.find((sheet) => sheet.kind === kind)?.fields.find((field) => field.name === name);
  if (!found) throw new Error(`no field ${kind}.${name}`);
  return found;
}

/** Unit of a form cell: chosen in this draft, else the trial's. */
export function unitOf(trial: OpenTrial, draft: Draft, group: string, field: EntryField): string {
  return draft.units[group] ?? (trial.units === "trade" ? field.trade : field.metric);
}

export function rowsOf(trial: OpenTrial, draft: Draft): Rows {
  const places = new Map<string, string>();
  const text = (name: string): string => (draft.cells[name] ?? "").trim();
  const load: Row = {};
  for (const field of trial.sheets.find((sheet) => sheet.kind === "load")?.fields ?? []) {
    const typed = text(`load.${field.name}`);
    places.set(`load.${field.name}`, `load.${field.name}`);
    if (typed)
      load[field.name] = { typed, unit: field.units.length ? unitOf(trial, draft, `load.${field.name}`, field) : "" };
  }
  const number: Cell = { typed: text("load.load"), unit: "" };
  const quantity = (kind: string, name: string, group: string, typed: string): Cell => ({
    typed,
    unit: unitOf(trial, draft, group, fieldOf(trial, kind, name)),
  });
  const pulls: Row[] = [];
  const widths: Row[] = [];
  trial.zone_names.forEach((zone) => {
    const height = text(`height.${zone}`);
    for (const side of Object.keys(trial.sides)) {
      const force = text(`pull.${zone}.${side}`);
      if (!force) continue;
      const row: Row = { load: number, side: { typed: side, unit: "" } };
      if (height) row.height = quantity("pull", "height", "height", height);
      row.force = quantity("pull", "force", "pull.force", force);
      if (text("pull.age")) row.age = quantity("pull", "age", "pull.age", text("pull.age"));
      const at = `pull[${pulls.length}]`;
      places
        .set(`${at}.force`, `pull.${zone}.${side}`)
        .set(`${at}.height`, `height.${zone}`)
        .set(`${at}.age`, "pull.age");
      pulls.push(row);
    }
    const width = text(`width.${zone}`);
    if (width) {
      const row: Row = { load: number };
      if (height) row.height = quantity("width", "height", "height", height);
      row.film_width = quantity("width", "film_width", "width.film_width", width);
      places
        .set(`width[${widths.length}].film_width`, `width.${zone}`)
        .set(`width[${widths.length}].height`, `height.${zone}`);
      widths.push(row);
    }
  });
  const first = trial.zone_names[0] ?? "";
  places.set("pull.force", `pull.${first}.front`).set("pull.age", "pull.age").set("pull.height", `height.${first}`);
  places.set("width.film_width", `width.${first}`).set("width.height", `height.${first}`);
  return { body: { load, widths, pulls, as_typed: draft.as_typed, reason: draft.reason }, places };
}

/** What seems wrong before anything is sent: form cell to sentence. Only words; nothing is held back. */
export function doubts(trial: OpenTrial, draft: Draft): Map<string, string> {
  const found = new Map<string, string>();
  const fieldsOfLoad = trial.sheets.find((sheet) => sheet.kind === "load")?.fields ?? [];
  const look = (place: string, field: EntryField, group: string): void => {
    const typed = (draft.cells[place] ?? "").trim();
    if (!typed) return;
    const number = Number(typed);
    if (!Number.isFinite(number)) {
      found.set(place, say("This is not a number."));
      return;
    }
    const unit = field.units.length ? unitOf(trial, draft, group, field) : "";
    const si = number * (field.factors[unit] ?? 1);
    if (field.low !== null && field.high !== null && (si < field.low || si > field.high)) {
      found.set(place, say("{value}: is it right, and in the right unit?", { value: `${typed} ${unit}`.trim() }));
    }
  };
  for (const field of fieldsOfLoad) {
    if (!["word", "note"].includes(field.kind)) look(`load.${field.name}`, field, `load.${field.name}`);
  }
  for (const zone of trial.zone_names) {
    look(`height.${zone}`, fieldOf(trial, "pull", "height"), "height");
    look(`width.${zone}`, fieldOf(trial, "width", "film_width"), "width.film_width");
    for (const side of Object.keys(trial.sides))
      look(`pull.${zone}.${side}`, fieldOf(trial, "pull", "force"), "pull.force");
  }
  look("pull.age", fieldOf(trial, "pull", "age"), "pull.age");
  const usual = trial.usual[draft.cells["load.load_type"] ?? ""]?.[draft.cells["load.treatment"] ?? ""] ?? {};
  const si = (place: string, field: EntryField, group: string): number =>
    Number((draft.cells[place] ?? "").trim() || Number.NaN) *
    (field.factors[field.units.length ? unitOf(trial, draft, group, field) : ""] ?? 1);
  /** Not a number where the trial was kept on this phone before there was such a field. */
  const ofLoad = (name: string): number => {
    const field = fieldsOfLoad.find((each) => each.name === name);
    return field ? si(`load.${name}`, field, `load.${name}`) : Number.NaN;
  };
  /** The same spans that the server asks by; what is held is net mass, and stretch by the marks. */
  const hold = (name: string, place: string, value: number): void => {
    const [low, high] = usual[name] ?? [0, 0];
    if (!high || !(value > 0) || (value >= low && value <= high) || found.has(place)) return;
    const times = value / Math.sqrt(low * high);
    found.set(
      place,
      say("{times} times what is usual here: is it right, and in the right unit?", {
        times: times.toPrecision(times > 1 ? 2 : 1),
      }),
    );
  };
  hold("load.film_mass", "load.film_mass", ofLoad("film_mass") - (ofLoad("tare") || 0));
  hold("load.turns", "load.turns", ofLoad("turns"));
  hold("load.cycle_time", "load.cycle_time", ofLoad("cycle_time"));
  hold("load.dancer_force", "load.dancer_force", ofLoad("dancer_force"));
  hold("load.mark_after", "load.mark_after", ofLoad("mark_after") / ofLoad("mark_before"));
  trial.zone_names.forEach((zone, at) => {
    const width = si(`width.${zone}`, fieldOf(trial, "width", "film_width"), "width.film_width");
    hold("width.film_width", `width.${zone}`, width);
    for (const side of Object.keys(trial.sides)) {
      const place = `pull.${zone}.${side}`;
      hold(`pull.force.${at}`, place, si(place, fieldOf(trial, "pull", "force"), "pull.force"));
    }
  });
  return found;
}
