"""What nobody measured, in words: the inputs with their values, ranges and origins."""

from __future__ import annotations

from collections.abc import Sequence

from woold.prediction.plain_units import with_unit
from woold.prediction.result import RestsOn
from woold.rows.blocks import Block, Paragraph, Table
from woold.rows.wording import Wording

__all__ = ["placeholder_rows"]


def placeholder_rows(
    rests_on: Sequence[RestsOn], say: Wording, brief: Wording | None = None
) -> list[Block]:
    """A sentence on a result's placeholders, and a table of them.

    Args:
        rests_on: the placeholders.
        say: words and numbers.
        brief: the same for the table, which may have less room.
    """
    if not rests_on:
        return [Paragraph(say("Every input was measured or stated; no placeholder was used."))]
    told = brief or say
    rows = tuple(
        (
            each.field,
            with_unit(told.amount(each.value, each.kind), each.field, each.kind),
            say("not known")
            if each.low is None or each.high is None
            else with_unit(told.span(each.low, each.high, each.kind), each.field, each.kind),
            each.origin,
        )
        for each in rests_on
    )
    heads = (say("input"), say("value"), say("may lie in"), say("where it is from"))
    if len(rests_on) == 1:
        sentence = say(
            "One input was measured by nobody here. It may lie anywhere in its range; measure it"
            " first."
        )
    else:
        sentence = say(
            "{count} inputs were measured by nobody here. Each may lie anywhere in its"
            " range; measure first what changes the result most.",
            count=len(rests_on),
        )
    return [
        Paragraph(sentence),
        Table(say("Inputs that nobody measured"), heads, rows, words=(0, 3), is_small=True),
        *_asked_origins(rests_on, say),
    ]


def _asked_origins(rests_on: Sequence[RestsOn], say: Wording) -> list[Block]:
    """Asks for the origin of each value that was typed without one."""
    typed = [each for each in rests_on if each.is_typed]
    if not typed:
        return []
    return [
        Paragraph(
            say(
                "Typed without saying where from: {fields}. If you measured one of them, say so"
                " beside its value (its origin), and from low to high how far it may be off if"
                " you know. Then its range here no longer counts.",
                fields=", ".join(each.field for each in typed),
            )
        )
    ]
