/** Settings of a designed program: shown beside today's, and put into a case. */

import type { Table, Value } from "./draft";
import { putAt } from "./draft";
import type { Settings, Stop } from "./generated/api";
import type { Shower } from "./units";
import { significant } from "./units";
import { say, toSay } from "./words";

export const SETTING_NAMES: Record<keyof Settings, string> = {
  film: toSay("film"),
  prestretch: toSay("pre-stretch"),
  force_to_load_n: toSay("force to load"),
  bottom_wraps: toSay("bottom wraps"),
  rise_per_turn_m: toSay("rise per turn"),
  top_wraps: toSay("top wraps"),
  fall_per_turn_m: toSay("fall per turn"),
  bands: toSay("stops on the way"),
  speed_rad_per_s: toSay("turning speed"),
};

const KINDS: Partial<Record<keyof Settings, string>> = {
  prestretch: "elongation",
  force_to_load_n: "force",
  rise_per_turn_m: "small_length",
  fall_per_turn_m: "small_length",
  speed_rad_per_s: "turning_speed",
};

export function settingText(settings: Settings, name: keyof Settings, show: Shower): string {
  const value = settings[name];
  if (value === null) return say("none");
  if (Array.isArray(value)) return value.map((stop) => stopText(stop, show)).join("; ") || say("none");
  if (typeof value === "string") return say(value);
  const kind = KINDS[name];
  return kind ? show.short(value, kind) : significant(value);
}

function stopText(stop: Stop, show: Shower): string {
  const place = { turns: significant(stop.wraps), height: show.short(stop.height_m, "small_length") };
  return stop.on_the_way === "up"
    ? say("{turns} turns at {height} on the way up", place)
    : say("{turns} turns at {height} on the way down", place);
}

export function changedSettings(today: Settings, other: Settings): (keyof Settings)[] {
  return (Object.keys(SETTING_NAMES) as (keyof Settings)[]).filter(
    (name) => JSON.stringify(today[name]) !== JSON.stringify(other[name]),
  );
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
