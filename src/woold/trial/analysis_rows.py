"""A trial's analysis in blocks, for terminal, report and page alike: verdict, progress, film."""

from __future__ import annotations

from collections.abc import Iterator

from woold.rows.blocks import Block, Bullets, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.trial.analysis import Analysis
from woold.trial.assumption_rows import assumption_blocks
from woold.trial.beside_rows import beside_blocks
from woold.trial.compare import TrialInterval
from woold.trial.equal_hold import EqualHold
from woold.trial.progress import TrialProgress

__all__ = [
    "analysis_blocks",
    "comparison_blocks",
    "number_blocks",
    "progress_blocks",
    "span",
    "verdict_blocks",
]


def span(interval: TrialInterval, say: Wording, decimals: int = 3) -> str:
    """An interval in words; an end that is not bounded says so."""
    ends = (
        say("no bound") if end is None else say.fixed(end, decimals)
        for end in (interval.low, interval.high)
    )
    low, high = ends
    return say("{low} to {high}", low=low, high=high)


def analysis_blocks(a: Analysis, say: Wording) -> list[Block]:
    """The whole analysis, verdict first.

    Args:
        a: the analysis.
        say: words and numbers.
    """
    return [
        *verdict_blocks(a, say),
        *number_blocks(a, say),
    ]


def number_blocks(a: Analysis, say: Wording) -> list[Block]:
    """What stands below the verdict: progress, comparisons, assumptions."""
    return [
        *progress_blocks(a.progress, say),
        *comparison_blocks(a, say),
        *assumption_blocks(a, say),
    ]


def verdict_blocks(a: Analysis, say: Wording) -> list[Block]:
    """What may be said: a sentence for the technician, then how it was found and what limits it."""
    below = (*a.verdict.method, *a.verdict.reservations)
    return [
        Paragraph(say.sentence(a.verdict.sentence), is_strong=True),
        Bullets(tuple(say.sentence(each) for each in below)),
    ]


def progress_blocks(progress: TrialProgress, say: Wording) -> list[Block]:
    """How far the trial has come; nothing where no plan is kept."""
    if progress.loads_planned is None:
        return []
    blocks: list[Block] = [Facts(say("How far the trial has come"), tuple(_far(progress, say)))]
    if len(progress.looks) > 1:
        columns = (
            say("look"),
            say("with load"),
            say("share of the plan"),
            say("decides beyond, standard errors"),
            say("one-sided p"),
            say("reached"),
        )
        rows = tuple(
            (
                str(each.number),
                str(each.loads),
                say.percent(each.share, 0),
                say.fixed(each.limit, 2),
                say.fixed(each.p, 5),
                say("yes") if each.number <= progress.look else say("no"),
            )
            for each in progress.looks
        )
        blocks.append(Table(say("Looks"), columns, rows))
    return blocks


def _far(progress: TrialProgress, say: Wording) -> Iterator[Row]:
    yield Row(
        say("loads weighed"),
        say(
            "{weighed} of {planned} planned loads",
            weighed=progress.loads_weighed,
            planned=progress.loads_planned,
        ),
    )
    if progress.next_look_loads is not None:
        yield Row(say("next look"), say("at load {load}", load=progress.next_look_loads))
    if progress.pulls_missing is not None:
        yield Row(
            say("pull readings missing"),
            say("{share} of the loads, in a zone", share=say.percent(progress.pulls_missing, 0)),
        )
    if progress.chance is not None:
        yield Row(
            say("chance of showing both by the end"),
            say(
                "{chance} or more, with the spreads and the missing readings so far",
                chance=say.percent(min(progress.chance, 0.99), 0),
            ),
        )


def comparison_blocks(a: Analysis, say: Wording) -> list[Block]:
    """Every result of the analysis, film at equal hold first.

    Args:
        a: the analysis.
        say: words and numbers.
    """
    blocks: list[Block] = []
    if a.equal_hold is not None:
        caption = say(
            "Film and hold together (hold: mean of the zones {zones}, taken as proportional to"
            " film)",
            zones=", ".join(a.equal_hold.zones),
        )
        blocks.append(Facts(caption, tuple(_equal_hold_rows(a.equal_hold, say))))
    blocks.append(
        Facts(say("Film per load, weighted by a year's load types"), tuple(_film_rows(a, say)))
    )
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
    return [*blocks, *beside_blocks(a, say)]


