"""The way over HTTP: a case's transport screen, and its stack in motion."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel

from woold.case.file import case_from_table
from woold.prediction.predict import predict
from woold.rows.blocks import Facts
from woold.rows.wording import Wording
from woold.transport.result import direction_name
from woold.transport.rows import transport_blocks
from woold.transport.screen import screen_transport
from woold.transport.simulation import SimulatedWay, TransportSimulation, simulate_transport
from woold.transport.simulation_rows import simulation_blocks
from woold.verdict.rows import glance_rows, verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.web.answers import refusals
from woold.web.at_work import at_work
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import ChartWords, slip_words
from woold.web.documents import Document, SentTable, named
from woold.web.finding_data import caution_blocks, finding_blocks
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader, brief

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["cases"])


class TransportCase(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: SentTable


class TransportView(Document):
    """The screen and the simulation in rows, and the bodies in motion to draw them by.

    `simulation` is as in `woold transport --simulate --json`; `names` and `slips` say each of its
    ways. `overruled` is the verdict in rows where the simulation says otherwise, else empty;
    `overruled_glance` says the same at a glance.
    """

    schema_: Literal["transport-view"] = named("transport-view")
    simulation: TransportSimulation
    names: list[str]
    slips: list[ChartWords]
    overruled: list[BlockData]
    overruled_glance: list[BlockData]
    screen: list[BlockData]
    shown: list[BlockData]
    findings: list[BlockData]
    cautions: list[BlockData]


@router.post("/transport", responses=refusals())
@at_work
def move_case(
    body: Annotated[TransportCase, with_shelf(TransportCase)], say: Reader
) -> TransportView:
    """Whether the wrapped load stands its way: an estimate, and the same over time."""
    case = case_from_table(body.case)
    prediction = predict(case)
    screen = screen_transport(case, prediction)
    simulation = simulate_transport(case, prediction, screen)
    told = brief(say)
    verdict = verdict_of(case, prediction, screen, simulation=simulation)
    is_overruled = screen.holds is not False and simulation.holds != screen.holds
    return TransportView(
        simulation=simulation,
        names=[_name(way, say) for way in simulation.ways],
        slips=[slip_words(way, say) for way in simulation.ways],
        overruled=sent(verdict_blocks(verdict, say, told)) if is_overruled else [],
        overruled_glance=sent([Facts(say("At a glance"), glance_rows(verdict, told))])
        if is_overruled
        else [],
        screen=sent(transport_blocks(screen, say, told)),
        shown=sent(simulation_blocks(simulation, say, told)),
        findings=sent(finding_blocks(screen.findings, say)),
        cautions=sent(caution_blocks(screen.cautions, say)),
    )


def _name(way: SimulatedWay, say: Wording) -> str:
    return say(
        "{profile}, {direction}, {level} g",
        profile=way.profile,
        direction=direction_name(way.direction),
        level=say.number(way.acceleration_g),
    )
