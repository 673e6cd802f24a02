"""What the bench shows of a case: its prediction in rows, and the geometry that it rests on."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel

from woold.case.model import Case
from woold.prediction.idle_fields import IdleField, idle_fields
from woold.prediction.machine_rows import machine_blocks
from woold.prediction.placeholder_rows import placeholder_rows
from woold.prediction.predict import predict, program_legs
from woold.prediction.result import HeightPoint, Prediction
from woold.prediction.rows import film_and_hold_blocks, key_rows, time_and_roll_blocks
from woold.rows.blocks import Block, Facts
from woold.rows.wording import Wording
from woold.verdict.chance import sureness
from woold.verdict.parts import asking_fields
from woold.verdict.result import Verdict
from woold.verdict.rows import glance_rows, verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import ChartWords, profile_words, speed_words
from woold.web.documents import Document, Shaped, named, shape_of
from woold.web.finding_data import caution_blocks, finding_blocks
from woold.web.reader import brief
from woold.web.turn_view import MachineShape, OutlineShape, Point, Turn, turn_view

__all__ = ["JudgedCase", "Predicted", "bench_view", "judged_view"]

_HEIGHT: Any = shape_of(HeightPoint)
_PREDICTION = shape_of(Prediction, containment_profile=list[_HEIGHT])


class LegShape(BaseModel):
    """A part of the program as the film's lower edge runs, from turn to turn."""

    part: str
    first_turn: float
    last_turn: float
    first_edge_m: float
    last_edge_m: float
    width_m: float


class DrawnLoad(BaseModel):
    """What is drawn of the load."""

    height_m: float
    tiers: int
    deck_height_m: float
    offset_m: Point
    pallet_length_m: float | None
    pallet_width_m: float | None


class Predicted(Document):
    """A prediction in rows, and the path of the film's edge and the load's outline to draw it by.

    `prediction` and `verdict` are what `woold predict --json` says; their keys stand in
    docs/json.md. `glance` is what to read first: whether it holds, film, time, what to do; `answer`
    is the whole verdict in rows, and `figures` are those to read next. `idle` are fields that have
    no effect in this case.
    """

    schema_: Literal["bench"] = named("bench")
    prediction: Annotated[Prediction, Shaped(_PREDICTION)]
    verdict: Verdict
    glance: list[BlockData]
    answer: list[BlockData]
    figures: list[BlockData]
    findings: list[BlockData]
    numbers: list[BlockData]
    cautions: list[BlockData]
    profile: ChartWords
    speeds: ChartWords
    legs: list[LegShape]
    idle: list[IdleField]
    load: DrawnLoad
    outline: OutlineShape
    machine: MachineShape
    turn: Turn


class JudgedCase(Document):
    """A verdict with how sure it is, and the same in rows."""

    schema_: Literal["verdict-view"] = named("verdict-view")
    verdict: Verdict
    answer: list[BlockData]


def judged_view(case: Case, say: Wording) -> JudgedCase:
    """Verdict on a case, with the share of the draws in which it holds.

    Raises:
        PhysicsError: the case's values cannot happen together.
    """
    sure = sureness(case) if asking_fields(case) else None
    verdict = verdict_of(case, predict(case), sure=sure)
    return JudgedCase(verdict=verdict, answer=sent(verdict_blocks(verdict, say, brief(say))))


def bench_view(case: Case, say: Wording) -> Predicted:
    """Prediction of a case, its rows, and the geometry that it rests on.

    Raises:
        PhysicsError: the case's values cannot happen together.
    """
    p = predict(case)
    verdict = verdict_of(case, p)
    legs = program_legs(case, p.film_width_on_load_m)
    load = case.load
    film, *_, cycle = key_rows(p, say)
    holds, _ = glance_rows(verdict, brief(say))
    _, todo = glance_rows(verdict, say)
    return Predicted(
        prediction=p,
        verdict=verdict,
        glance=sent([Facts(say("At a glance"), (holds, film, cycle, todo))]),
        answer=sent(verdict_blocks(verdict, say, brief(say))),
        figures=sent([Facts(say("At a glance"), tuple(key_rows(p, say)))]),
        findings=sent(finding_blocks(p.findings, say)),
        numbers=sent(_numbers(case, p, say)),
        cautions=sent(caution_blocks(p.cautions, say)),
        profile=profile_words(p, say),
        speeds=speed_words(p, say),
        legs=[
            LegShape(
                part=say(leg.part),
                first_turn=leg.first_turn,
                last_turn=leg.last_turn,
                first_edge_m=leg.first_edge,
                last_edge_m=leg.last_edge,
                width_m=leg.width,
            )
            for leg in legs
        ],
        idle=list(idle_fields(case)),
        load=DrawnLoad(
            height_m=load.height,
            tiers=load.tiers,
            deck_height_m=load.deck_height,
            offset_m=load.offset,
            pallet_length_m=load.pallet_length,
            pallet_width_m=load.pallet_width,
        ),
        **turn_view(case),
    )


def _numbers(case: Case, p: Prediction, say: Wording) -> list[Block]:
    told = brief(say)
    return [
        *film_and_hold_blocks(p, say, told),
        *time_and_roll_blocks(case, p, say, told),
        *machine_blocks(case),
        *placeholder_rows(p.rests_on, say, told),
    ]
