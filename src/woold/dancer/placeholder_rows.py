"""What a dancer's study rests on that nobody measured, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from woold.prediction.result import RestsOn
from woold.rows.blocks import Block, Bullets, Heading, Table
from woold.rows.wording import Wording

__all__ = ["note_list", "placeholder_table"]


def placeholder_table(rests: Sequence[RestsOn], say: Wording, brief: Wording) -> Iterator[Block]:
    """Placeholders with their ranges; nothing where there are none."""
    if not rests:
        return
    caption = (
        say("Rests on one placeholder that nobody measured")
        if len(rests) == 1
        else say("Rests on {count} placeholders that nobody measured", count=len(rests))
    )
    yield Table(
        caption,
        (say("input"), say("value"), say("may lie in")),
        tuple(
            (
                each.field,
                brief.amount(each.value, each.kind),
                say("not known")
                if each.low is None or each.high is None
                else brief.span(each.low, each.high, each.kind),
            )
            for each in rests
        ),
    )


def note_list(heading: str, notes: Sequence[str], say: Wording) -> Iterator[Block]:
    """Sentences under a heading; nothing where there are none."""
    if notes:
        yield Heading(heading, 3)
        yield Bullets(tuple(say.sentence(each) for each in notes))
