"""The least film that holds, over HTTP: a search that tells its steps and can be cancelled."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Request
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.responses import StreamingResponse

from woold.case.file import case_from_table
from woold.design.task import DesignTask, Goal
from woold.errors import InputError
from woold.units import parse_quantity
from woold.web.answers import Answer, refusals
from woold.web.jobs import Job, Jobs, TooManyJobsError
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/design", tags=["designs"])

JobId = Annotated[str, Path(pattern=r"^[0-9a-f]{32}$", description="As the start answered.")]

_LOOK_AGAIN = 0.1
"""Between two looks at a job [s]."""

_SIGN_OF_LIFE = 100
"""Looks without news after which a line is sent, so that nothing on the way hangs up."""


class DesignAsk(BaseModel):
    """A case, what its program shall be best at, and what else to look for."""

    case: dict[str, Any]
    goal: Goal = "film"
    profiled: bool = False
    front: bool = True
    probability: str | None = Field(default=None, max_length=64)


class StartedJob(BaseModel):
    """The job, to be listened to at /api/design/{job}/events."""

    job: str


@router.post("", response_model=StartedJob, status_code=202, responses=refusals(429))
def start(request: Request, body: DesignAsk) -> Answer:
    """Start a search; it is refused where the case cannot be read."""
    case = case_from_table(body.case)
    share = None if body.probability is None else _share(body.probability)

    def work(progress: Callable[[str], None]) -> Any:
        from woold.design.study import design_program

        task = DesignTask(
            goal=body.goal, profiled=body.profiled, front=body.front, probability=share
        )
        result = design_program(case, (), task, progress)
        return result.to_json()

    jobs: Jobs = request.app.state.jobs
    try:
        job = jobs.start(work)
    except TooManyJobsError:
        raise HTTPException(429, "fewer searches at once; wait for one of them") from None
    return Answer({"job": job.id}, status_code=202)


def _share(text: str) -> float:
    share = parse_quantity(text, "fraction", "probability")
    if not 0.5 <= share <= 0.99:
        raise InputError.one("probability", text, say("50 % to 99 %"))
    return share


def _job(request: Request, job: str) -> Job:
    jobs: Jobs = request.app.state.jobs
    found = jobs.get(job)
    if found is None:
        raise HTTPException(404, "a job that was started a short while ago")
    return found


@router.get(
    "/{job}/events",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {}}}, **refusals(404)},
)
def events(
    request: Request, job: JobId, last_event_id: Annotated[int | None, Header(ge=0)] = None
) -> StreamingResponse:
    """Server-sent events: progress, and one of result, problems and cancelled at the end."""
    found = _job(request, job)
    told = 0 if last_event_id is None else last_event_id + 1
    return StreamingResponse(_told(found, told), media_type="text/event-stream")


async def _told(job: Job, told: int) -> AsyncIterator[str]:
    quiet = 0
    while True:
        for number, event in enumerate(job.events[told:], start=told):
            data = json.dumps(event.data, allow_nan=False, separators=(",", ":"))
            yield f"id: {number}\nevent: {event.name}\ndata: {data}\n\n"
            told, quiet = number + 1, 0
            if event.is_end:
                return
        if job.is_over and told >= len(job.events):
            return
        quiet += 1
        if quiet % _SIGN_OF_LIFE == 0:
            yield ": still at it\n\n"
        await asyncio.sleep(_LOOK_AGAIN)


@router.delete("/{job}", status_code=204, responses=refusals(404))
def cancel(request: Request, job: JobId) -> None:
    """Cancel a search; one that is over already stays as it is."""
    _job(request, job).cancel()
