"""The least film that holds, over HTTP: a search that tells its steps and can be cancelled."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Header, Path, Request
from pydantic import BaseModel, Field
from starlette.responses import Response, StreamingResponse

from woold.case.asked import asked_quantity
from woold.design.task import DesignTask, Goal
from woold.web.answers import refusals
from woold.web.at_work import work, worked
from woold.web.design_view import DesignView
from woold.web.documents import SentTable, named
from woold.web.job_news import (
    JOB_ID,
    NewsDocument,
    answer_of,
    events_of,
    in_worker,
    job_of,
    news_in,
    started,
)
from woold.web.jobs import Job, JobNews
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/design", tags=["designs"])

JobId = Annotated[str, Path(pattern=JOB_ID, description="As the start answered.")]


class DesignAsk(BaseModel):
    """A case, what its program shall be best at, and what else to look for."""

    case: SentTable
    goal: Goal | None = None
    profiled: bool = False
    front: bool = True
    probability: str | None = Field(default=None, max_length=64)


class DesignJob(NewsDocument):
    """A search, and the latest of it: what /api/design/{job}/events tells, one after another.

    Args:
        job: its id.
        event: progress, or one of the ends: result, problems, cancelled.
        step: what is being done; `done` of `steps` where these are counted.
        errors: why it was refused.
    """

    schema_: Literal["design-job"] = named("design-job")


@router.post("", status_code=202, responses=refusals(429))
async def start(request: Request, body: Annotated[DesignAsk, with_shelf(DesignAsk)]) -> DesignJob:
    """Start a search; it is refused where the case cannot be read."""
    case = await work(Call("woold.case.file", "case_from_table", (body.case,)))
    share = None if body.probability is None else asked_quantity("probability", body.probability)
    task = DesignTask(goal=body.goal, profiled=body.profiled, front=body.front, probability=share)
    search = Call("woold.design.study", "design_program", (case, (), task))
    job = started(request, in_worker(request, search), (body.case, body.goal))
    return _told_of(job, JobNews("progress", say("starting")))


@router.get("/{job}", response_model=DesignView, responses=refusals(404))
async def result(request: Request, job: JobId, say: Reader) -> Response:
    """What a search found, once it is over, in the reader's units."""
    found = answer_of(_job(request, job), say("a search that has found something"))
    return await worked(Call("woold.web.design_view", "design_view", (found, say)))


def _told_of(job: Job, event: JobNews) -> DesignJob:
    return news_in(DesignJob, job, event)


def _job(request: Request, job: str) -> Job:
    return job_of(request, job, tuple)


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
    stream = events_of(found, told, lambda event: _told_of(found, event))
    return StreamingResponse(stream, media_type="text/event-stream")


@router.delete("/{job}", status_code=204, responses=refusals(404))
def cancel(request: Request, job: JobId) -> None:
    """Cancel a search; one that is over already stays as it is."""
    _job(request, job).cancel()
