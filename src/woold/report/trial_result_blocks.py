"""The results of a trial as tables: film, load types, containment, stretch, prediction beside."""

from __future__ import annotations

from collections.abc import Iterator

from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.trial.analysis import Analysis
from woold.trial.compare import FilmAndHold, TrialInterval
from woold.trial.setup import TrialSetup
from woold.words import to_say

__all__ = ["comparison_blocks", "span", "trial_loads"]


def span(interval: TrialInterval, say: Wording, decimals: int = 3) -> str:
    """An interval in words; an end that is not bounded says so."""
    ends = (
        say("no bound") if end is None else say.fixed(end, decimals)
        for end in (interval.low, interval.high)
    )
    low, high = ends
    return say("{low} to {high}", low=low, high=high)


def trial_loads(setup: TrialSetup, a: Analysis) -> float:
    """Loads wrapped in a year of the load types that were compared."""
    return a.film.mix_covered * sum(each.loads_per_year for each in setup.trial.load_types)


def comparison_blocks(a: Analysis, say: Wording) -> list[Block]:
    """Every result of the analysis, film first.

    Args:
        a: the analysis.
        say: words and numbers.
    """
    blocks: list[Block] = [
        Facts(say("Film per load, weighted by a year's load types"), tuple(_film_rows(a, say)))
    ]
    if len(a.by_type) > 1:
        blocks.append(_type_table(a, say))
    if a.containment:
        blocks += [
            _zone_table(a, say),
            Paragraph(
                say(
                    "A pull reading mixes tension and stiffness: it checks quality and does"
                    " not predict survival in transit."
                )
            ),
        ]
    if a.joint is not None:
        caption = say(
            "Two ways to spend a saving ({zone} zone, where the candidate does worst;"
            " containment taken as proportional to film)",
            zone=a.joint.zone,
        )
        blocks.append(Facts(caption, tuple(_joint_rows(a.joint, say))))
    beside = tuple(_beside_rows(a, say))
    if beside:
        blocks.append(Facts(say("Besides"), beside))
    blocks.append(_stretch_table(a, say))
    blocks += [
        Paragraph(
            say(
                "Stretch, {treatment}: {finding}",
                treatment=each.treatment,
                finding=say.sentence(each.finding),
            )
        )
        for each in a.stretches
    ]
    if any(each.film_mass_kg is not None for each in a.predicted):
        blocks.append(_predicted_table(a, say))
    return blocks


def _p_value(p: float, say: Wording) -> str:
    return say("p {p}", p=say.fixed(p, 4)) if p >= 0.0001 else say("p below 0.0001")


def _film_rows(a: Analysis, say: Wording) -> Iterator[Row]:
    film = a.film
    for treatment, mean, loads in (
        (to_say("baseline"), film.baseline, film.baseline_loads),
        (to_say("candidate"), film.candidate, film.candidate_loads),
    ):
        mass = say.amount(mean, "small_mass")
        yield Row(say(treatment), say("{mass}, mean of {loads} loads", mass=mass, loads=loads))
    yield Row(
        say("film ratio"),
        say(
            "{ratio} of the baseline: a saving of {saving}",
            ratio=say.fixed(film.ratio, 4),
            saving=say.percent(1.0 - film.ratio),
        ),
    )
    intervals = [film.fieller, film.log_ratio, *([film.bootstrap] if film.bootstrap else [])]
    for interval in intervals:
        yield Row(
            say("95 % interval of the ratio, {method}", method=interval.method),
            span(interval, say, 4),
        )
    if a.predicted_ratio is not None:
        yield Row(say("film ratio predicted by the cases"), say.fixed(a.predicted_ratio, 4))


def _type_table(a: Analysis, say: Wording) -> Table:
    rows = tuple(
        (
            each.load_type,
            say.percent(each.mix_share, 0),
            f"{each.baseline_loads} + {each.candidate_loads}",
            say.amount(each.baseline_kg, "small_mass"),
            say.amount(each.candidate_kg, "small_mass"),
            say.fixed(each.ratio, 3),
            say("one load") if each.interval is None else span(each.interval, say),
        )
        for each in a.by_type
    )
    names = (
        to_say("load type"),
        to_say("share of a year"),
        to_say("loads"),
        to_say("baseline"),
        to_say("candidate"),
        to_say("film ratio"),
        to_say("95 % interval"),
    )
    heads = tuple(say(name) for name in names)
    return Table(say("Film by load type"), heads, rows, is_small=True)


