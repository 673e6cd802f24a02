"""Watching that a saving stays, over HTTP: charts of cycle records, alarms, and a whole fleet."""

from __future__ import annotations

import datetime
import hashlib
import pickle
from dataclasses import dataclass, replace
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.case.asked import cells_of
from woold.errors import InputError, fields_renamed
from woold.report.making import Making
from woold.report.model import InputHash, Report
from woold.report.watch_report import watch_report
from woold.rows.wording import Wording
from woold.store import Store
from woold.trial.records import TrialRecords, trial_records
from woold.watch.fleet import summarise_fleet
from woold.watch.fleet_rows import fleet_blocks
from woold.watch.from_store import candidate_loads, promises_of_trial
from woold.watch.machine import MachineWatch, watch_machine
from woold.watch.records import Records, read_records
from woold.watch.rows import most_urgent
from woold.watch.settings import WatchSettings, settings_of
from woold.watch.text_fleet import fleet_of_records
from woold.web.answers import refusals
from woold.web.at_work import at_work, work, worked
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, SentTable, named
from woold.web.form_fields import FormSection, watch_sections
from woold.web.made_lately import laid_out, lately, made_key
from woold.web.reader import Reader
from woold.web.report_data import ReportView, shown_report
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/watch", tags=["watch"])

_LONGEST_S = 300.0
"""For the records of a month."""

Text = Annotated[str, StringConstraints(max_length=300)]


class RecordsSent(BaseModel):
    """Cycle records: files with a row for each load, and what they are watched against.

    `columns` gives a known column its name in the files; `as_typed` names what was asked about
    and is right.
    """

    files: list[SentFile] = Field(default_factory=list, max_length=50)
    settings: SentTable = Field(default_factory=dict)
    columns: dict[Text, Text] = Field(default_factory=dict, max_length=50)
    as_typed: list[Text] = Field(default_factory=list, max_length=200)


class WatchAsked(RecordsSent):
    """What is watched: files, or the candidate's loads of a trial of this store.

    `promise` is the trial whose saving was promised; `since` leaves out events before a day.
    """

    trial: Text = ""
    promise: Text = ""
    since: datetime.date | None = None


class WatchFields(Document):
    """What a watch can be told."""

    schema_: Literal["watch-fields"] = named("watch-fields")
    sections: list[FormSection]


class WatchView(Document):
    """A watch as a report, and whether any machine gives an alarm or keeps less than promised."""

    schema_: Literal["watch-shown"] = named("watch-shown")
    is_alarm: bool
    report: ReportView


class FleetShown(Document):
    """Every machine of a fleet, the largest loss of film first."""

    schema_: Literal["fleet-shown"] = named("fleet-shown")
    is_alarm: bool
    blocks: list[BlockData]


@dataclass(frozen=True, slots=True)
class _OfStore:
    """Records of the trials that were named, None where none was."""

    trial: TrialRecords | None
    promise: TrialRecords | None


@router.get("", responses=refusals())
def watch_fields() -> WatchFields:
    """What a watch can be told: film, promise, charts."""
    return WatchFields(sections=watch_sections())


@router.post("", response_model=WatchView, responses=refusals(), max_body_size=LARGEST_FILE_BODY)
async def watch(request: Request, body: WatchAsked, say: Reader) -> Response:
    """Charts of the loads of each machine, alarms, and what is kept of the promised saving."""
    kept = await run_in_threadpool(_of_store, request, body)
    report, is_alarm = await _made(request, body, kept, say)
    return await worked(Call(__name__, "watch_shown", (report, is_alarm)))


@router.post(
    "/report/{kind}",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}, "text/html": {}}}, **refusals()},
    max_body_size=LARGEST_FILE_BODY,
)
async def watch_file(
    request: Request, kind: Literal["pdf", "html"], body: WatchAsked, say: Reader
) -> Response:
    """The same as a file to hand over."""
    kept = await run_in_threadpool(_of_store, request, body)
    found = lately(request).find(await run_in_threadpool(_key, body, kept, say))
    report, _ = found or await _made(request, body, kept, say)
    content = await laid_out(report, kind, _LONGEST_S)
    headers = {"content-disposition": f'attachment; filename="watch.{kind}"'}
    media_type = "application/pdf" if kind == "pdf" else "text/html"
    return Response(content, media_type=media_type, headers=headers)


