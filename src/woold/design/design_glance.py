"""A design at a glance: does it hold, film and money, time, and what to do about what binds."""

from __future__ import annotations

from woold.design.result import DesignResult, ProgramResult
from woold.design.settings import SETTING_NAMES
from woold.rows.blocks import Row
from woold.rows.wording import Wording
from woold.verdict.rows import glance_rows

__all__ = ["design_glance", "offered"]


def offered(result: DesignResult) -> ProgramResult | None:
    """The program whose settings are offered; None where today's is kept or none is known to hold.

    Args:
        result: the design.
    """
    chosen = result.chosen
    if chosen is None or chosen.verdict.fails or result.keep_today or not result.possible:
        return None
    return chosen


def design_glance(result: DesignResult, say: Wording) -> tuple[Row, Row, Row, Row]:
    """Whether the new program holds, its film and money, its time, and what to change.

    Args:
        result: the design.
        say: words and numbers.
    """
    new, today = offered(result), result.today
    shown = new or today
    label = say("does the new program hold") if new else say("does today's program hold")
    if shown.verdict.asked:
        row, _ = glance_rows(shown.verdict, say)
        holds = Row(label, row.value, note=row.note)
    else:
        share = say.percent(shown.share_of_targets, 0)
        note = say("of what today's program holds, since nothing else is asked")
        holds = Row(label, share, note=note)
    return holds, _film(result, new, say), _time(result, new, say), _todo(result, new, say)


def _film(result: DesignResult, new: ProgramResult | None, say: Wording) -> Row:
    label, today = say("film per load"), result.today
    before = say.amount(today.film_mass_kg, "small_mass")
    if new is None:
        return Row(label, before, note=say("today's program"))
    note = say("instead of {today}", today=before)
    if result.cost_saved is not None and result.cost_saved_per_year is not None:
        money = say.money(abs(result.cost_saved_per_year), result.currency)
        cost = (
            say("all together {money} a year cheaper", money=money)
            if result.cost_saved >= 0.0
            else say("all together {money} a year dearer", money=money)
        )
        note = f"{note}; {cost}"
    return Row(label, say.amount(new.film_mass_kg, "small_mass"), note=note)


def _time(result: DesignResult, new: ProgramResult | None, say: Wording) -> Row:
    label, before = say("cycle time"), say.amount(result.today.cycle_time_s, "time")
    if new is None:
        return Row(label, before, note=say("today's program"))
    after = say.amount(new.cycle_time_s, "time")
    return Row(label, after, note=say("instead of {today}", today=before))


def _todo(result: DesignResult, new: ProgramResult | None, say: Wording) -> Row:
    label = say("what to do")
    binds = result.binding[0].message if result.binding else ""
    note = say("What binds: {limit}", limit=say.sentence(binds)) if binds else ""
    if new is not None:
        names = ", ".join(say(SETTING_NAMES[each]) for each in result.changed)
        return Row(label, say("Change {settings}.", settings=names), note=note)
    if result.obstacles:
        return Row(
            label, say("Nothing can be set."), note=say.sentence(result.obstacles[0].message)
        )
    if result.profiled is not None and result.chosen is None and not result.keep_today:
        return Row(
            label, say("Only a rise that varies with height holds: its settings stand below.")
        )
    if result.keep_today:
        return Row(label, say("Keep today's program: nothing better was found that holds."))
    return Row(label, say("Nothing can be set: no program that is known to hold was found."))