def _zone_table(a: Analysis, say: Wording) -> Table:
    rows = tuple(
        (
            each.zone,
            say.amount(each.baseline_n, "force"),
            say.amount(each.candidate_n, "force"),
            say.fixed(each.ratio, 3),
            span(each.interval, say),
            say(
                to_say("shown ({p})") if each.is_not_lower else to_say("not shown ({p})"),
                p=_p_value(each.p_not_lower, say),
            ),
        )
        for each in a.containment
    )
    names = (
        to_say("zone"),
        to_say("baseline"),
        to_say("candidate"),
        to_say("ratio"),
        to_say("95 % interval"),
        to_say("not lower by the margin"),
    )
    heads = tuple(say(name) for name in names)
    margin = say.percent(a.containment[0].margin)
    return Table(
        say("Pull readings by zone, candidate over baseline (margin {margin})", margin=margin),
        heads,
        rows,
    )


def _joint_rows(joint: FilmAndHold, say: Wording) -> Iterator[Row]:
    for key, ratio, interval in (
        (
            to_say("film at equal containment"),
            joint.film_at_equal_containment,
            joint.equal_containment_interval,
        ),
        (
            to_say("containment at equal film"),
            joint.containment_at_equal_film,
            joint.equal_film_interval,
        ),
    ):
        ends = span(interval, say)
        yield Row(
            say(key),
            say(
                "{ratio} of the baseline (95 % interval {interval})",
                ratio=say.fixed(ratio, 3),
                interval=ends,
            ),
        )
    yield Row(
        say("both together, 95 %"),
        say(
            "film {film}, containment {hold}",
            film=span(joint.film_interval, say),
            hold=span(joint.containment_interval, say),
        ),
    )


def _beside_rows(a: Analysis, say: Wording) -> Iterator[Row]:
    if a.cycle_time is not None:
        yield Row(
            say("cycle time"),
            say(
                "{baseline} and {candidate}, ratio {ratio} (95 % interval {interval})",
                baseline=say.amount(a.cycle_time.baseline, "time"),
                candidate=say.amount(a.cycle_time.candidate, "time"),
                ratio=say.fixed(a.cycle_time.ratio, 3),
                interval=span(a.cycle_time.fieller, say),
            ),
        )
    if a.breaks is not None:
        b = a.breaks
        yield Row(
            say("film breaks per 100 loads"),
            say(
                "{baseline} ({baseline_interval}) and {candidate} ({candidate_interval}), p {p}",
                baseline=say.fixed(b.baseline_per_100, 1),
                baseline_interval=span(b.baseline_interval, say, 1),
                candidate=say.fixed(b.candidate_per_100, 1),
                candidate_interval=span(b.candidate_interval, say, 1),
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
            each.treatment,
            stretch(each.prestretch_set),
            stretch(each.predicted),
            stretch(each.by_marks, each.by_marks_interval),
            stretch(each.by_mass, each.by_mass_interval),
        )
        for each in a.stretches
    )
    names = (
        to_say("treatment"),
        to_say("pre-stretch set"),
        to_say("predicted on the load"),
        to_say("by marks"),
        to_say("by mass balance"),
    )
    heads = tuple(say(name) for name in names)
    return Table(say("Stretch on the load, by marks and by mass balance"), heads, rows)


def _predicted_table(a: Analysis, say: Wording) -> Table:
    def amount(value: float | None, kind: str) -> str:
        return say("not read") if value is None else say.amount(value, kind)

    rows = tuple(
        (
            each.treatment,
            amount(each.film_mass_kg, "small_mass"),
            amount(each.measured_film_mass_kg, "small_mass"),
            amount(each.film_width_on_load_m, "small_length"),
            amount(each.measured_film_width_m, "small_length"),
            str(each.placeholders),
        )
        for each in a.predicted
    )
    names = (
        to_say("treatment"),
        to_say("film, predicted"),
        to_say("film, measured"),
        to_say("width, predicted"),
        to_say("width, measured"),
        to_say("placeholders behind it"),
    )
    heads = tuple(say(name) for name in names)
    return Table(say("Predicted beside measured"), heads, rows)
