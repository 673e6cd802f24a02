"""Files of a trial to take away: worksheet, report, everything that is kept."""

from __future__ import annotations

import datetime
import tempfile
from typing import Literal

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.report.making import Making
from woold.report.model import Report
from woold.report.trial_report import trial_report
from woold.rows.typeset import Paper
from woold.rows.wording import Wording
from woold.trial.analysis import analyse
from woold.trial.export import export_trial
from woold.trial.records import TrialRecords, planned_loads, setup_of, trial_records
from woold.web.answers import refusals
from woold.web.api_trials import TrialKey, known_trial
from woold.web.at_work import work, worked
from woold.web.made_lately import laid_out, lately, made_key
from woold.web.reader import Reader
from woold.web.report_data import ReportView
from woold.web.report_view import stated
from woold.web.workers import Call

__all__ = ["router"]

router = APIRouter(prefix="/api/trials", tags=["trials"])

_REPORT_S = 300.0
"""A report of thousands of loads takes a minute."""

_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def _file(content: bytes, name: str, media_type: str) -> Response:
    """A file that the browser saves, and never shows as a page of ours."""
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type=media_type, headers=headers)


@router.get(
    "/{key}/worksheet",
    response_class=Response,
    responses={200: {"content": {_XLSX: {}}}, **refusals(404)},
)
async def worksheet(request: Request, key: TrialKey, paper: Paper = "a4") -> Response:
    """The worksheet to print or fill in, as a workbook."""
    store = await run_in_threadpool(known_trial, request, key)
    setup = await run_in_threadpool(setup_of, store, key)
    loads = await run_in_threadpool(planned_loads, store, key)
    made = Call("woold.trial.worksheet", "worksheet_bytes", (setup, loads, None, paper))
    content = await work(made)
    return _file(content, f"{key}.xlsx", _XLSX)


@router.get(
    "/{key}/form/{kind}",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}, **refusals(404)},
)
async def form(
    request: Request, key: TrialKey, kind: Literal["pages", "list"], paper: Paper = "a4"
) -> Response:
    """The form to print: a large page for each load, or a list of all in small print."""
    store = await run_in_threadpool(known_trial, request, key)
    setup = await run_in_threadpool(setup_of, store, key)
    loads = await run_in_threadpool(planned_loads, store, key)
    made = Call("woold.trial.form", "form_pdf", (setup, loads, paper, kind == "list"))
    content = await work(made, _REPORT_S)
    return _file(content, f"{key}-form.pdf", "application/pdf")


@router.get(
    "/{key}/report/{kind}",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}, "text/html": {}}}, **refusals(404)},
)
async def report(
    request: Request,
    key: TrialKey,
    kind: Literal["pdf", "html"],
    say: Reader,
    at: datetime.datetime | None = None,
) -> Response:
    """The report of the trial, raw records included.

    `at` is when a report that was shown was made: the same one, while the server keeps it; else it
    is made anew, of the records as they are now.
    """
    await run_in_threadpool(known_trial, request, key)
    found = None if at is None else lately(request).find(_key(say, key, stated(at)))
    content = await laid_out(found or await _made(request, key, say), kind, _REPORT_S)
    media_type = "application/pdf" if kind == "pdf" else "text/html"
    return _file(content, f"{key}-report.{kind}", media_type)


@router.get("/{key}/report", response_model=ReportView, responses=refusals(404))
async def report_page(request: Request, key: TrialKey, say: Reader) -> Response:
    """The report of the trial as a page shows it, raw records included."""
    made = await _made(request, key, say)
    return await worked(
        Call("woold.web.report_data", "shown_report", (made, "trial", f"{key}-report"))
    )


async def _made(request: Request, key: str, say: Wording) -> Report:
    store = await run_in_threadpool(known_trial, request, key)
    records = await run_in_threadpool(trial_records, store, key)
    made: Report = await work(Call(__name__, "report_of_trial", (records, key, say)), _REPORT_S)
    lately(request).keep(_key(say, key, made.made_at), made)
    return made


def _key(say: Wording, key: str, at: datetime.datetime) -> str:
    return made_key(say, "trial", key, at.isoformat())


def report_of_trial(records: TrialRecords, key: str, say: Wording) -> Report:
    """What a worker makes of a trial's records."""
    return trial_report(records, analyse(records), _making(key, say))


def _making(key: str, say: Wording) -> Making:
    now = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
    time = now.isoformat().replace("+00:00", "Z")
    return Making(say, now, command=f"woold report trial {key} --time {time}")


@router.get(
    "/{key}/export",
    response_class=Response,
    responses={200: {"content": {"application/zip": {}}}, **refusals(404)},
)
def export(request: Request, key: TrialKey) -> Response:
    """Everything that is kept of the trial, with its history and pictures."""
    store = known_trial(request, key)
    with tempfile.TemporaryFile() as stream:
        export_trial(store, key, stream)
        stream.seek(0)
        return _file(stream.read(), f"{key}.zip", "application/zip")
