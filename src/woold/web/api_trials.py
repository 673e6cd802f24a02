"""Trials over HTTP: what is on record, what it says so far, corrections."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import Response

from woold.rows.blocks import Note
from woold.rows.wording import Wording
from woold.store import Store
from woold.store.tables import Record
from woold.trial.analysis import Analysis, analyse
from woold.trial.analysis_rows import analysis_blocks
from woold.trial.compare import TrialComparison
from woold.trial.correcting import CellCorrection, correct_cell
from woold.trial.entry import FORM_SHEETS, PHOTO
from woold.trial.record_rows import load_record_table
from woold.trial.records import (
    ATTEMPT,
    PLAN,
    TRIAL,
    TrialRecords,
    setup_of,
    trial_records,
)
from woold.web.answers import refusals
from woold.web.at_work import worked
from woold.web.block_data import BlockData, sent
from woold.web.chart_words import RatioChart, ratio_chart
from woold.web.documents import Document, Shaped, named, shape_of
from woold.web.people import Recorder
from woold.web.reader import Reader
from woold.web.trial_view import OpenTrial, opened_trial
from woold.web.workers import Call
from woold.words import say

__all__ = ["TrialKey", "known_trial", "router"]

router = APIRouter(prefix="/api", tags=["trials"])

TrialKey = Annotated[str, Path(pattern=r"^[a-z0-9][a-z0-9-]{0,62}$")]
Word = Annotated[str, StringConstraints(max_length=5_000)]
_QUICK_RESAMPLES = 2_000
"""Enough for a running comparison; the report takes more."""


class TrialLine(BaseModel):
    """A trial in the list."""

    key: str
    title: str
    loads_planned: int
    loads_wrapped: int


class TrialList(Document):
    """The trials of this store."""

    schema_: Literal["trials"] = named("trials")
    trials: list[TrialLine]


class Correction(BaseModel):
    """One cell to correct; no field takes the record out."""

    kind: Literal["load", "width", "pull", "gauge"]
    key: str = Field(max_length=200)
    field: str | None = Field(None, max_length=64)
    value: Word = ""
    reason: str = Field(min_length=1, max_length=2_000)
    as_typed: list[Annotated[str, StringConstraints(max_length=64)]] = Field(
        default_factory=list, max_length=50
    )


class RecordList(Document):
    """Records as they stand: cells as [typed, unit, SI value]; those of loads in rows as well."""

    schema_: Literal["trial-records"] = named("trial-records")
    records: list[Record]
    blocks: list[BlockData]


_KG = shape_of(TrialComparison, {"baseline": "baseline_kg", "candidate": "candidate_kg"})
_S = shape_of(TrialComparison, {"baseline": "baseline_s", "candidate": "candidate_s"})
_ANALYSIS = shape_of(Analysis, film=_KG, film_without_outliers=_KG | None, cycle_time=_S | None)


class Compared(Document):
    """What the trial says so far: the body of `woold trial compare --json`."""

    schema_: Literal["trial-comparison"] = named("trial-comparison")
    comparison: Annotated[Analysis, Shaped(_ANALYSIS)]
    chart: RatioChart
    blocks: list[BlockData]


def _store(request: Request) -> Store:
    store: Store = request.app.state.store
    return store


def known_trial(request: Request, key: str) -> Store:
    """The store, where it has a trial of that key.

    Raises:
        HTTPException: 404 where it has none.
    """
    store = _store(request)
    if not store.current(key, TRIAL):
        raise HTTPException(404, say("the key of a trial in this store"))
    return store


@router.get("/trials", responses=refusals())
def list_trials(request: Request) -> TrialList:
    """The trials of this store."""
    store = _store(request)
    lines = []
    for key in store.trials():
        if not store.current(key, TRIAL):
            continue
        line = TrialLine(
            key=key,
            title=setup_of(store, key).trial.title,
            loads_planned=store.count(key, PLAN),
            loads_wrapped=store.count(key, "load"),
        )
        lines.append(line)
    return TrialList(trials=lines)


@router.get("/trials/{key}", responses=refusals(404))
def open_trial(request: Request, key: TrialKey) -> OpenTrial:
    """A trial as a form needs it."""
    return opened_trial(known_trial(request, key), key)


@router.get("/trials/{key}/records", responses=refusals(404))
def records(request: Request, key: TrialKey, say: Reader) -> RecordList:
    """Every record of the trial as it stands, also those that were taken out."""
    store = known_trial(request, key)
    kinds = (*(sheet.kind for sheet in FORM_SHEETS), ATTEMPT, PHOTO)
    return _record_list([each for kind in kinds for each in store.current(key, kind)], say)


def _record_list(records: list[Record], say: Wording) -> RecordList:
    loads = [each for each in records if each.kind in ("load", ATTEMPT)]
    blocks = sent([load_record_table(loads, say, with_state=True)]) if loads else []
    return RecordList(records=records, blocks=blocks)


@router.get("/trials/{key}/history", responses=refusals(404))
def history(request: Request, key: TrialKey, say: Reader) -> RecordList:
    """Every row ever written in the trial, oldest first: who changed what, when and why."""
    return _record_list(list(known_trial(request, key).history(key)), say)


@router.post("/trials/{key}/corrections", status_code=204, responses=refusals(404, 409))
def correct(request: Request, key: TrialKey, body: Correction, person: Recorder) -> None:
    """Correct one cell, or take a record out; what stood there before is kept."""
    store = known_trial(request, key)
    as_typed = tuple(body.as_typed)
    correction = CellCorrection(body.kind, body.key, body.field, body.value, body.reason, as_typed)
    correct_cell(store, key, correction, person.name)


@router.get("/trials/{key}/comparison", response_model=Compared, responses=refusals(404))
async def comparison(request: Request, key: TrialKey, say: Reader) -> Response:
    """What the trial says so far."""
    store = await run_in_threadpool(known_trial, request, key)
    records = await run_in_threadpool(trial_records, store, key)
    return await worked(Call(__name__, "compared", (records, say)))


def compared(records: TrialRecords, say: Wording) -> Compared:
    """What a worker makes of a trial's records."""
    found = analyse(records, resamples=_QUICK_RESAMPLES)
    findings = [Note(each.field, say.sentence(each.message)) for each in found.findings]
    return Compared(
        comparison=found,
        chart=ratio_chart(found, say),
        blocks=sent([*analysis_blocks(found, say), *findings]),
    )
