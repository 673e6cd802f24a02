"""Other programs than the chosen one in words: fewer changes, a varying rise, the front."""

from __future__ import annotations

from collections.abc import Iterator

from woold.design.result import DesignResult, ProfiledResult
from woold.design.settings import SETTING_NAMES, Settings, changed_settings, settings_text
from woold.design.task import Goal
from woold.rows.blocks import Block, Facts, Row, Table
from woold.rows.wording import Wording

__all__ = ["alternative_blocks", "goal_value"]


def alternative_blocks(result: DesignResult, say: Wording, brief: Wording) -> Iterator[Block]:
    """What else there is; nothing where nothing was looked for.

    Args:
        result: the design.
        say: words and numbers.
        brief: the same for cells of wide tables.
    """
    if result.fewer_changes:
        yield _changes_table(result, brief)
    if result.profiled is not None:
        other = result.chosen or result.today
        names = changed_settings(other.settings, result.profiled.program.settings)
        yield Facts(
            say("If the rise may vary with height: travel fast, wait where layers are lacking"),
            tuple(_profiled_rows(result, result.profiled, names, say)),
        )
    if result.front:
        yield _front_table(result, brief)


def _setting(settings: Settings, name: str, say: Wording) -> str:
    return say.sentence(settings_text(settings, name, say.units))


def _changes_table(result: DesignResult, say: Wording) -> Table:
    return Table(
        say("With fewer changes from today"),
        (say("changes"), say("what to set"), say("film"), say("cycle"), say("saved")),
        tuple(
            (
                str(step.changes),
                "; ".join(
                    f"{say(SETTING_NAMES[name])} {_setting(step.program.settings, name, say)}"
                    for name in step.changed
                ),
                say.amount(step.program.film_mass_kg, "small_mass"),
                say.amount(step.program.cycle_time_s, "time"),
                say.percent(step.film_saved),
            )
            for step in result.fewer_changes
        ),
        words=(0, 1),
        is_small=True,
    )


def _profiled_rows(
    result: DesignResult, found: ProfiledResult, names: tuple[str, ...], say: Wording
) -> Iterator[Row]:
    program = found.program
    for name in names:
        yield Row(say(SETTING_NAMES[name]), _setting(program.settings, name, say))
    yield Row(say("film per load"), say.amount(program.film_mass_kg, "small_mass"))
    if found.film_saved is not None:
        yield Row(say("saves over one rise"), say.percent(found.film_saved))
    yield Row(say("cycle time"), say.amount(program.cycle_time_s, "time"))
    if found.price_of_one_rise is not None:
        yield Row(say("price of one rise that does not vary"), say.percent(found.price_of_one_rise))
    yield Row(
        say("no program of any kind, at one force, gets below"),
        say(
            "{bound}; this one is {gap} above",
            bound=goal_value(result.objective, found.bound, result.currency, say),
            gap=say.percent(found.gap),
        ),
    )


def goal_value(goal: Goal, value: float, currency: str, say: Wording) -> str:
    """A value of what a goal makes small."""
    if goal == "cost":
        return f"{say.fixed(value, 3)} {currency}"
    if goal == "time":
        return say.amount(value, "time")
    return say.amount(value, "small_mass")


def _front_table(result: DesignResult, say: Wording) -> Table:
    # Films of a shelf are not priced alike: the lightest program need not cost least.
    has_films = len({point.settings.film for point in result.front}) > 1
    films = [_setting(each.settings, "film", say) for each in result.front] if has_films else []
    return Table(
        say("Front of film, hold and time: no program beats these in all three"),
        (
            *([say("with")] if has_films else ()),
            say("film"),
            say("containment, least"),
            say("held of what is asked"),
            say("cycle"),
            say("force to load"),
            say("rise per turn"),
            say("fall per turn"),
        ),
        tuple(
            (
                *films[index : index + 1],
                say.amount(point.film_mass_kg, "small_mass"),
                say.amount(point.containment_later_min_n, "force"),
                say.percent(point.share_of_targets, 0),
                say.amount(point.cycle_time_s, "time"),
                _setting(point.settings, "force_to_load_n", say),
                _setting(point.settings, "rise_per_turn_m", say),
                _setting(point.settings, "fall_per_turn_m", say),
            )
            for index, point in enumerate(result.front)
        ),
        is_small=True,
    )