def _equal_hold_rows(found: EqualHold, say: Wording) -> Iterator[Row]:
    for label, ratio, interval in (
        (say("film at equal hold"), found.film_at_equal_hold, found.interval),
        (say("hold at equal film"), found.hold_at_equal_film, found.hold_at_equal_film_interval),
        (say("hold as wrapped"), found.hold_ratio, found.hold_interval),
    ):
        yield Row(
            label,
            say(
                "{ratio} of the baseline (95 % interval {interval})",
                ratio=say.fixed(ratio, 3),
                interval=span(interval, say),
            ),
        )
    yield Row(
        say("film to hold as much in every single zone"),
        say("at most {ratio} of the baseline", ratio=say.fixed(found.film_in_every_zone_limit, 3)),
        note=say("{share} limit", share=say.percent(0.975)),
    )
    if found.zone_correlation is not None:
        yield Row(say("correlation of the zones"), say.fixed(found.zone_correlation, 2))


def _p_value(p: float, say: Wording) -> str:
    if p >= 0.0001:
        return say("p {p}", p=say.fixed(p, 4))
    return say("p below {limit}", limit=say.fixed(0.0001, 4))


def _as_wrapped(ratio: float, say: Wording) -> str:
    shown, share = say.fixed(ratio, 4), say.percent(abs(1.0 - ratio))
    if ratio > 1.0:
        return say(
            "{ratio} of the baseline, {share} more film as wrapped", ratio=shown, share=share
        )
    return say("{ratio} of the baseline, {share} less film as wrapped", ratio=shown, share=share)


def _film_rows(a: Analysis, say: Wording) -> Iterator[Row]:
    film = a.film
    for label, mean, loads in (
        (say("baseline"), film.baseline, film.baseline_loads),
        (say("candidate"), film.candidate, film.candidate_loads),
    ):
        mass = say.amount(mean, "small_mass")
        yield Row(label, say("{mass}, mean of {loads} loads", mass=mass, loads=loads))
    yield Row(
        say("film ratio"),
        _as_wrapped(film.ratio, say),
    )
    for interval in (film.fieller, film.log_ratio, film.bootstrap):
        if interval is not None:
            yield Row(
                say("95 % interval of the ratio, {method}", method=interval.method),
                span(interval, say, 4),
            )
    if a.film_without_outliers is not None:
        without = a.film_without_outliers
        yield Row(
            say("without loads that may stand apart"),
            say(
                "{ratio} (95 % interval {interval})",
                ratio=say.fixed(without.ratio, 4),
                interval=span(without.fieller, say, 4),
            ),
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
    heads = (
        say("load type"),
        say("share of a year"),
        say("loads"),
        say("baseline"),
        say("candidate"),
        say("film ratio"),
        say("95 % interval"),
    )
    return Table(say("Film by load type"), heads, rows, is_small=True)


def _zone_table(a: Analysis, say: Wording) -> Table:
    rows = tuple(
        (
            each.zone,
            say.amount(each.baseline_n, "force"),
            say.amount(each.candidate_n, "force"),
            say.fixed(each.ratio, 3),
            span(each.interval, say),
            say("shown ({p})", p=_p_value(each.p_not_lower, say))
            if each.is_not_lower
            else say("not shown ({p})", p=_p_value(each.p_not_lower, say)),
        )
        for each in a.containment
    )
    heads = (
        say("zone"),
        say("baseline"),
        say("candidate"),
        say("ratio"),
        say("95 % interval"),
        say("not lower by the margin"),
    )
    margin = say.percent(a.containment[0].margin)
    return Table(
        say("Pull readings by zone, candidate over baseline (margin {margin})", margin=margin),
        heads,
        rows,
    )
