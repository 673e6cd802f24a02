"""The results of a trial as tables: film, load types, containment, stretch, prediction beside."""

from __future__ import annotations

from collections.abc import Iterator

from woold.report.model import Block, Facts, Paragraph, Table
from woold.report.voice import Voice
from woold.trial.analysis import Analysis
from woold.trial.compare import Interval, Joint
from woold.trial.setup import TrialSetup

__all__ = ["comparison_blocks", "span", "trial_loads"]


def span(interval: Interval, say: Voice, decimals: int = 3) -> str:
    """An interval in words; an end that is not bounded says so."""
    ends = (
        say("trial.unbounded") if end is None else say.fixed(end, decimals)
        for end in (interval.low, interval.high)
    )
    low, high = ends
    return say("word.range", low=low, high=high)


def trial_loads(setup: TrialSetup, a: Analysis) -> float:
    """Loads wrapped in a year of the load types that were compared."""
    return a.film.mix_covered * sum(each.loads_per_year for each in setup.trial.load_types)


def comparison_blocks(a: Analysis, say: Voice) -> list[Block]:
    """Every result of the analysis, film first.

    Args:
        a: the analysis.
        say: words and numbers.
    """
    blocks: list[Block] = [Facts(say("trial.film_caption"), tuple(_film_rows(a, say)))]
    if len(a.by_type) > 1:
        blocks.append(_type_table(a, say))
    if a.containment:
        blocks += [_zone_table(a, say), Paragraph(say("trial.pull_note"))]
    if a.joint is not None:
        caption = say("trial.joint_caption", zone=a.joint.zone)
        blocks.append(Facts(caption, tuple(_joint_rows(a.joint, say))))
    beside = tuple(_beside_rows(a, say))
    if beside:
        blocks.append(Facts(say("trial.beside_caption"), beside))
    blocks.append(_stretch_table(a, say))
    blocks += [
        Paragraph(say("trial.stretch_finding", arm=each.arm, finding=say.sentence(each.finding)))
        for each in a.stretches
    ]
    if any(each.film_mass_kg is not None for each in a.predicted):
        blocks.append(_predicted_table(a, say))
    return blocks


def _p_value(p: float, say: Voice) -> str:
    return say("trial.p_equals", p=say.fixed(p, 4)) if p >= 0.0001 else say("trial.p_below")


def _film_rows(a: Analysis, say: Voice) -> Iterator[tuple[str, str]]:
    film = a.film
    for arm, mean, loads in (
        ("baseline", film.baseline, film.baseline_loads),
        ("candidate", film.candidate, film.candidate_loads),
    ):
        mass = say.amount(mean, "small_mass")
        yield say(f"trial.{arm}"), say("trial.mean_of", mass=mass, loads=loads)
    yield (
        say("trial.ratio"),
        say(
            "trial.ratio_and_saving",
            ratio=say.fixed(film.ratio, 4),
            saving=say.percent(1.0 - film.ratio),
        ),
    )
    intervals = [film.fieller, film.log_ratio, *([film.bootstrap] if film.bootstrap else [])]
    for interval in intervals:
        yield say("trial.interval_by", method=interval.method), span(interval, say, 4)
    if a.predicted_ratio is not None:
        yield say("trial.ratio_predicted"), say.fixed(a.predicted_ratio, 4)


def _type_table(a: Analysis, say: Voice) -> Table:
    rows = tuple(
        (
            each.load_type,
            say.percent(each.mix_share, 0),
            f"{each.baseline_loads} + {each.candidate_loads}",
            say.amount(each.baseline_kg, "small_mass"),
            say.amount(each.candidate_kg, "small_mass"),
            say.fixed(each.ratio, 3),
            say("trial.one_load") if each.interval is None else span(each.interval, say),
        )
        for each in a.by_type
    )
    names = ("load_type", "share", "loads", "baseline", "candidate", "ratio", "interval")
    heads = tuple(say(f"trial.{name}") for name in names)
    return Table(say("trial.by_type"), heads, rows, is_small=True)


