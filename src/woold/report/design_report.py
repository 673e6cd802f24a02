"""The report of a design: the settings that hold with the least film, and the proof of it."""

from __future__ import annotations

from woold.case.model import Case
from woold.design.alternative_rows import alternative_blocks
from woold.design.result import DesignResult
from woold.design.rows import (
    answer_blocks,
    answer_text,
    proof_blocks,
    settings_blocks,
    target_blocks,
)
from woold.design.saving_rows import worth_blocks
from woold.physics import bands, interface_friction
from woold.pictures.design_front import design_front_figure
from woold.prediction.input_rows import input_table
from woold.prediction.predict import rests_on
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
from woold.rows.blocks import Block, Bullets, Figure, Heading
from woold.words import to_say

__all__ = ["design_report"]


_METHOD = (
    to_say(
        "Every program of the allowed steps is measured, or ruled out by a bound"
        " that is lower than its score; then force, rise and fall are looked at"
        " between the steps around the best, to {force} and {length}. The chosen one"
        " is predicted and screened again in full."
    ),
    to_say(
        "The bound is the fewest bands of film that could cover the need at"
        " every height beside what a travelling carriage lays, whatever program"
        " lays them, with the tiers' travel shared in any way."
    ),
    to_say(
        "Transport, where asked for, is screened with rigid tiers, dry"
        " friction and film that shears: an engineering estimate."
    ),
    to_say(
        "The saving's 90 % range is over the ranges of the case's inputs, with"
        " both programs at the same draw."
    ),
)


def design_report(
    case: Case, result: DesignResult, making: Making, with_figures: bool = True
) -> Report:
    """The report of a design.

    Args:
        case: the case that was designed for.
        result: its design.
        making: how the report is made.
        with_figures: draw the front, where the design has one.
    """
    say, chosen = making.say, result.chosen
    blocks: list[Block] = [*answer_blocks(result, say), *finding_blocks(result.findings, say)]
    is_better = chosen is not None and not chosen.verdict.fails and not result.keep_today
    if is_better:
        blocks += [Heading(say("Settings")), *settings_blocks(result, say, say)]
    blocks += [Heading(say("What must be held")), *target_blocks(result, say, say)]
    if chosen is not None:
        blocks += [Heading(say("Bound, search and limits")), *proof_blocks(result, say)]
    blocks += alternative_blocks(result, say, say)
    if with_figures and result.front:
        svg = figure_svg(design_front_figure(result, say.units), "front", say)
        alt = say(
            "Scatter of the programs that no other beats in film, hold and time at once"
            " ({count}). {answer} The table above gives the numbers.",
            count=len(result.front),
            answer=answer_text(result, say),
        )
        blocks.append(
            Figure(
                svg,
                say(
                    "Film against what is held, cycle time as shades and sizes, with today's"
                    " program, the chosen one and the bound."
                ),
                alt,
            )
        )
    saving = result.saving
    if saving is not None and is_better:
        # Other settings need no other carriage, so there is none to be paid back.
        kept, since = case.with_values({"carriage.price": None}), making.made_at.date()
        film = saving.film_mass_kg
        blocks += saving_blocks(kept, film, since, say, cost_per_load=saving.film)
        blocks += worth_blocks(result, say)
    blocks += [
        *placeholder_blocks(rests_on(case), say),
        Heading(say("Method and assumptions")),
        Bullets(
            tuple(
                say(key, force=say.amount(0.1, "force"), length=say.amount(1e-4, "small_length"))
                for key in _METHOD
            )
        ),
        Heading(say("Appendix: every input")),
        input_table(case, say("Inputs and where they are from"), say),
        *closing_blocks(making, _sources(case, result), result.cautions),
    ]
    return finished("design", case.title, blocks, making)


def _sources(case: Case, result: DesignResult) -> list[tuple[str, object]]:
    used = [*prediction_sources(case), (to_say("fewest bands"), bands.fewest_bands)]
    if result.transport_profiles:
        used.append((to_say("transport screen"), interface_friction.force_beyond_friction))
    return used
