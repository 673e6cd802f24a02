"""What each input changes, in words."""

from __future__ import annotations

from collections.abc import Sequence

from woold.prediction.plain_units import with_unit
from woold.rows.blocks import Block, Bullets, Paragraph, Table
from woold.rows.wording import Wording
from woold.uncertainty.sensitivity import Effect
from woold.uncertainty.spread import LAW
from woold.words import to_say

__all__ = ["RANGE_MEANING", "effect_blocks"]

RANGE_MEANING = to_say(
    "A range is taken for PERT: from end to end, its best guess the likeliest, and nothing beyond;"
    " that of a law is normal."
)


def effect_blocks(
    effects: Sequence[Effect], say: Wording, brief: Wording | None = None, most: int | None = None
) -> list[Block]:
    """What was changed and how, a table of what that does, and values that could not be tried.

    Args:
        effects: the largest first.
        say: words and numbers.
        brief: the same for the table, which may have less room.
        most: how many to show; all if not given.
    """
    told = brief or say
    rows = tuple(
        (
            each.field,
            with_unit(told.span(each.low, each.high, each.kind), each.field, each.kind)
            + ("*" if each.is_placeholder else ""),
            _changes(each.film_mass_low, each.film_mass_high, say),
            _changes(each.containment_low, each.containment_high, say),
            _shares(each, say),
        )
        for each in effects[:most]
    )
    heads = (
        say("input"),
        say("from, to"),
        say("film"),
        say("containment"),
        say("part of variance"),
    )
    refused = tuple(
        say("{field} could not be moved that far: {reason}", field=each.field, reason=each.refused)
        for each in effects[:most]
        if each.refused
    )
    return [
        Paragraph(
            say(
                "The first lines are what to measure first: they are ranked by the spread that each"
                " leaves of film or of containment while all ranges vary together. Its parts in the"
                " variance of film and of containment stand in the last column (inputs work"
                " together, so the parts add up to more than one), what each does alone before it:"
                " a placeholder (*, nobody measured it) over its range, any other number over the"
                " range that its origin states, or by 5 % down and up."
            )
        ),
        Table(
            say("Change of film per load and of the least containment force"),
            heads,
            rows,
            words=(0,),
            is_small=True,
        ),
        *([Bullets(refused)] if refused else []),
        *_law_block(effects, say),
    ]


def _law_block(effects: Sequence[Effect], say: Wording) -> list[Block]:
    """What to do about the law of neck-down, which is no input that anybody could look up."""
    law = next((each for each in effects if each.field == LAW), None)
    if law is None or not law.film_mass_share:
        return []
    return [
        Paragraph(
            say(
                "{field} is the error of the law of neck-down, {share} of the variance of film:"
                " measure one film width on a load, and it is gone.",
                field=LAW,
                share=say.percent(law.film_mass_share, 0),
            )
        )
    ]


def _changes(low: float, high: float, say: Wording) -> str:
    """Two changes; 0 where nothing moves."""
    if max(abs(low), abs(high)) < 5e-4:
        return "0"
    signed = [f"{'+' if each > 0 else ''}{say.fixed(100.0 * each, 1)}" for each in (low, high)]
    return f"{signed[0]}\N{NO-BREAK SPACE}/ {signed[1]} %"


def _shares(effect: Effect, say: Wording) -> str:
    """Parts in the spread of film and of containment."""
    if effect.film_mass_share is None or effect.containment_share is None:
        return ""
    parts = (effect.film_mass_share, effect.containment_share)
    return "\N{NO-BREAK SPACE}/ ".join(say.fixed(each, 2) for each in parts)
