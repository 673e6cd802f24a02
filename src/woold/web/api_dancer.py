"""The dancer over HTTP: its springs and holes, a cycle in motion, a recorded trace."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

from woold.case.file import case_from_table
from woold.dancer.asked import ask_about, hole_radius, turning_speed
from woold.dancer.cycle import simulate_cycle
from woold.dancer.cycle_rows import cycle_blocks
from woold.dancer.results import CycleStudy, SpringRow, SpringTable
from woold.dancer.spring_rows import spring_blocks
from woold.dancer.springs import spring_table
from woold.rows.wording import Wording
from woold.web.answers import refusals
from woold.web.at_work import at_work
from woold.web.block_data import BlockData, untitled
from woold.web.chart_words import ChartWords, cycle_words
from woold.web.documents import Document, SentTable, named
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader, brief
from woold.web.turn_view import MachineShape, OutlineShape, Point, Turn, turn_view

__all__ = ["router"]

router = APIRouter(prefix="/api/dancer", tags=["dancers"])

_LONGEST_QUANTITY = 64


class DancerCase(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: SentTable


class DancerRun(BaseModel):
    """A case, and the spring, hole and turning speed to try instead of the best or the case's."""

    case: SentTable
    spring: int | None = Field(default=None, ge=1, le=50)
    hole: str | None = Field(default=None, max_length=_LONGEST_QUANTITY)
    speed: str | None = Field(default=None, max_length=_LONGEST_QUANTITY)


class NamedSpring(BaseModel):
    """A spring in a hole as a button says it, in short and in full."""

    name: str
    told: str


class SpringsView(Document):
    """The body of `woold dancer springs --json`, and the same in rows."""

    schema_: Literal["springs-view"] = named("springs-view")
    springs: SpringTable
    choices: list[NamedSpring]
    blocks: list[BlockData]
    cautions: list[BlockData]


class ArmShape(BaseModel):
    """The dancer's arm, to draw it by."""

    arm_length_m: float
    anchor_m: Point
    hole_m: float
    lower_stop_rad: float
    upper_stop_rad: float


class CycleView(Document):
    """The body of `woold dancer simulate --json`, the same in rows, and what is drawn beside it."""

    schema_: Literal["cycle-view"] = named("cycle-view")
    study: CycleStudy
    blocks: list[BlockData]
    cautions: list[BlockData]
    charts: list[ChartWords]
    arm: ArmShape
    outline: OutlineShape
    machine: MachineShape
    turn: Turn


@router.post("/springs", responses=refusals())
@at_work
def springs(body: Annotated[DancerCase, with_shelf(DancerCase)], say: Reader) -> SpringsView:
    """Every spring in every hole, as `woold dancer springs --json` has it."""
    table = spring_table(case_from_table(body.case))
    told = spring_blocks(table, say, brief(say))
    return SpringsView(
        springs=table,
        choices=[_choice(row, brief(say)) for row in table.choices],
        **_apart(untitled(told)),
    )


def _choice(row: SpringRow, say: Wording) -> NamedSpring:
    name = say(
        "{rate}, {hole}",
        rate=say.amount(row.rate_n_per_m, "stiffness"),
        hole=say.amount(row.hole_m, "small_length"),
    )
    told = (
        say("{spring}: fits", spring=name)
        if row.fits
        else say("{spring}: does not fit", spring=name)
    )
    return NamedSpring(name=name, told=told)


def _apart(blocks: list[Any]) -> dict[str, list[Any]]:
    """Blocks and their cautions, which the page shows once for all that it shows."""
    return {
        "blocks": [each for each in blocks if each.block != "cautions"],
        "cautions": [each for each in blocks if each.block == "cautions"],
    }


@router.post("/simulate", responses=refusals())
@at_work
def simulate(body: Annotated[DancerRun, with_shelf(DancerRun)], say: Reader) -> CycleView:
    """The dancer over one cycle, and the geometry to draw it by."""
    case = case_from_table(body.case)
    asked = {"dancer.hole": body.hole, "machine.speed": body.speed}
    ask_about(case, asked, {})
    hole = hole_radius(body.hole, "dancer.hole")
    speed = turning_speed(body.speed, "machine.speed", as_typed=("speed",))
    study, _, dancer = simulate_cycle(case, body.spring, hole, speed)
    arm = dancer.setup.arm
    return CycleView(
        study=study,
        **_apart(untitled(cycle_blocks(study, say, brief(say)))),
        charts=cycle_words(study, say),
        arm=ArmShape(
            arm_length_m=arm.arm_length,
            anchor_m=arm.anchor,
            hole_m=dancer.setup.hole_radius,
            lower_stop_rad=arm.lower_stop,
            upper_stop_rad=arm.upper_stop,
        ),
        **turn_view(case),
    )
