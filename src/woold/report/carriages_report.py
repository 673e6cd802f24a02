"""The report of two film carriages on one load: what the candidate saves, why, how sure that is."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from woold.carriages.comparison import CarriageComparison, ComparedCarriage
from woold.case.model import Case
from woold.pictures.carriage_drawing import comparison_figure
from woold.prediction.film_on_load import lacing_of
from woold.prediction.rows import overlap_text
from woold.prediction.yearly import Estimate
from woold.report.making import (
    Making,
    closing_blocks,
    finding_blocks,
    finished,
    input_table,
    placeholder_blocks,
)
from woold.report.model import Report
from woold.report.money_blocks import saving_blocks
from woold.report.prediction_report import prediction_sources
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Bullets, Figure, Heading, Paragraph, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["carriages_report"]


def carriages_report(
    base: Case,
    candidate: Case,
    comparison: CarriageComparison,
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
        Paragraph(
            say(
                "Base: {base}. Candidate: {candidate}.",
                base=c.base.title,
                candidate=c.candidate.title,
            )
        ),
        *finding_blocks(c.findings, say),
        Heading(say("Result")),
    ]
    if with_figures:
        paths = (lacing_of(base).path, lacing_of(candidate).path)
        svg = figure_svg(comparison_figure(c, paths, say.units), "carriages", say)
        alt = say(
            "Drawings of the film's way through both carriages, and bars of the saving by"
            " cause. {answer} The tables below give the numbers.",
            answer=_answer(c, say),
        )
        blocks.append(
            Figure(
                svg,
                say(
                    "Both carriages seen from above, to one scale, and the saving by cause"
                    " with its range."
                ),
                alt,
            )
        )
    swapped = base.with_section_of("carriage", candidate)
    blocks += [
        _arm_table(c, say),
        _cause_table(c, say),
        _spending_table(c, say),
        *saving_blocks(swapped, per_load, making.made_at.date(), say),
        *placeholder_blocks(c.rests_on, say),
        Heading(say("Method and assumptions")),
        Bullets(
            tuple(
                say(key)
                for key in (
                    to_say(
                        "Load, film, machine and program are the base's; only the carriage"
                        " changes. Force to load and overlap stay, so each turn holds as much."
                    ),
                    to_say(
                        "The parts add up to the whole: each is the mean of what the cause"
                        " saves when changed first and when changed last (Shapley 1953)."
                    ),
                    to_say(
                        "Whole layers count, so the least containment force may not grow"
                        " before a layer is complete everywhere."
                    ),
                )
            )
        ),
        Paragraph(_draws_text(c, say)),
        Heading(say("Appendix: every input")),
        input_table(base, say("Inputs of the base"), say),
        input_table(swapped, say("Inputs of the candidate's carriage"), say, only="carriage."),
        *closing_blocks(making, prediction_sources(base), c.cautions),
    ]
    return finished("carriages", base.title, blocks, making)


def _answer(c: CarriageComparison, say: Wording) -> str:
    low, high = sorted((abs(c.saving_interval.low), abs(c.saving_interval.high)))
    if c.saving_interval.low >= 0.0:
        key = to_say(
            "On the same load, with the same force to load and overlap, the candidate uses"
            " {saving} less film than the base (90 % range {low} to {high})."
        )
    elif c.saving_interval.high <= 0.0:
        key = to_say(
            "On the same load, with the same force to load and overlap, the candidate uses"
            " {saving} more film than the base (90 % range {low} to {high})."
        )
    else:
        return say(
            "On the same load it is open whether the candidate saves film: the 90 % range goes"
            " from {low} to {high}, and the candidate uses less in {share} of the draws.",
            low=say.percent(c.saving_interval.low),
            high=say.percent(c.saving_interval.high),
            share=say.percent(c.candidate_uses_less_share, 0),
        )
    return say(key, saving=say.percent(abs(c.saving)), low=say.percent(low), high=say.percent(high))


def _arm_table(c: CarriageComparison, say: Wording) -> Table:
    def row(label: str, text: Callable[[ComparedCarriage], str]) -> tuple[str, str, str]:
        return say(label), text(c.base), text(c.candidate)

    def amount(label: str, name: str, kind: str) -> tuple[str, str, str]:
        return row(label, lambda arm: say.amount(getattr(arm, name), kind))

    rows = [
        amount(to_say("film per load"), "film_mass_kg", "small_mass"),
        amount(to_say("film length per load"), "film_length_m", "film_length"),
        amount(to_say("pre-stretch by gears"), "prestretch_geared", "elongation"),
        amount(to_say("pre-stretch delivered"), "prestretch_delivered", "elongation"),
        row(to_say("what sets the pre-stretch"), lambda arm: arm.prestretch_governed_by),
        row(to_say("grip to spare, slow roller"), lambda arm: say.percent(arm.grip_margin_slow, 0)),
        row(to_say("grip to spare, fast roller"), lambda arm: say.percent(arm.grip_margin_fast, 0)),
        amount(to_say("gap between slow and fast roller"), "gap_m", "small_length"),
        amount(to_say("smaller contact angle"), "contact_angle_rad", "angle"),
        amount(to_say("stretch on the load"), "stretch_on_load", "elongation"),
        amount(to_say("film width on the load"), "film_width_on_load_m", "small_length"),
        amount(to_say("neck-down"), "neck_down_m", "small_length"),
        amount(to_say("rise per turn"), "rise_per_turn_m", "small_length"),
        row(
            to_say("overlap"),
            lambda arm: overlap_text(arm.overlap_up, arm.film_width_on_load_m, say),
        ),
        row(to_say("turns"), lambda arm: say.fixed(arm.turns, 1)),
        amount(to_say("cycle time"), "cycle_time_s", "time"),
        row(to_say("layers"), lambda arm: say.number(arm.layers_min, 2)),
        amount(to_say("containment force, least"), "containment_min_n", "force"),
    ]
    columns = (say("on the base's load"), say("base"), say("candidate"))
    return Table(say("Both carriages"), columns, tuple(rows))


def _cause_table(c: CarriageComparison, say: Wording) -> Table:
    rows = tuple(
        (
            cause.cause,
            say.percent(cause.alone),
            say.percent(cause.share),
            say(
                "{low} to {high}",
                low=say.percent(cause.interval.low),
                high=say.percent(cause.interval.high),
            ),
        )
        for cause in c.causes
    )
    columns = (
        to_say("cause"),
        to_say("if only it changed"),
        to_say("its part"),
        to_say("90 % range of its part"),
    )
    heads = tuple(say(name) for name in columns)
    return Table(say("Where the saving comes from, as shares of the base's film"), heads, rows)


def _spending_table(c: CarriageComparison, say: Wording) -> Table:
    def rows() -> Iterator[tuple[str, str]]:
        s = c.spending
        yield (
            say("film saved on each load, at equal hold"),
            say.amount(s.film_saved_kg, "small_mass"),
        )
        yield (say("turns that this film would make"), say.fixed(s.extra_turns, 1))
        if s.overlap_at_equal_film is not None:
            width = c.candidate.film_width_on_load_m
            overlap = overlap_text(s.overlap_at_equal_film, width, say)
            yield (say("overlap, if spent on more turns"), overlap)
        if s.layers_mean_at_equal_film is not None:
            yield (say("layers on average, if spent so"), say.fixed(s.layers_mean_at_equal_film, 1))
        if s.containment_at_equal_film_n is not None:
            force = say.amount(s.containment_at_equal_film_n, "force")
            yield (say("containment force, least, if spent so"), force)

    columns = (say("less film, or as much film and more hold"), say("value"))
    return Table(say("Two ways to spend the saving"), columns, tuple(rows()))


def _draws_text(c: CarriageComparison, say: Wording) -> str:
    text = say(
        "The 90 % range is the middle of {draws} draws (seed {seed}) of the inputs known"
        " within a range only: {inputs}.",
        draws=say.fixed(c.draws, 0),
        seed=c.seed,
        inputs=", ".join(c.varied) or say("none"),
    )
    slips = say(
        "Film slips in {base} of the draws with the base's carriage and in {candidate} with"
        " the candidate's.",
        base=say.percent(c.slips_share_base, 0),
        candidate=say.percent(c.slips_share_candidate, 0),
    )
    return f"{text} {slips}"
