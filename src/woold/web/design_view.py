"""What the design page shows of a search: its answer in rows, and each program of the front."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from pydantic import BaseModel

from woold.design.alternative_rows import alternative_blocks
from woold.design.design_glance import design_glance, offered
from woold.design.result import DesignResult, FrontPoint, ProgramResult
from woold.design.rows import answer_blocks, proof_blocks, settings_blocks, target_blocks
from woold.design.saving_rows import worth_blocks
from woold.design.settings import SETTING_NAMES, changed_settings, settings_text
from woold.rows.blocks import Block, Facts, Row, Table
from woold.rows.wording import Wording
from woold.verdict.rows import verdict_answer, verdict_row
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import ChartWords, front_words, point_words
from woold.web.documents import Document, named
from woold.web.finding_data import caution_blocks, finding_blocks
from woold.web.reader import brief

__all__ = ["DesignView", "design_view"]


class PickedProgram(BaseModel):
    """A program of the front: in short, in rows, and whether it holds what is asked.

    One that is not known to hold is not offered: nobody may put it on the bench.
    """

    name: str
    holds: bool
    verdict: str
    blocks: list[BlockData]


class DesignView(Document):
    """The body of `woold design --json`, and the same in rows.

    `glance` and `answer` say what was found, `settings` what to set, `proof` how good it is and
    what else there is; `front` tells each program of the design's front, in its order. Only where
    `is_offered` is there a program to set.
    """

    schema_: Literal["design-view"] = named("design-view")
    design: DesignResult
    is_offered: bool
    glance: list[BlockData]
    answer: list[BlockData]
    settings: list[BlockData]
    proof: list[BlockData]
    findings: list[BlockData]
    cautions: list[BlockData]
    front: list[PickedProgram]
    front_words: ChartWords


def design_view(design: DesignResult, say: Wording) -> DesignView:
    """A search's result in the reader's words and units."""
    told = brief(say)
    proof = (
        *worth_blocks(design, told),
        *target_blocks(design, say, told),
        *proof_blocks(design, say, with_time=True),
        *alternative_blocks(design, say, told),
    )
    return DesignView(
        design=design,
        is_offered=offered(design) is not None,
        glance=sent([Facts(say("At a glance"), design_glance(design, told))]),
        answer=sent(answer_blocks(design, say)),
        settings=sent(settings_blocks(design, say, told)),
        proof=sent(proof),
        findings=sent(finding_blocks(design.findings, say)),
        cautions=sent(caution_blocks(design.cautions, say)),
        front=[_program(design, each, told) for each in design.front],
        front_words=front_words(say),
    )


def _program(design: DesignResult, point: FrontPoint, say: Wording) -> PickedProgram:
    verdict = verdict_answer(point.verdict, say)
    if not point.verdict.asked:
        share = say.percent(point.share_of_targets, 0)
        verdict = say("Holds {share} of what today's program holds.", share=share)
    holds = not point.verdict.fails if point.verdict.asked else point.share_of_targets >= 1.0
    return PickedProgram(
        name=point_words(point, holds, say),
        holds=holds,
        verdict=verdict,
        blocks=sent(_picked(design, point, say)),
    )


def _picked(design: DesignResult, point: FrontPoint, say: Wording) -> Iterator[Block]:
    today = design.today
    changed = changed_settings(today.settings, point.settings)
    settings = [
        (
            say(SETTING_NAMES[name]),
            say.sentence(settings_text(today.settings, name, say.units)),
            say.sentence(settings_text(point.settings, name, say.units)),
            say("change") if name in changed else "",
        )
        for name in SETTING_NAMES
    ]
    results = [
        (row.label, row.value, other.value, "")
        for row, other in zip(_results(today, say), _results(point, say), strict=True)
    ]
    heads = (say("setting"), say("today"), say("picked"), say("what to do"))
    caption = say("Settings, today and picked")
    yield Table(caption, heads, (*settings, *results), words=(0, 1, 2, 3))


def _results(program: FrontPoint | ProgramResult, say: Wording) -> Iterator[Row]:
    yield Row(say("film per load"), say.amount(program.film_mass_kg, "small_mass"))
    yield Row(say("cycle time"), say.amount(program.cycle_time_s, "time"))
    yield Row(say("containment, least"), say.amount(program.containment_later_min_n, "force"))
    if program.verdict.asked:
        yield verdict_row(program.verdict, say)
    else:
        share = say.percent(program.share_of_targets, 0)
        yield Row(say("of what today's program holds"), share)
