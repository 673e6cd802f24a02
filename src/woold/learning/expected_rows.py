"""What other trials let expect of one trial, in blocks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from woold.learning.expected_here import BesideExpected, ExpectedHere, ExpectedStep
from woold.learning.forecast import Forecast
from woold.learning.forecast_rows import measure_first_blocks, percent_span, saving_words
from woold.learning.versions import LearningVersion
from woold.prediction.yearly import Estimate
from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["came_to_be_blocks", "expected_blocks"]


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


def came_to_be_blocks(
    told: Forecast,
    latest: LearningVersion,
    earlier: Sequence[tuple[LearningVersion, Estimate | None]],
    say: Wording,
) -> Iterator[Block]:
    """How the answer of a forecast came to be, where there are earlier versions.

    Args:
        told: the forecast.
        latest: version that it rests on.
        earlier: the oldest first, each with its answer as `told` has it; None where it said
            nothing of such film and carriage.
        say: words and numbers.
    """
    if not earlier:
        return
    saving = told.saving
    before = told.film_mass_before_kg if saving is None else saving.before
    now = told.film_mass_kg if saving is None else saving.after
    steps = [(None, before), *earlier, (latest, now)]
    rows = []
    for version, each in steps:
        cells = (say("says nothing of it"), "")
        if each is not None and saving is not None:
            cells = say.percent(each.value), percent_span(each, say)
        elif each is not None:
            span = say.span(each.low, each.high, "small_mass")
            cells = say.amount(each.value, "small_mass"), span
        rows.append((_rests_on(version, say), *cells))
    what = say("film per load") if saving is None else say("saving")
    heads = (say("rests on"), what, say("nine of ten"))
    yield Table(say("How that came to be"), heads, tuple(rows), words=(0,))


def _rests_on(version: LearningVersion | None, say: Wording) -> str:
    if version is None:
        return say("ranges alone, before any trial")
    return say(
        "version {version}, {day}: {trials}",
        version=version.number,
        day=version.at[:10],
        trials=", ".join(version.trials),
    )


def _step(each: ExpectedStep, say: Wording) -> tuple[str, ...]:
    own = say("learnt from") if each.has_own else say("not among them")
    span = percent_span(each.saving, say)
    return _rests_on(each.version, say), say.percent(each.saving.value), span, own


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
