"""What stands beside a trial's film, in blocks: cycle time, breaks, stretch, prediction."""

from __future__ import annotations

from collections.abc import Iterator

from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.trial.analysis import Analysis
from woold.trial.compare import TrialInterval

__all__ = ["beside_blocks"]


def beside_blocks(a: Analysis, say: Wording) -> list[Block]:
    """What was measured beside the film.

    Args:
        a: the analysis.
        say: words and numbers.
    """
    blocks: list[Block] = []
    beside = tuple(_beside_rows(a, say))
    if beside:
        blocks.append(Facts(say("Besides"), beside))
    blocks.append(_stretch_table(a, say))
    blocks += [
        Paragraph(
            say(
                "Stretch, {treatment}: {finding}",
                treatment=say(each.treatment),
                finding=say.sentence(each.finding),
            )
        )
        for each in a.stretches
    ]
    if any(each.film_mass_kg is not None for each in a.predicted):
        blocks.append(_predicted_table(a, say))
    return blocks


def _ends(interval: TrialInterval, say: Wording, decimals: int) -> str:
    low, high = (
        say("no bound") if end is None else say.fixed(end, decimals)
        for end in (interval.low, interval.high)
    )
    return say("{low} to {high}", low=low, high=high)


def _beside_rows(a: Analysis, say: Wording) -> Iterator[Row]:
    if a.cycle_time is not None:
        yield Row(
            say("cycle time"),
            say(
                "{baseline} and {candidate}, ratio {ratio} (95 % interval {interval})",
                baseline=say.amount(a.cycle_time.baseline, "time"),
                candidate=say.amount(a.cycle_time.candidate, "time"),
                ratio=say.fixed(a.cycle_time.ratio, 3),
                interval=_ends(a.cycle_time.fieller, say, 3),
            ),
        )
    if a.breaks is not None:
        b = a.breaks
        yield Row(
            say("film breaks per 100 loads"),
            say(
                "{baseline} ({baseline_interval}) and {candidate} ({candidate_interval}), p {p}",
                baseline=say.fixed(b.baseline_per_100, 1),
                baseline_interval=_ends(b.baseline_interval, say, 1),
                candidate=say.fixed(b.candidate_per_100, 1),
                candidate_interval=_ends(b.candidate_interval, say, 1),
                p=say.fixed(b.p_differ, 3),
            ),
        )


def _stretch_table(a: Analysis, say: Wording) -> Table:
    def stretch(value: float | None, interval: TrialInterval | None = None) -> str:
        if value is None:
            return say("not read")
        text = say.amount(value, "elongation")
        if interval is None or interval.low is None or interval.high is None:
            return text
        ends = say.span(interval.low, interval.high, "elongation")
        return say("{value} ({interval})", value=text, interval=ends)

    rows = tuple(
        (
            say(each.treatment),
            stretch(each.prestretch_set),
            stretch(each.predicted),
            stretch(each.by_marks, each.by_marks_interval),
            stretch(each.by_mass, each.by_mass_interval),
        )
        for each in a.stretches
    )
    heads = (
        say("treatment"),
        say("pre-stretch set"),
        say("predicted on the load"),
        say("by marks"),
        say("by mass balance"),
    )
    return Table(say("Stretch on the load, by marks and by mass balance"), heads, rows)


def _predicted_table(a: Analysis, say: Wording) -> Table:
    def amount(value: float | None, kind: str) -> str:
        return say("not read") if value is None else say.amount(value, kind)

    rows = tuple(
        (
            say(each.treatment),
            amount(each.film_mass_kg, "small_mass"),
            amount(each.measured_film_mass_kg, "small_mass"),
            amount(each.film_width_on_load_m, "small_length"),
            amount(each.measured_film_width_m, "small_length"),
            str(each.placeholders),
        )
        for each in a.predicted
    )
    heads = (
        say("treatment"),
        say("film, predicted"),
        say("film, measured"),
        say("width, predicted"),
        say("width, measured"),
        say("placeholders behind it"),
    )
    return Table(say("Predicted beside measured"), heads, rows)