def _zone_table(a: Analysis, say: Voice) -> Table:
    rows = tuple(
        (
            each.zone,
            say.amount(each.baseline_n, "force"),
            say.amount(each.candidate_n, "force"),
            say.fixed(each.ratio, 3),
            span(each.interval, say),
            say(
                "trial.shown" if each.is_not_lower else "trial.not_shown",
                p=_p_value(each.p_not_lower, say),
            ),
        )
        for each in a.containment
    )
    names = ("zone", "baseline", "candidate", "zone_ratio", "interval", "not_lower")
    heads = tuple(say(f"trial.{name}") for name in names)
    margin = say.percent(a.containment[0].margin)
    return Table(say("trial.zones_caption", margin=margin), heads, rows)


def _joint_rows(joint: Joint, say: Voice) -> Iterator[tuple[str, str]]:
    for key, ratio, interval in (
        (
            "trial.film_at_equal_hold",
            joint.film_at_equal_containment,
            joint.equal_containment_interval,
        ),
        (
            "trial.hold_at_equal_film",
            joint.containment_at_equal_film,
            joint.equal_film_interval,
        ),
    ):
        ends = span(interval, say)
        yield say(key), say("trial.of_baseline", ratio=say.fixed(ratio, 3), interval=ends)
    yield (
        say("trial.both"),
        say(
            "trial.both_intervals",
            film=span(joint.film_interval, say),
            hold=span(joint.containment_interval, say),
        ),
    )


def _beside_rows(a: Analysis, say: Voice) -> Iterator[tuple[str, str]]:
    if a.cycle_time is not None:
        yield (
            say("time.cycle"),
            say(
                "trial.two_means",
                baseline=say.amount(a.cycle_time.baseline, "time"),
                candidate=say.amount(a.cycle_time.candidate, "time"),
                ratio=say.fixed(a.cycle_time.ratio, 3),
                interval=span(a.cycle_time.fieller, say),
            ),
        )
    if a.breaks is not None:
        b = a.breaks
        yield (
            say("trial.breaks"),
            say(
                "trial.break_rates",
                baseline=say.fixed(b.baseline_per_100, 1),
                baseline_interval=span(b.baseline_interval, say, 1),
                candidate=say.fixed(b.candidate_per_100, 1),
                candidate_interval=span(b.candidate_interval, say, 1),
                p=say.fixed(b.p_differ, 3),
            ),
        )


def _stretch_table(a: Analysis, say: Voice) -> Table:
    def stretch(value: float | None, interval: Interval | None = None) -> str:
        if value is None:
            return say("trial.not_read")
        text = say.amount(value, "elongation")
        if interval is None or interval.low is None or interval.high is None:
            return text
        ends = say.span(interval.low, interval.high, "elongation")
        return say("trial.value_and_interval", value=text, interval=ends)

    rows = tuple(
        (
            each.arm,
            stretch(each.prestretch_set),
            stretch(each.predicted),
            stretch(each.by_marks, each.by_marks_interval),
            stretch(each.by_mass, each.by_mass_interval),
        )
        for each in a.stretches
    )
    names = ("arm", "prestretch_set", "predicted", "by_marks", "by_mass")
    heads = tuple(say(f"trial.{name}") for name in names)
    return Table(say("trial.stretches"), heads, rows)


def _predicted_table(a: Analysis, say: Voice) -> Table:
    def amount(value: float | None, kind: str) -> str:
        return say("trial.not_read") if value is None else say.amount(value, kind)

    rows = tuple(
        (
            each.arm,
            amount(each.film_mass_kg, "small_mass"),
            amount(each.measured_film_mass_kg, "small_mass"),
            amount(each.film_width_on_load_m, "small_length"),
            amount(each.measured_film_width_m, "small_length"),
            str(each.placeholders),
        )
        for each in a.predicted
    )
    names = (
        "arm", "mass_predicted", "mass_measured", "width_predicted", "width_measured",
        "placeholders",
    )  # fmt: skip
    heads = tuple(say(f"trial.{name}") for name in names)
    return Table(say("trial.predicted_caption"), heads, rows)
