/** Settings of a designed program, put into a case. */

import type { Table, Value } from "./draft";
import { putAt } from "./draft";
import type { Settings } from "./generated/api";

export function changedSettings(today: Settings, other: Settings): (keyof Settings)[] {
  const names = Object.keys(today) as (keyof Settings)[];
  return names.filter((name) => JSON.stringify(today[name]) !== JSON.stringify(other[name]));
}

/** Text with as many digits as a setting has, and no more. */
function plain(value: number): string {
  return String(Number(value.toPrecision(9)));
}

/** Puts what differs from today's settings into a case; the rest keeps its text. */
export function putSettings(table: Table, today: Settings, chosen: Settings): void {
  const put: Record<keyof Settings, () => void> = {
    film: () => undefined,
    prestretch: () => putAt(table, "carriage.prestretch", `${plain(100 * (chosen.prestretch - 1))} %`),
    force_to_load_n: () => putAt(table, "program.force_to_load", `${plain(chosen.force_to_load_n)} N`),
    bottom_wraps: () => putAt(table, "program.bottom_wraps", chosen.bottom_wraps),
    rise_per_turn_m: () => {
      putAt(table, "program.overlap", undefined);
      putAt(table, "program.rise_per_turn", `${plain(1000 * chosen.rise_per_turn_m)} mm`);
    },
    top_wraps: () => putAt(table, "program.top_wraps", chosen.top_wraps),
    fall_per_turn_m: () =>
      putAt(
        table,
        "program.fall_per_turn",
        chosen.fall_per_turn_m === null ? undefined : `${plain(1000 * chosen.fall_per_turn_m)} mm`,
      ),
    bands: () =>
      putAt(
        table,
        "program.bands",
        chosen.bands.length
          ? chosen.bands.map(
              (stop): Value => ({
                height: `${plain(1000 * stop.height_m)} mm`,
                wraps: stop.wraps,
                on_the_way: stop.on_the_way,
              }),
            )
          : undefined,
      ),
    speed_rad_per_s: () => putAt(table, "machine.speed", `${plain((30 * chosen.speed_rad_per_s) / Math.PI)} rpm`),
  };
  const changed = changedSettings(today, chosen);
  for (const name of changed) put[name]();
  // Without a fall of its own the way down would follow the new rise.
  if (changed.includes("rise_per_turn_m") && !changed.includes("fall_per_turn_m")) put.fall_per_turn_m();
  if (changed.includes("fall_per_turn_m") && !changed.includes("rise_per_turn_m")) put.rise_per_turn_m();
}
