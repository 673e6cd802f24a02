"""Files of a trial to take away: worksheet, report, everything that is kept."""

from __future__ import annotations

import datetime
import tempfile
from pathlib import Path
from typing import Literal

from fastapi import APIRouter, Request
from starlette.responses import Response

from woold.report.html import report_html
from woold.report.making import Making
from woold.report.pdf import report_pdf
from woold.report.trial_report import trial_report
from woold.rows.wording import Wording
from woold.trial.analysis import analyse
from woold.trial.export import export_trial
from woold.trial.records import planned_loads, setup_of, trial_records
from woold.trial.worksheet import worksheet_bytes
from woold.web.answers import refusals
from woold.web.api_trials import TrialKey, known_trial

__all__ = ["router"]

router = APIRouter(prefix="/api/trials", tags=["trials"])

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
def worksheet(request: Request, key: TrialKey) -> Response:
    """The worksheet to print or fill in, as a workbook."""
    store = known_trial(request, key)
    content = worksheet_bytes(setup_of(store, key), planned_loads(store, key))
    return _file(content, f"{key}.xlsx", _XLSX)


@router.get(
    "/{key}/report/{kind}",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}, "text/html": {}}}, **refusals(404)},
)
def report(request: Request, key: TrialKey, kind: Literal["pdf", "html"]) -> Response:
    """The report of the trial, raw records included."""
    records = trial_records(known_trial(request, key), key)
    now = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
    time = now.isoformat().replace("+00:00", "Z")
    making = Making(Wording(), now, command=f"woold report trial {key} --time {time}")
    made = trial_report(records, analyse(records), making)
    if kind == "pdf":
        return _file(report_pdf(made), f"{key}-report.pdf", "application/pdf")
    return _file(report_html(made).encode(), f"{key}-report.html", "text/html")


@router.get(
    "/{key}/export",
    response_class=Response,
    responses={200: {"content": {"application/zip": {}}}, **refusals(404)},
)
def export(request: Request, key: TrialKey) -> Response:
    """Everything that is kept of the trial, with its history and pictures."""
    store = known_trial(request, key)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{key}.zip"
        export_trial(store, key, path)
        return _file(path.read_bytes(), path.name, "application/zip")
