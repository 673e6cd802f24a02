"""Work that takes a while, over HTTP: followed step by step, and stopped."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Header, Path, Request
from starlette.responses import StreamingResponse

from woold.web.answers import refusals
from woold.web.job_news import JOB_ID, WorkNews, events_of, job_of, news_in

__all__ = ["router"]

router = APIRouter(prefix="/api/work", tags=["lines"])

WorkId = Annotated[str, Path(pattern=JOB_ID, description="As the question answered.")]


@router.get(
    "/{job}/events",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {}}}, **refusals(404)},
)
def work_events(
    request: Request, job: WorkId, last_event_id: Annotated[int | None, Header(ge=0)] = None
) -> StreamingResponse:
    """Server-sent events: progress, and one of result, problems and cancelled at the end."""
    found = job_of(request, job)
    told = 0 if last_event_id is None else last_event_id + 1
    stream = events_of(found, told, lambda event: news_in(WorkNews, found, event))
    return StreamingResponse(stream, media_type="text/event-stream")


@router.delete("/{job}", status_code=204, responses=refusals(404))
def stop_work(request: Request, job: WorkId) -> None:
    """Stop it; a line's map goes on where it was when it is asked for again."""
    job_of(request, job).cancel()