@router.post("/fleet", responses=refusals(), max_body_size=LARGEST_FILE_BODY)
@at_work
def fleet(body: RecordsSent, say: Reader) -> FleetShown:
    """Every machine of a fleet by its days, the largest loss of film first."""
    columns, fields = cells_of(body.as_typed)
    settings = settings_of(body.settings, fields)
    records = _records_sent(body, columns)
    right = [f"fleet {name}" for name in records.frame.columns]  # asked about by file
    summary = summarise_fleet(fleet_of_records(records.frame), settings, right)
    summary = replace(summary, findings=(*records.findings, *summary.findings))
    is_alarm = any(
        bool(row.alarms) or (row.savings is not None and row.savings.falls_short)
        for row in summary.rows
    )
    return FleetShown(is_alarm=is_alarm, blocks=sent(fleet_blocks(summary, say)))


def _of_store(request: Request, body: WatchAsked) -> _OfStore:
    """The trials that are named.

    Raises:
        InputError: files and a trial, or neither; or no such trial.
    """
    if bool(body.files) == bool(body.trial):
        raise InputError.one(
            "records",
            say("files and a trial") if body.files else say("nothing"),
            say("files, or a trial of this store"),
            say("Name the files, or the trial whose loads are watched."),
        )
    store: Store = request.app.state.store

    def named_trial(field: str, key: str) -> TrialRecords | None:
        if not key:
            return None
        if key not in store.trials():
            raise InputError.one(
                field,
                key,
                ", ".join(store.trials()) or say("a trial in the store"),
                say("Choose one of them."),
            )
        return trial_records(store, key)

    return _OfStore(named_trial("trial", body.trial), named_trial("promise", body.promise))


def _records_sent(body: RecordsSent, columns: list[str]) -> Records:
    if not body.files:
        raise InputError.one(
            "files",
            say("nothing"),
            say("CSV or Parquet files, a row for each load"),
            say("Choose the files that the machines wrote."),
        )
    with files_at(body.files) as paths:
        return read_records(paths, body.columns, columns)


def _watched(body: WatchAsked, kept: _OfStore) -> tuple[list[MachineWatch], WatchSettings, Records]:
    columns, fields = cells_of(body.as_typed)
    settings = settings_of(body.settings, fields)
    with fields_renamed({"--trial": "trial", "--promise": "promise"}):
        if kept.promise is not None:
            promise = promises_of_trial(kept.promise)
            settings = WatchSettings(film=settings.film, promise=promise, charts=settings.charts)
        records = candidate_loads(kept.trial) if kept.trial else _records_sent(body, columns)
    start = datetime.datetime.combine(body.since, datetime.time()) if body.since else None
    parts = records.frame.partition_by("machine", maintain_order=True)
    machines = most_urgent([watch_machine(part, settings, start) for part in parts])
    return machines, settings, records


async def _made(
    request: Request, body: WatchAsked, kept: _OfStore, say: Wording
) -> tuple[Report, bool]:
    made: tuple[Report, bool] = await work(
        Call(__name__, "watch_reported", (body, kept, say)), _LONGEST_S
    )
    lately(request).keep(await run_in_threadpool(_key, body, kept, say), made)
    return made


def _key(body: WatchAsked, kept: _OfStore, say: Wording) -> str:
    files = [(each.name, hashlib.sha256(each.content).hexdigest()) for each in body.files]
    of_store = hashlib.sha256(pickle.dumps(kept)).hexdigest()
    return made_key(say, "watch", files, body.model_dump(mode="json", exclude={"files"}), of_store)


def watch_reported(body: WatchAsked, kept: _OfStore, say: Wording) -> tuple[Report, bool]:
    """What a worker makes of the records, and whether any machine gives an alarm."""
    machines, settings, records = _watched(body, kept)
    hashes = tuple(
        InputHash(each.name, hashlib.sha256(each.content).hexdigest()) for each in body.files
    )
    making = Making(say, datetime.datetime.now(datetime.UTC).replace(microsecond=0), inputs=hashes)
    is_alarm = any(
        bool(each.events) or (each.savings is not None and each.savings.falls_short)
        for each in machines
    )
    return watch_report(machines, settings, records.findings, making), is_alarm


def watch_shown(report: Report, is_alarm: bool) -> WatchView:
    """The same as the page lays it out."""
    return WatchView(is_alarm=is_alarm, report=shown_report(report, "watch", "watch"))
