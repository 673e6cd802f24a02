"""The way over HTTP: a case's transport screen, and its stack in motion."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Literal

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.responses import Response

from woold.case.file import case_from_table
from woold.prediction.predict import predict
from woold.prediction.result import Finding
from woold.rows.blocks import Facts
from woold.rows.wording import Wording
from woold.transport.calibration import TransportCalibration, calibrate_transport
from woold.transport.measured import how_read, read_recording, read_rows
from woold.transport.result import direction_name
from woold.transport.rows import transport_blocks
from woold.transport.screen import screen_transport
from woold.transport.simulation import SimulatedWay, TransportSimulation, simulate_transport
from woold.transport.simulation_rows import calibration_blocks, simulation_blocks
from woold.verdict.rows import glance_rows, verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.web.answers import refusals
from woold.web.at_work import at_work, worked
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import ChartWords, slip_words
from woold.web.documents import Document, SentTable, named
from woold.web.finding_data import caution_blocks, finding_blocks
from woold.web.job_news import JOB_ID, WorkNews, answer_of, in_worker, job_of, started, work_begun
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader, brief
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call
from woold.words import say as said

if TYPE_CHECKING:
    from woold.physics.stack_motion import BaseMotion

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["cases"])

JobId = Annotated[str, Path(pattern=JOB_ID, description="As the start answered.")]
Right = Annotated[str, StringConstraints(max_length=200)]

_TELL_EACH = 20
"""Draws from one word of progress to the next."""


class TransportCase(BaseModel):
    """A case, and a recorded trip that moves its load in place of the accelerations it states.

    `as_typed` names columns of the recording that were asked about and are right.
    """

    case: SentTable
    recording: SentFile | None = None
    as_typed: list[Right] = Field(default_factory=list, max_length=50)


class MeasuredTest(BaseModel):
    """A case, and the slips of a real test of its load, to calibrate film and friction by.

    `as_typed` names cells that were asked about and are right.
    """

    case: SentTable
    slips: SentFile
    as_typed: list[Right] = Field(default_factory=list, max_length=1_000)


class CalibratedField(BaseModel):
    """An input that the test has narrowed, as a case states it."""

    field: str
    value: str
    low: str
    high: str


class CalibrationView(Document):
    """What a test says of film and friction, in blocks; `narrowed` is for the case."""

    schema_: Literal["calibration-view"] = named("calibration-view")
    blocks: list[BlockData]
    findings: list[BlockData]
    narrowed: list[CalibratedField]


@dataclass(frozen=True, slots=True)
class _CalibrationJob:
    """What a job is about: the name of the file of slips."""

    slips: str


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


@router.post("/transport", responses=refusals(), max_body_size=LARGEST_FILE_BODY)
@at_work
def move_case(
    body: Annotated[TransportCase, with_shelf(TransportCase)], say: Reader
) -> TransportView:
    """Whether the wrapped load stands its way: an estimate, and the same over time."""
    case = case_from_table(body.case)
    prediction = predict(case)
    screen = screen_transport(case, prediction)
    base, read_as = _recorded(body)
    simulation = simulate_transport(case, prediction, screen, base)
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
        findings=sent(finding_blocks((*read_as, *screen.findings), say)),
        cautions=sent(caution_blocks(screen.cautions, say)),
    )


def _recorded(body: TransportCase) -> tuple[BaseMotion | None, tuple[Finding, ...]]:
    """The trip that was sent, and how its table was read."""
    if body.recording is None:
        return None, ()
    with files_at([body.recording]) as (path,):
        return read_recording(path, body.as_typed), how_read([path])


@router.post(
    "/transport/calibrate",
    status_code=202,
    responses=refusals(429),
    max_body_size=LARGEST_FILE_BODY,
)
def calibrate_case(
    request: Request, body: Annotated[MeasuredTest, with_shelf(MeasuredTest)]
) -> WorkNews:
    """Begin to calibrate film and friction by the slips of a real test."""
    call = Call(__name__, "calibration_answer", (body,))
    about = _CalibrationJob(body.slips.name)
    return work_begun(started(request, in_worker(request, call), about))


def calibration_answer(body: MeasuredTest, progress: Callable[[str], None]) -> TransportCalibration:
    """What a worker makes of a test."""
    case = case_from_table(body.case)
    with files_at([body.slips]) as (path,):
        rows, read_as = read_rows(path, body.as_typed), how_read([path])

    def told(done: int, total: int) -> None:
        if done % _TELL_EACH == 0:
            progress(said("Trying inputs: {done} of {total}", done=done, total=total))

    found = calibrate_transport(case, predict(case), rows, progress=told)
    return replace(found, findings=(*read_as, *found.findings))


@router.get("/transport/calibrate/{job}", response_model=CalibrationView, responses=refusals(404))
async def calibration_found(request: Request, job: JobId, say: Reader) -> Response:
    """What the test says, once it is there, in the reader's units."""
    found = answer_of(job_of(request, job, _CalibrationJob))
    return await worked(Call(__name__, "calibration_view", (found, say)))


def calibration_view(found: TransportCalibration, say: Wording) -> CalibrationView:
    """A calibration in the reader's words."""
    return CalibrationView(
        blocks=sent(calibration_blocks(found, say)),
        findings=sent(finding_blocks(found.findings, say)),
        narrowed=[
            CalibratedField(
                field=f"transport.{each.name}",
                value=f"{each.value:.4g}",
                low=f"{each.low:.4g}",
                high=f"{each.high:.4g}",
            )
            for each in found.inputs
            if each.is_decided
        ],
    )


def _name(way: SimulatedWay, say: Wording) -> str:
    level = say.number(way.acceleration_g)
    if not way.profile:
        return say("recorded, up to {level} g", level=level)
    return say(
        "{profile}, {direction}, {level} g",
        profile=way.profile,
        direction=direction_name(way.direction),
        level=level,
    )
