"""What other trials let expect of one trial, in blocks."""

from __future__ import annotations

from collections.abc import Iterator

from woold.learning.expected_here import BesideExpected, ExpectedHere, ExpectedStep
from woold.learning.forecast_rows import measure_first_blocks, percent_span, saving_words
from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["expected_blocks"]


_SAVES = to_say(
    "Expected of a further site with this trial's cases: {saving} of the film saved, most"
    " likely; nine of ten savings lie between {low} and {high}."
)
_TAKES_MORE = to_say(
    "Expected of a further site with this trial's cases: {more} more film, most likely;"
    " nine of ten savings lie between {low} and {high}."
)


def expected_blocks(found: ExpectedHere, say: Wording) -> Iterator[Block]:
    """The interval now, how it came to be, and what to measure next.

    Args:
        found: what is expected of the trial.
        say: words and numbers.
    """
    now = found.steps[-1]
    answer = saving_words(now.saving, _SAVES, _TAKES_MORE, say)
    yield Paragraph(answer, is_strong=True)
    if now.has_own:
        yield Paragraph(
            say("It rests on this trial's own loads too: it is no second witness of them.")
        )
    yield Table(
        say("How that came to be"),
        (say("rests on"), say("saving"), say("nine of ten"), say("this trial's own loads")),
        tuple(_step(each, say) for each in found.steps),
        words=(0, 3),
    )
    if found.beside is not None:
        yield from _beside(found.beside, say)
    yield from measure_first_blocks(found.next, say)


def _step(each: ExpectedStep, say: Wording) -> tuple[str, ...]:
    version = each.version
    rests_on = (
        say("ranges alone, before any trial")
        if version is None
        else say(
            "version {version}, {day}: {trials}",
            version=version.number,
            day=version.at[:10],
            trials=", ".join(version.trials),
        )
    )
    own = say("learnt from") if each.has_own else say("not among them")
    return rests_on, say.percent(each.saving.value), percent_span(each.saving, say), own


def _beside(found: BesideExpected, say: Wording) -> Iterator[Block]:
    rows = (
        Row(
            say("Measured here so far"),
            say.percent(found.measured.value),
            percent_span(found.measured, say),
        ),
        Row(
            say("Expected of what is measured here"),
            say.percent(found.expected.value),
            percent_span(found.expected, say),
        ),
    )
    yield Facts(say("This trial beside what the others let expect"), rows)
    yield Paragraph(
        say("What was measured here lies within what the other trials let expect.")
        if found.is_inside
        else say(
            "What was measured here lies outside of what the other trials let expect: look for the"
            " cause before it is used."
        )
    )
