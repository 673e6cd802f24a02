"""A comparison of two carriages at a glance: does it hold, what it saves, what to do."""

from __future__ import annotations

from woold.carriages.comparison import CarriageComparison
from woold.rows.blocks import Row
from woold.rows.wording import Wording
from woold.verdict.rows import glance_rows

__all__ = ["comparison_glance"]


def comparison_glance(c: CarriageComparison, say: Wording) -> tuple[Row, Row, Row, Row]:
    """Whether the load holds with the candidate, its film, what it saves, and what to do.

    Args:
        c: the comparison.
        say: words and numbers.
    """
    holds, todo = glance_rows(c.candidate_verdict, say)
    label = say("does it hold with the candidate")
    cost = c.candidate.film_cost
    film = Row(
        say("film per load"),
        say.amount(c.candidate.film_mass_kg, "small_mass"),
        note=say(
            "{cost}instead of {base}",
            cost="" if cost is None else f"{say.fixed(cost, 3)} {c.currency}, ",
            base=say.amount(c.base.film_mass_kg, "small_mass"),
        ),
    )
    return Row(label, holds.value, note=holds.note), film, _saving(c, say), _todo(c, todo, say)


def _saving(c: CarriageComparison, say: Wording) -> Row:
    label = say("it saves")
    ends = say(
        "90 % range {low} to {high}",
        low=say.percent(c.saving_interval.low),
        high=say.percent(c.saving_interval.high),
    )
    if not c.is_saving:
        return Row(label, say("nothing"), note=say("what does not surely hold saves nothing"))
    if c.saving_interval.high <= 0.0:
        return Row(label, say("nothing"), note=say("it uses more film"))
    if c.saving_interval.low < 0.0:
        return Row(label, say("open"), note=ends)
    yearly = c.spending.cost_saved_per_year
    money = "" if yearly is None else say("{money} a year", money=say.money(yearly, c.currency))
    note = ends if not money else f"{money}; {ends}"
    return Row(label, say.percent(c.saving), note=note)


def _todo(c: CarriageComparison, mend: Row, say: Wording) -> Row:
    if not c.is_saving:
        return mend
    if c.saving_interval.low < 0.0 < c.saving_interval.high:
        text = say(
            "Measure one film width on a load with each carriage: that settles most of what is"
            " open."
        )
    elif c.saving_interval.high <= 0.0:
        text = say("Keep the base: the candidate needs more film for the same overlap and force.")
    elif c.candidate_verdict.asked:
        text = say("Put the candidate on the bench, then look for the program that suits it.")
    else:
        return mend
    return Row(mend.label, text)
