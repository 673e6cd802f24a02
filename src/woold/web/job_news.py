"""What is told of a job: its latest news, and all of it as server-sent events."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator, Callable
from typing import Any, Literal, TypeVar

from fastapi import Request
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from woold.web.answers import OneProblem, problems
from woold.web.documents import Document, named
from woold.web.jobs import EventName, Job, JobNews, Jobs, Progress, TooManyJobsError, Work
from woold.web.workers import Call, Workers
from woold.words import say

__all__ = [
    "JOB_ID",
    "LONGEST_S",
    "NewsDocument",
    "WorkNews",
    "answer_of",
    "events_of",
    "in_worker",
    "job_of",
    "news_in",
    "started",
    "work_begun",
]

JOB_ID = r"^[0-9a-f]{32}$"

LONGEST_S = 1_800.0
"""Work that takes longer is ended [s]."""

_LOOK_AGAIN = 0.1
"""Between two looks at a job [s]."""

_SIGN_OF_LIFE = 100
"""Looks without news after which a line is sent, so that nothing on the way hangs up."""


class NewsDocument(Document):
    """A job, and the latest of it.

    Args:
        job: its id.
        event: progress, or one of the ends: result, problems, cancelled.
        step: what is being done; `done` of `steps` where these are counted.
        errors: why it was refused.
    """

    job: str
    event: EventName
    step: str
    done: int | None
    steps: int | None
    errors: list[OneProblem]


class WorkNews(NewsDocument):
    """Work that takes a while, and the latest of it: what /api/work/{job}/events tells.

    Args:
        job: its id.
        event: progress, or one of the ends: result, problems, cancelled.
        step: what is being done; `done` of `steps` where these are counted.
        errors: why it was refused.
    """

    schema_: Literal["work-news"] = named("work-news")


AnyNews = TypeVar("AnyNews", bound=NewsDocument)


def news_in(kind: type[AnyNews], job: Job, event: JobNews) -> AnyNews:
    """One event of a job as a document of some kind."""
    counted = re.search(r"(\d+)\D+(\d+)$", event.step)
    return kind(
        job=job.id,
        event=event.name,
        step=event.step,
        done=int(counted[1]) if counted else None,
        steps=int(counted[2]) if counted else None,
        errors=problems(event.problems),
    )


def work_begun(job: Job) -> WorkNews:
    """What is told of work that has just begun."""
    return news_in(WorkNews, job, JobNews("progress", say("starting")))


def started(request: Request, work: Work, about: object) -> Job:
    """A job that was just begun.

    Args:
        request: who asks.
        work: what is done.
        about: what was asked, kept with the job.
    """
    jobs: Jobs = request.app.state.jobs
    try:
        return jobs.start(work, about)
    except TooManyJobsError:
        detail = say("fewer searches at once; wait for one of them")
        raise HTTPException(429, detail) from None


def job_of(request: Request, job: str, about: type = object) -> Job:
    """The job of that id.

    Args:
        request: who asks.
        job: its id.
        about: what it must be about; jobs of other kinds are not found.
    """
    jobs: Jobs = request.app.state.jobs
    found = jobs.get(job)
    if found is None or not isinstance(found.about, about):
        raise HTTPException(404, say("a search that was started a short while ago"))
    return found


def in_worker(request: Request, call: Call, seconds: float = LONGEST_S) -> Work:
    """Work for a job, done by a worker of its own.

    Args:
        request: who asks.
        call: what is done; it is told how to say its steps.
        seconds: work that takes longer is ended.
    """
    workers: Workers = request.app.state.searchers

    def done(progress: Progress) -> Any:
        return workers.run(call, seconds, progress, progress.is_over)

    return done


def answer_of(job: Job, expected: str | None = None) -> Any:
    """What a job has found.

    Args:
        job: the job.
        expected: what is there otherwise, for whoever asks too early.

    Raises:
        HTTPException: nothing is found yet, or nothing was.
    """
    event = job.events[-1:]
    if not event or event[0].name != "result":
        raise HTTPException(404, expected or say("an answer that is there"))
    return event[0].result


async def events_of(
    job: Job, told: int, document: Callable[[JobNews], BaseModel]
) -> AsyncIterator[str]:
    """Server-sent events of a job: progress, and one of its ends.

    Args:
        job: the job.
        told: events that were told already.
        document: an event as it is sent.
    """
    quiet = 0
    while True:
        for number, event in enumerate(job.events[told:], start=told):
            data = document(event).model_dump_json(by_alias=True)
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
