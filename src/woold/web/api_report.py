"""Reports and set-up sheets over HTTP: shown as blocks, or as a page or PDF to take away."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field
from starlette.responses import Response

from woold.errors import InputError
from woold.report.model import Report
from woold.rows.typeset import Paper
from woold.rows.wording import Wording
from woold.web.answers import refusals
from woold.web.at_work import work, worked
from woold.web.documents import SentTable
from woold.web.jobs import Jobs
from woold.web.made_lately import laid_out, lately, made_key
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader
from woold.web.report_data import ReportView
from woold.web.report_view import ReportAsked, ReportKind, report_stem, stated
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/reports", tags=["reports"])

_REPORT_S = 300.0
"""A report with its random draws takes some seconds; on a crowded machine, more."""

_TYPES = {"pdf": "application/pdf", "html": "text/html"}


class ReportBody(BaseModel):
    """A case and what its report is.

    Args:
        candidate: case whose carriage is compared; for a report of two carriages.
        job: search whose result is reported; for a report of a design, whose case it brings along.
        at: the time that it states: that of a report which was shown makes the same one again.
    """

    case: SentTable
    candidate: SentTable | None = None
    job: str | None = Field(default=None, pattern=r"^[0-9a-f]{32}$")
    paper: Paper = "a4"
    at: datetime | None = None


Body = Annotated[ReportBody, with_shelf(ReportBody)]


@router.post("/{kind}", response_model=ReportView, responses=refusals())
async def show_report(request: Request, kind: ReportKind, body: Body, say: Reader) -> Response:
    """The report in blocks, as the page shows and prints it."""
    asked = _asked(request, kind, body, say)
    report = await _made(request, body, asked)
    shown = Call("woold.web.report_data", "shown_report", (report, kind, report_stem(asked)))
    return await worked(shown)


@router.post(
    "/{kind}/{format}",
    response_class=Response,
    responses={200: {"content": {each: {} for each in _TYPES.values()}}, **refusals()},
)
async def report_to_keep(
    request: Request, kind: ReportKind, format: Literal["pdf", "html"], body: Body, say: Reader
) -> Response:
    """The report as a file that needs nothing else: a page, or PDF to print."""
    asked = _asked(request, kind, body, say)
    content = await laid_out(await _made(request, body, asked), format, _REPORT_S)
    headers = {"content-disposition": f'attachment; filename="{report_stem(asked)}.{format}"'}
    return Response(content, media_type=_TYPES[format], headers=headers)


async def _made(request: Request, body: ReportBody, asked: ReportAsked) -> Report:
    """The report that was made at the time that is stated; one that is not there is made."""

    def key(at: datetime) -> str:
        sent = (asked.case, asked.candidate, body.job, asked.goal, asked.paper)
        return made_key(asked.wording, asked.kind, *sent, at.isoformat())

    found: Report | None = None
    if asked.at is not None:
        found = lately(request).find(key(stated(asked.at)))
    if found is None:
        found = await work(Call("woold.web.report_view", "report_asked", (asked,)), _REPORT_S)
        lately(request).keep(key(found.made_at), found)
    return found


def _asked(request: Request, kind: ReportKind, body: ReportBody, wording: Wording) -> ReportAsked:
    candidate = body.candidate if kind == "carriages" else None
    asked = ReportAsked(kind, body.case, candidate, "", None, body.paper, body.at, wording)
    if kind != "design":
        return asked
    jobs: Jobs = request.app.state.jobs
    job = jobs.get(body.job) if body.job else None
    if (
        job is None
        or not isinstance(job.about, tuple)
        or not job.events
        or job.events[-1].name != "result"
    ):
        raise InputError.one(
            "job",
            say("no search of which this server still knows the result"),
            say("a search that has found something"),
            say("Search on the design page, then come back."),
        )
    case, goal = job.about
    return ReportAsked(
        kind, case, None, goal or "", job.events[-1].result, body.paper, body.at, wording
    )
