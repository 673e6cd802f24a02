"""What the carriage page shows: a carriage in rows and to scale, and what another one saves."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from woold.carriages.carriage_rows import carriage_blocks
from woold.carriages.comparison import CarriageComparison
from woold.carriages.comparison_glance import comparison_glance
from woold.carriages.comparison_rows import comparison_answer, comparison_blocks, draws_text
from woold.carriages.study import CarriageReport, carriage_report
from woold.case.model import Case
from woold.physics.rollers import FilmPath
from woold.prediction.film_on_load import lacing_of
from woold.prediction.idle_fields import IdleField, idle_fields
from woold.rows.blocks import Facts, Paragraph
from woold.rows.wording import Wording
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import BarWords, ChartWords, cause_words, curve_words
from woold.web.documents import Document, named
from woold.web.finding_data import caution_blocks, finding_blocks
from woold.web.reader import brief
from woold.web.turn_view import Point

__all__ = ["CarriageView", "ComparisonView", "carriage_view", "comparison_view"]


class DrawnRoller(BaseModel):
    """A roller; no contact angle where no film touches it."""

    name: str
    role: str
    x_m: float
    y_m: float
    diameter_m: float
    contact_angle_rad: float | None


class DrawnSpan(BaseModel):
    """Free film between two rollers."""

    start_m: Point
    end_m: Point


class DrawnArc(BaseModel):
    """Film on a roller; `turn` is 1 counter-clockwise, -1 clockwise."""

    start_m: Point
    end_m: Point
    radius_m: float
    contact_angle_rad: float
    turn: int


class Drawing(BaseModel):
    """Rollers and the film's way round them, seen from above: spans and arcs take turns."""

    rollers: list[DrawnRoller]
    spans: list[DrawnSpan]
    arcs: list[DrawnArc]


class CarriageView(Document):
    """The body of `woold carriage show --json`, the same in rows, and the lacing to draw.

    `idle` are fields that have no effect in this case.
    """

    schema_: Literal["carriage-view"] = named("carriage-view")
    report: CarriageReport
    blocks: list[BlockData]
    curve: ChartWords
    drawing: Drawing | None
    idle: list[IdleField]


class ComparisonView(Document):
    """The body of `woold carriage compare --json`, the same in rows, and at a glance."""

    schema_: Literal["comparison-view"] = named("comparison-view")
    comparison: CarriageComparison
    glance: list[BlockData]
    blocks: list[BlockData]
    causes: BarWords


def carriage_view(case: Case, say: Wording) -> CarriageView:
    """Report of a case's carriage and its drawing.

    Raises:
        WooldError: values that cannot be, rollers that no film can run round.
    """
    path, report = lacing_of(case).path, carriage_report(case)
    return CarriageView(
        report=report,
        blocks=sent(
            [*carriage_blocks(report, say, brief(say)), *finding_blocks(report.findings, say)]
        ),
        curve=curve_words(report, say),
        drawing=None if path is None else _drawing(path),
        idle=list(idle_fields(case)),
    )


def comparison_view(comparison: CarriageComparison, say: Wording) -> ComparisonView:
    """What the candidate saves."""
    blocks = [
        Paragraph(comparison_answer(comparison, say), is_strong=True),
        *comparison_blocks(comparison, say, brief(say)),
        Paragraph(draws_text(comparison, say)),
        *finding_blocks(comparison.findings, say),
        *caution_blocks(comparison.cautions, say),
    ]
    return ComparisonView(
        comparison=comparison,
        glance=sent([Facts(say("At a glance"), comparison_glance(comparison, brief(say)))]),
        blocks=sent(blocks),
        causes=cause_words(comparison, say),
    )


def _drawing(path: FilmPath) -> Drawing:
    angles = {contact.roller.name: contact.contact_angle for contact in path.contacts}
    return Drawing(
        rollers=[
            DrawnRoller(
                name=each.name,
                role=each.role,
                x_m=each.x,
                y_m=each.y,
                diameter_m=each.diameter,
                contact_angle_rad=angles.get(each.name),
            )
            for each in path.rollers
        ],
        spans=[DrawnSpan(start_m=each.start, end_m=each.end) for each in path.spans],
        arcs=[
            DrawnArc(
                start_m=each.arrives,
                end_m=each.leaves,
                radius_m=each.roller.radius,
                contact_angle_rad=each.contact_angle,
                turn=each.roller.turn,
            )
            for each in path.contacts
        ],
    )
