"""The dancer over HTTP: its springs and holes, a cycle in motion, a recorded trace."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel, Field

from woold.case.file import case_from_table
from woold.dancer.cycle import simulate_cycle
from woold.dancer.springs import spring_table
from woold.dancer.trace_study import TraceAsk, study_trace
from woold.errors import WooldError
from woold.units import parse_quantity
from woold.web.answers import Answer, refusals
from woold.web.bench_view import turn_view
from woold.words import say

__all__ = ["LARGEST_TRACE", "router"]

router = APIRouter(prefix="/api/dancer", tags=["dancers"])

CaseTable = dict[str, Any]

LARGEST_TRACE = 30_000_000
"""Letters of a trace; an hour at 100 samples a second is about a third of it."""

_LONGEST_QUANTITY = 64


class DancerCase(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: CaseTable


class DancerRun(BaseModel):
    """A case, and the spring, hole and turning speed to try instead of the best or the case's."""

    case: CaseTable
    spring: int | None = Field(default=None, ge=1, le=50)
    hole: str | None = Field(default=None, max_length=_LONGEST_QUANTITY)
    speed: str | None = Field(default=None, max_length=_LONGEST_QUANTITY)


class RecordedTrace(BaseModel):
    """A recorded trace as text, what is known of it, and the case whose dancer it was."""

    name: str = Field(default="trace.csv", max_length=200)
    text: str = Field(max_length=LARGEST_TRACE)
    case: CaseTable | None = None
    speed: str | None = Field(default=None, max_length=_LONGEST_QUANTITY)
    corners: int = Field(default=4, ge=1, le=100)
    reverse: bool = False


@router.post("/springs", responses=refusals())
def springs(body: DancerCase) -> Answer:
    """Every spring in every hole, as `woold dancer springs --json` has it."""
    return Answer(spring_table(case_from_table(body.case)).to_json())


class CycleView(BaseModel):
    """The document of `woold dancer simulate --json`, and what is drawn beside it."""

    study: dict[str, Any]
    arm: dict[str, Any]
    outline: dict[str, Any]
    machine: dict[str, Any]
    turn: dict[str, Any]


@router.post("/simulate", response_model=CycleView, responses=refusals())
def simulate(body: DancerRun) -> Answer:
    """The dancer over one cycle, and the geometry to draw it by."""
    case = case_from_table(body.case)
    hole = None if body.hole is None else parse_quantity(body.hole, "small_length", "dancer.hole")
    study, _, dancer = simulate_cycle(case, body.spring, hole, _speed(body.speed))
    arm = dancer.setup.arm
    return Answer(
        {
            "study": study.to_json(),
            "arm": {
                "arm_length_m": arm.arm_length,
                "anchor_m": list(arm.anchor),
                "hole_m": dancer.setup.hole_radius,
                "lower_stop_rad": arm.lower_stop,
                "upper_stop_rad": arm.upper_stop,
            },
            **turn_view(case),
        }
    )


@router.post("/trace", responses=refusals(), max_body_size=2 * LARGEST_TRACE)
def trace(body: RecordedTrace) -> Answer:
    """A recorded trace and its verdict, as `woold dancer trace --json` has it."""
    case = None if body.case is None else case_from_table(body.case)
    speed = _speed(body.speed)
    ask = TraceAsk(
        turn_period=6.283185307179586 / speed if speed else None,
        corners=body.corners,
        reverse=body.reverse,
    )
    name = re.sub(r"[^A-Za-z0-9._-]", "_", body.name)[-80:].lstrip(".") or "trace.csv"
    with tempfile.TemporaryDirectory(prefix="woold-") as folder:
        path = Path(folder) / name
        path.write_text(body.text, encoding="utf-8", errors="replace")
        try:
            study, _ = study_trace(path, ask, case)
        except WooldError as error:
            problems = (
                replace(each, field=each.field.replace(str(path), name)) for each in error.problems
            )
            raise type(error).many(problems) from None
    return Answer(replace(study, file=name).to_json())


def _speed(text: str | None) -> float | None:
    if text is None:
        return None
    speed = parse_quantity(text, "turning_speed", "machine.speed")
    if not speed > 0:
        raise WooldError.one("machine.speed", text, say("a turning speed above zero"))
    return speed
