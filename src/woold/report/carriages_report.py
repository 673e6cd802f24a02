"""The report of two film carriages on one load: what the candidate saves, why, how sure that is."""

from __future__ import annotations

from woold.carriages.comparison import CarriageComparison
from woold.carriages.comparison_rows import comparison_answer, comparison_blocks, draws_text
from woold.case.model import Case
from woold.pictures.carriage_drawing import comparison_figure
from woold.prediction.film_on_load import lacing_of
from woold.prediction.input_rows import input_table
from woold.prediction.yearly import Estimate
from woold.report.making import (
    Making,
    closing_blocks,
    finding_blocks,
    finished,
    placeholder_blocks,
)
from woold.report.model import Report
from woold.report.money_blocks import saving_blocks
from woold.report.prediction_report import prediction_sources
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Bullets, Figure, Heading, Paragraph
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
        Paragraph(comparison_answer(c, say), is_strong=True),
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
    if with_figures and c.is_saving:
        blocks.append(_figure(base, candidate, c, say))
    swapped = base.with_section_of("carriage", candidate)
    blocks += [
        *comparison_blocks(c, say, say),
        *(saving_blocks(swapped, per_load, making.made_at.date(), say) if c.is_saving else []),
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
        Paragraph(draws_text(c, say)),
        Heading(say("Appendix: every input")),
        input_table(base, say("Inputs of the base"), say),
        input_table(swapped, say("Inputs of the candidate's carriage"), say, only="carriage."),
        *closing_blocks(making, prediction_sources(base), c.cautions),
    ]
    return finished("carriages", base.title, blocks, making)


def _figure(base: Case, candidate: Case, c: CarriageComparison, say: Wording) -> Figure:
    paths = (lacing_of(base).path, lacing_of(candidate).path)
    return Figure(
        figure_svg(comparison_figure(c, paths, say.units), "carriages", say),
        say(
            "Both carriages seen from above, to one scale, and the saving by cause with its range."
        ),
        say(
            "Drawings of the film's way through both carriages, and bars of the saving by"
            " cause. {answer} The tables below give the numbers.",
            answer=comparison_answer(c, say),
        ),
    )
