"""What each input changes, in words."""

from __future__ import annotations

from collections.abc import Sequence

from woold.rows.blocks import Block, Bullets, Paragraph, Table
from woold.rows.wording import Wording
from woold.uncertainty.sensitivity import Effect

__all__ = ["effect_blocks"]


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
            told.span(each.low, each.high, each.kind),
            say("yes") if each.is_placeholder else say("no"),
            _changes(each.film_mass_low, each.film_mass_high, say),
            _changes(each.containment_low, each.containment_high, say),
            _shares(each, say),
        )
        for each in effects[:most]
    )
    heads = (
        say("input"),
        say("from, to"),
        say("placeholder"),
        say("film"),
        say("containment"),
        say("part of the spread"),
    )
    refused = tuple(
        say("{field} could not be moved that far: {reason}", field=each.field, reason=each.refused)
        for each in effects[:most]
        if each.refused
    )
    return [
        Paragraph(
            say(
                "The first lines are what to measure first: they are ranked by their part in the"
                " spread of film and of containment while all ranges vary together (inputs work"
                " together, so the parts add up to more than one). Beside it what each does alone:"
                " a placeholder over its range, any other number by 5 % down and up."
            )
        ),
        Table(
            say("Change of film per load and of the least containment force"),
            heads,
            rows,
            words=(0, 2),
            is_small=True,
        ),
        *([Bullets(refused)] if refused else []),
    ]


def _changes(low: float, high: float, say: Wording) -> str:
    """Two changes; 0 where nothing moves."""
    if max(abs(low), abs(high)) < 5e-4:
        return "0"
    signed = [f"{'+' if each > 0 else ''}{say.fixed(100.0 * each, 1)}" for each in (low, high)]
    return f"{signed[0]} / {signed[1]} %".replace(" ", "\N{NO-BREAK SPACE}")


def _shares(effect: Effect, say: Wording) -> str:
    """Parts in the spread of film and of containment."""
    if effect.film_mass_share is None or effect.containment_share is None:
        return ""
    parts = (effect.film_mass_share, effect.containment_share)
    return " / ".join(say.fixed(each, 2) for each in parts).replace(" ", "\N{NO-BREAK SPACE}")
