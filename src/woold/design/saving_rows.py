"""What a design saves, in words: gains against today's program, and what a year is worth."""

from __future__ import annotations

from collections.abc import Iterator

from woold.design.result import DesignResult
from woold.prediction.yearly import Estimate
from woold.rows.blocks import Block, Paragraph, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["gains", "worth_blocks"]

_MONEY = {
    "film": to_say("film, each at its own price"),
    "machine_time": to_say("machine time"),
    "roll_changes": to_say("roll changes"),
    "breaks": to_say("film breaks, as often in a turn as today"),
    "total": to_say("all together"),
}


def gains(result: DesignResult, say: Wording) -> Iterator[str]:
    """Money, film and hold of the chosen program against today's."""
    chosen, saving = result.chosen, result.saving
    assert chosen is not None
    saved, yearly = result.cost_saved, result.cost_saved_per_year
    if saved is not None and yearly is not None:
        values = {
            "amount": f"{say.fixed(abs(saved), 2)} {result.currency}",
            "yearly": say.money(abs(yearly), result.currency),
        }
        text = (
            say("{amount} a load cheaper, {yearly} a year", **values)
            if saved >= 0.0
            else say("{amount} a load dearer, {yearly} a year", **values)
        )
        ends = None
        if saving is not None and saving.total is not None:
            ends = _turned(saving.total.times(result.loads_per_year), saved)
        yield _with_range(text, ends and say.money_span(*ends, result.currency), say)
    share = result.film_saved or 0.0
    values = {
        "share": say.percent(abs(share)),
        "mass": say.amount(chosen.film_mass_kg, "small_mass"),
        "today": say.amount(result.today.film_mass_kg, "small_mass"),
    }
    text = (
        say("{share} less film ({mass} instead of {today})", **values)
        if share >= 0.0
        else say("{share} more film ({mass} instead of {today})", **values)
    )
    ends = None if saving is None else _turned(saving.film_share, share)
    yield _with_range(text, ends and _percents(ends, say), say)
    held = say.percent(chosen.share_of_targets, 0)
    if not result.today.verdict.asked:
        yield say("{held} of what today's program holds", held=held)
        return
    today = say.percent(result.today.share_of_targets, 0)
    yield say("{held} of what is asked held instead of {today}", held=held, today=today)


def _turned(each: Estimate, value: float) -> tuple[float, float] | None:
    """Ends of a range, counted the way that the words go; None where nothing is known of it."""
    if each.low == each.high:
        return None
    return (each.low, each.high) if value >= 0.0 else (-each.high, -each.low)


def _percents(ends: tuple[float, float], say: Wording) -> str:
    return say("{low} to {high}", low=say.fixed(100.0 * ends[0], 1), high=say.percent(ends[1]))


def _with_range(text: str, ends: str | None, say: Wording) -> str:
    return say("{gain}, 90 % range {range}", gain=text, range=ends) if ends else text


def worth_blocks(result: DesignResult, say: Wording) -> Iterator[Block]:
    """Film, machine time and standstill that are saved: less film can cost more time than it saves.

    Args:
        result: the design; nothing where nothing better is chosen that holds.
        say: words and numbers.
    """
    saving, loads = result.saving, result.loads_per_year
    chosen = result.chosen
    if saving is None or chosen is None or chosen.verdict.fails or result.keep_today:
        return
    mass = saving.film_mass_kg.times(loads)
    rows = [(say("film"), say.amount(mass.value, "mass"), say.span(mass.low, mass.high, "mass"))]
    for name, label in _MONEY.items():
        each: Estimate | None = getattr(saving, name)
        if each is not None:
            money = each.times(loads)
            ends = say.money_span(money.low, money.high, result.currency)
            rows.append((say(label), say.money(money.value, result.currency), ends))
    yield Table(
        say("What is saved in a year of {loads} loads", loads=say.fixed(loads, 0)),
        (say("saved"), say("a year"), say("90 % range")),
        tuple(rows),
    )
    if saving.total is None:
        yield Paragraph(
            say(
                "The case states no price of machine time (plant.standstill_price), or not of"
                " every film, so a longer or shorter cycle, roll changes and breaks are not"
                " counted."
            )
        )
