/** A design in rows. */

import type { AnyBlock } from "./blocks";
import { changedSettings, SETTING_NAMES, settingText } from "./design_settings";
import type { DesignResult, FrontPoint, ProgramResult, RowData, Settings } from "./generated/api";
import type { Shower } from "./units";
import { percent, say } from "./words";

function table(caption: string, columns: string[], rows: string[][], words: number[] = [0]): AnyBlock {
  return { block: "table", caption, columns, rows, words, is_small: false };
}

function row(label: string, value: string, note = ""): RowData {
  return { label, value, range: "", note };
}

/** What a program sets, beside today's. */
export function settingsTable(
  caption: string,
  other: string,
  today: ProgramResult,
  program: ProgramResult | FrontPoint,
  show: Shower,
): AnyBlock {
  const changed = changedSettings(today.settings, program.settings);
  const names = Object.keys(SETTING_NAMES) as (keyof Settings)[];
  const told = (
    label: string,
    key: "film_mass_kg" | "cycle_time_s" | "containment_later_min_n",
    kind: string,
  ): string[] => [label, show.short(today[key], kind), show.short(program[key], kind), ""];
  return table(
    caption,
    [say("setting"), say("today"), other, say("to do")],
    [
      ...names.map((name) => [
        say(SETTING_NAMES[name]),
        settingText(today.settings, name, show),
        settingText(program.settings, name, show),
        changed.includes(name) ? say("change") : "",
      ]),
      told(say("film per load"), "film_mass_kg", "small_mass"),
      told(say("cycle time"), "cycle_time_s", "time"),
      told(say("containment force, least"), "containment_later_min_n", "force"),
    ],
  );
}

/** What was found, or why nothing could be. */
export function answerBlocks(design: DesignResult, show: Shower): AnyBlock[] {
  const blocks: AnyBlock[] = [{ block: "paragraph", text: answer(design, show), is_strong: true }];
  const { chosen, today } = design;
  if (!design.possible)
    blocks.push(
      ...design.obstacles.map((each): AnyBlock => ({ block: "note", about: each.field, text: each.message })),
    );
  if (chosen) {
    blocks.push(settingsTable(say("Settings, today and new"), say("new"), today, chosen, show));
    blocks.push({ block: "facts", caption: say("Proof"), rows: proofRows(design, show) });
  }
  if (design.targets.length) blocks.push(targetsTable(design, show));
  if (design.fewer_changes.length) {
    blocks.push(
      table(
        say("Fewer changes"),
        [say("changes"), say("film saved"), say("of the gain"), say("which")],
        design.fewer_changes.map((each) => [
          String(each.changes),
          percent(each.film_saved),
          percent(each.share_of_gain),
          changedNames(each.changed),
        ]),
        [0, 3],
      ),
    );
  }
  if (design.binding.length) {
    blocks.push({ block: "heading", level: 3, text: say("What binds") });
    blocks.push(...design.binding.map((each): AnyBlock => ({ block: "note", about: each.field, text: each.message })));
  }
  return blocks;
}

function changedNames(changed: string[]): string {
  return changed.map((name) => (name in SETTING_NAMES ? say(SETTING_NAMES[name as keyof Settings]) : name)).join(", ");
}

function answer({ chosen, today, film_saved: saved }: DesignResult, show: Shower): string {
  if (!chosen) return say("✗ No program holds what is asked within these limits.");
  const told = {
    share: percent(Math.abs(saved ?? 0)),
    film: show.show(chosen.film_mass_kg, "small_mass"),
    today: show.show(today.film_mass_kg, "small_mass"),
  };
  return (saved ?? 0) >= 0
    ? say("{share} less film than today: {film} a load instead of {today}.", told)
    : say("{share} more film than today: {film} a load instead of {today}.", told);
}

function proofRows(design: DesignResult, show: Shower): RowData[] {
  const { gap, profiled, robustness } = design;
  const rows = [
    row(
      say("no program of any kind needs less than"),
      show.show(design.film_bound_kg, "small_mass"),
      gap === null ? "" : say("this one is {share} above", { share: percent(gap) }),
    ),
    row(
      say("programs dealt with"),
      String(design.programs_evaluated + design.programs_pruned),
      say("in {seconds} s", { seconds: design.search_time_s.toFixed(1) }),
    ),
  ];
  if (profiled) {
    const less = say("{share} less than today", { share: percent(profiled.film_saved) });
    rows.push(
      row(say("with a rise that varies with height"), show.show(profiled.program.film_mass_kg, "small_mass"), less),
    );
  }
  if (robustness) {
    const beside = say("asked for {asked}; today's {today}", {
      asked: percent(robustness.asked),
      today: percent(robustness.today),
    });
    rows.push(row(say("holds in so many draws of what is not known exactly"), percent(robustness.chosen), beside));
  }
  return rows;
}

function targetsTable(design: DesignResult, show: Shower): AnyBlock {
  const caption = design.as_today
    ? say("What must be held: as much as today's program holds, as nothing is asked for")
    : say("What must be held");
  return table(
    caption,
    [say("zone above the deck"), say("asked"), say("today"), say("new")],
    design.targets.map((each) => [
      show.range(each.low_m, each.high_m, "length"),
      show.short(each.asked_n, "force"),
      show.short(each.held_today_n, "force"),
      show.short(each.held_n, "force"),
    ]),
  );
}
