"""A recorded trace of the dancer over HTTP: judged, laid under the model, its constants fitted."""

from __future__ import annotations

import math
import re
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field, StringConstraints
from starlette.responses import Response

from woold.case.asked import asked_count
from woold.case.dancer import Dancer, DancerDrive
from woold.case.fields import Section, facts_of
from woold.case.file import case_from_table
from woold.dancer.asked import hole_radius, turning_speed
from woold.dancer.results import FitStudy, TraceStudy
from woold.dancer.trace_rows import fitted_table, trace_blocks
from woold.dancer.trace_study import TraceAsk, study_trace
from woold.pictures.dancer_trace import trace_figure
from woold.report.svg import figure_svg
from woold.rows.blocks import Figure
from woold.rows.wording import Wording
from woold.units import KINDS
from woold.web.answers import refusals
from woold.web.at_work import work
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import ChartWords, order_words, turn_words
from woold.web.documents import Document, SentTable, named
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader, brief
from woold.web.sent_file import told_without
from woold.web.workers import Call
from woold.words import say as said

__all__ = ["LARGEST_TRACE", "Constant", "FittedField", "fitted_fields", "router"]

router = APIRouter(prefix="/api/dancer", tags=["dancers"])

LARGEST_TRACE = 30_000_000
"""Letters of a trace; an hour at 100 samples a second is about a third of it."""

_LONGEST_QUANTITY = 64
_TRACE_S = 300.0
"""A fit simulates thousands of turns: a plain machine takes seconds, a crowded one minutes."""

Constant = Literal["inertia", "damping", "film_stiffness", "friction_torque", "gain", "lag"]

_FIELDS: dict[str, tuple[str, type[Section], str]] = {
    "inertia": ("dancer.inertia", Dancer, "inertia"),
    "damping": ("dancer.damping", Dancer, "damping"),
    "friction_torque": ("dancer.friction_torque", Dancer, "friction_torque"),
    "gain": ("dancer.drive.gain", DancerDrive, "gain"),
    "lag": ("dancer.drive.lag", DancerDrive, "lag"),
}
"""Where a case states a constant; the film's stiffness follows from the film."""


class RecordedTrace(BaseModel):
    """A recorded trace as text, what is known of it, and the case whose dancer it was.

    `fit` names constants to fit; `spring` and `hole` are those that were in use, where the case
    does not say.
    """

    name: str = Field(default="trace.csv", max_length=200)
    text: str = Field(max_length=LARGEST_TRACE)
    case: SentTable | None = None
    speed: str | None = Field(default=None, max_length=_LONGEST_QUANTITY)
    corners: int = Field(default=4, ge=1, le=100)
    reverse: bool = False
    fit: list[Constant] = Field(default_factory=list, max_length=6)
    spring: int | None = Field(default=None, ge=1, le=50)
    hole: str | None = Field(default=None, max_length=_LONGEST_QUANTITY)
    as_typed: list[Annotated[str, StringConstraints(max_length=40)]] = Field(
        default_factory=list, max_length=20
    )


class FittedField(BaseModel):
    """A fitted constant as a case states it: its field, value and range as text with units."""

    field: str
    value: str
    low: str
    high: str


class TraceView(Document):
    """The body of `woold dancer trace --json`, and the same in rows; `fitted` is for the case.

    `fit` is the table of fitted constants with their ranges, `picture` the trace over time and
    turn by turn with the simulation laid over it.
    """

    schema_: Literal["trace-view"] = named("trace-view")
    study: TraceStudy
    blocks: list[BlockData]
    cautions: list[BlockData]
    fit: list[BlockData]
    picture: list[BlockData]
    fitted: list[FittedField]
    turn: ChartWords
    orders: str


@router.post(
    "/trace", response_model=TraceView, responses=refusals(), max_body_size=2 * LARGEST_TRACE
)
async def trace(body: Annotated[RecordedTrace, with_shelf(RecordedTrace)], say: Reader) -> Response:
    """A recorded trace and its verdict, as `woold dancer trace --json` has it."""
    judged = Call("woold.web.at_work", "answered", (Call(__name__, "trace_view", (body, say)),))
    return Response(await work(judged, _TRACE_S), media_type="application/json")


def trace_view(body: RecordedTrace, say: Wording) -> TraceView:
    """A trace judged, done by a worker."""
    case = None if body.case is None else case_from_table(body.case)
    speed = turning_speed(body.speed, "speed", as_typed=body.as_typed)
    ask = TraceAsk(
        turn_period=math.tau / speed if speed else None,
        corners=asked_count("corners", body.corners, as_typed=body.as_typed),
        reverse=body.reverse,
        fit=tuple(body.fit),
        spring=body.spring,
        hole=hole_radius(body.hole, "hole"),
    )
    name = re.sub(r"[^A-Za-z0-9._-]", "_", body.name)[-80:].lstrip(".") or "trace.csv"
    with tempfile.TemporaryDirectory(prefix="woold-") as folder, told_without(folder):
        path = Path(folder) / name
        path.write_text(body.text, encoding="utf-8", errors="replace")
        study, analysis = study_trace(path, ask, case)
    study = replace(study, file=name)
    told = said("The trace over time, its turns laid over the average one, and times a turn.")
    picture = Figure(
        figure_svg(trace_figure(study, analysis), "trace", say),
        told,
        f"{told} {said('The tables give the numbers.')}",
    )
    fit = [fitted_table(study.fit, brief(say))] if study.fit else []
    # The page shows the fit beside the picture, and once.
    blocks = sent(each for each in trace_blocks(study, say, brief(say)) if each not in fit)
    return TraceView(
        study=study,
        blocks=[each for each in blocks if each.block != "cautions"],
        cautions=[each for each in blocks if each.block == "cautions"],
        fit=sent(fit),
        picture=sent([picture]),
        fitted=list(fitted_fields(study.fit)),
        turn=turn_words(study, say),
        orders=order_words(study, brief(say)),
    )


def fitted_fields(fit: FitStudy | None) -> Iterator[FittedField]:
    """Constants for the case; none where the model does not describe the turn."""
    if fit is None or fit.test.is_lacking:
        return
    for each in fit.values:
        if each.name in _FIELDS:
            field, section, name = _FIELDS[each.name]
            unit = KINDS[facts_of(section, name).kind].unit
            ends = (each.value, each.low, each.high)
            value, low, high = (f"{end:.6g} {unit}".strip() for end in ends)
            yield FittedField(field=field, value=value, low=low, high=high)
