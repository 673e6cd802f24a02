"""The report of two film carriages on one load: what the candidate saves, why, how sure that is."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from woold.carriages.compare import CarriageArm, Comparison
from woold.case.model import Case
from woold.pictures.carriage_drawing import comparison_figure
from woold.prediction.film_on_load import lacing_of
from woold.prediction.yearly import Estimate
from woold.report.making import (
    Making,
    closing_blocks,
    finding_blocks,
    finished,
    input_table,
    placeholder_blocks,
)
from woold.report.model import Block, Bullets, Figure, Heading, Paragraph, Report, Table
from woold.report.money_blocks import saving_blocks
from woold.report.prediction_report import prediction_sources
from woold.report.prediction_rows import overlap_text
from woold.report.svg import figure_svg
from woold.report.voice import Voice

__all__ = ["carriages_report"]


def carriages_report(
    base: Case,
    candidate: Case,
    comparison: Comparison,
    making: Making,
    with_figures: bool = True,
) -> Report:
    """The report of a comparison of two carriages.

    Args:
        base, candidate: the two cases; of the candidate only the carriage counts.
        comparison: of these two.
        making: how the report is made.
        with_figures: draw both carriages and the saving.
    """
    say = making.say
    c = comparison
    saved = c.base.film_mass_kg
    per_load = Estimate(
        c.saving * saved, c.saving_interval.low * saved, c.saving_interval.high * saved
    )
    blocks: list[Block] = [
        Paragraph(_answer(c, say), is_strong=True),
        Paragraph(say("carriages.titles", base=c.base.title, candidate=c.candidate.title)),
        *finding_blocks(c.warnings, say),
        Heading(say("result.heading")),
    ]
    if with_figures:
        paths = (lacing_of(base).path, lacing_of(candidate).path)
        svg = figure_svg(comparison_figure(c, paths, say.units), "carriages", say)
        alt = say("picture.carriages_alt", answer=_answer(c, say))
        blocks.append(Figure(svg, say("picture.carriages"), alt))
    swapped = base.with_section_of("carriage", candidate)
    blocks += [
        _arm_table(c, say),
        _cause_table(c, say),
        _spending_table(c, say),
        *saving_blocks(swapped, per_load, making.made_at.date(), say),
        *placeholder_blocks(c.rests_on, say),
        Heading(say("method.heading")),
        Bullets(tuple(say(f"carriages.{key}") for key in ("same", "causes", "spend"))),
        Paragraph(_draws_text(c, say)),
        Heading(say("appendix.heading")),
        input_table(base, say("carriages.base_inputs"), say),
        input_table(swapped, say("carriages.candidate_inputs"), say, only="carriage."),
        *closing_blocks(making, prediction_sources(base), c.cautions),
    ]
    return finished("carriages", base.title, blocks, making)


def _answer(c: Comparison, say: Voice) -> str:
    low, high = sorted((abs(c.saving_interval.low), abs(c.saving_interval.high)))
    if c.saving_interval.low >= 0.0:
        key = "carriages.less"
    elif c.saving_interval.high <= 0.0:
        key = "carriages.more"
    else:
        return say(
            "carriages.open",
            low=say.percent(c.saving_interval.low),
            high=say.percent(c.saving_interval.high),
            share=say.percent(c.candidate_uses_less_share, 0),
        )
    return say(key, saving=say.percent(abs(c.saving)), low=say.percent(low), high=say.percent(high))


def _arm_table(c: Comparison, say: Voice) -> Table:
    def row(label: str, text: Callable[[CarriageArm], str]) -> tuple[str, str, str]:
        return say(label), text(c.base), text(c.candidate)

    def amount(label: str, name: str, kind: str) -> tuple[str, str, str]:
        return row(label, lambda arm: say.amount(getattr(arm, name), kind))

    rows = [
        amount("film.per_load", "film_mass_kg", "small_mass"),
        amount("film.length", "film_length_m", "film_length"),
        amount("carriages.geared", "prestretch_geared", "elongation"),
        amount("film.prestretch_delivered", "prestretch_delivered", "elongation"),
        row("carriages.governs", lambda arm: arm.prestretch_governed_by),
        row("carriages.margin_slow", lambda arm: say.percent(arm.grip_margin_slow, 0)),
        row("carriages.margin_fast", lambda arm: say.percent(arm.grip_margin_fast, 0)),
        amount("carriages.gap", "gap_m", "small_length"),
        amount("carriages.contact", "contact_angle_rad", "angle"),
        amount("film.stretch_on_load", "stretch_on_load", "elongation"),
        amount("film.width", "film_width_on_load_m", "small_length"),
        amount("film.neck_down", "neck_down_m", "small_length"),
        amount("hold.rise", "rise_per_turn_m", "small_length"),
        row(
            "hold.overlap",
            lambda arm: overlap_text(arm.overlap_up, arm.film_width_on_load_m, say),
        ),
        row("parts.turns", lambda arm: say.fixed(arm.turns, 1)),
        amount("time.cycle", "cycle_time_s", "time"),
        row("height.layers", lambda arm: say.number(arm.layers_min, 2)),
        amount("hold.force_now", "containment_min_n", "force"),
    ]
    columns = (say("carriages.measure"), say("carriages.base"), say("carriages.candidate"))
    return Table(say("carriages.side_by_side"), columns, tuple(rows))


def _cause_table(c: Comparison, say: Voice) -> Table:
    rows = tuple(
        (
            cause.cause,
            say.percent(cause.alone),
            say.percent(cause.share),
            say(
                "word.range",
                low=say.percent(cause.interval.low),
                high=say.percent(cause.interval.high),
            ),
        )
        for cause in c.causes
    )
    columns = ("cause", "alone", "share", "interval")
    heads = tuple(say(f"carriages.{name}") for name in columns)
    return Table(say("carriages.by_cause"), heads, rows)


def _spending_table(c: Comparison, say: Voice) -> Table:
    def rows() -> Iterator[tuple[str, str]]:
        s = c.spending
        yield say("carriages.saved"), say.amount(s.film_saved_kg, "small_mass")
        yield say("carriages.extra_turns"), say.fixed(s.extra_turns, 1)
        if s.overlap_at_equal_film is not None:
            width = c.candidate.film_width_on_load_m
            overlap = overlap_text(s.overlap_at_equal_film, width, say)
            yield say("carriages.overlap_at_equal_film"), overlap
        if s.layers_mean_at_equal_film is not None:
            yield say("carriages.layers_at_equal_film"), say.fixed(s.layers_mean_at_equal_film, 1)
        if s.containment_at_equal_film_n is not None:
            force = say.amount(s.containment_at_equal_film_n, "force")
            yield say("carriages.force_at_equal_film"), force

    columns = (say("carriages.way"), say("word.value"))
    return Table(say("carriages.spending"), columns, tuple(rows()))


def _draws_text(c: Comparison, say: Voice) -> str:
    text = say(
        "carriages.draws",
        draws=say.fixed(c.draws, 0),
        seed=c.seed,
        inputs=", ".join(c.varied) or say("carriages.none_varied"),
    )
    slips = say(
        "carriages.slips",
        base=say.percent(c.slips_share_base, 0),
        candidate=say.percent(c.slips_share_candidate, 0),
    )
    return f"{text} {slips}"
