"""Trials over HTTP: plan, start, write loads down from a phone, compare, correct."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.exceptions import HTTPException

from woold.case.text import LARGEST_TEXT, table_from_toml
from woold.errors import InputError, Problem
from woold.rows.blocks import to_data
from woold.rows.wording import Wording
from woold.store import Store
from woold.trial.analysis import analyse
from woold.trial.analysis_rows import analysis_blocks
from woold.trial.beside import expectations
from woold.trial.entry import FORM_SHEETS, PHOTO, Entry, take_entry
from woold.trial.plan import TrialPlan, plan_trial
from woold.trial.records import (
    TRIAL,
    CellCorrection,
    correct_cell,
    planned_loads,
    setup_of,
    trial_records,
)
from woold.trial.setup import TREATMENTS, TrialSetup, starter_text, trial_from_tables
from woold.trial.sheets import Sheet, SheetField, fields_asked
from woold.trial.starting import start_trial
from woold.trial.worksheet import zone_heights
from woold.units import parse_quantity
from woold.web.answers import Answer, refusals
from woold.web.api_saved import ClientId
from woold.web.people import Manager, Recorder
from woold.words import say

__all__ = ["TrialKey", "known_trial", "router"]

router = APIRouter(prefix="/api", tags=["trials"])

TrialKey = Annotated[str, Path(pattern=r"^[a-z0-9][a-z0-9-]{0,62}$")]
Word = Annotated[str, StringConstraints(max_length=5_000)]
_QUICK_RESAMPLES = 2_000
"""Enough for a running comparison; the report takes more."""


class TrialFiles(BaseModel):
    """A trial file's text, and the texts of the case files that it names."""

    toml: str = Field(max_length=LARGEST_TEXT)
    cases: dict[str, Annotated[str, StringConstraints(max_length=LARGEST_TEXT)]] = Field(
        default_factory=dict, max_length=120
    )
    loads_per_treatment: int | None = Field(None, ge=1, le=20_000)


class TrialStarter(BaseModel):
    """A commented trial file."""

    toml: str


class StartTrial(TrialFiles):
    """A trial to start, or to change while nothing stands against it."""

    reason: str = Field("", max_length=2_000)


class Plan(BaseModel):
    """A plan: how many loads, what they can show, and their order."""

    key: str
    title: str
    plan: dict[str, Any]


class TrialLine(BaseModel):
    """A trial in the list."""

    key: str
    title: str
    loads_planned: int
    loads_wrapped: int


class TrialList(BaseModel):
    """The trials of this store."""

    trials: list[TrialLine]


class OpenTrial(BaseModel):
    """A trial as a form needs it: what is next, and what can be written down.

    `sheets` lists the fields of each kind of row with the units on offer; `order` the planned
    loads, each with whether it was wrapped; `zone_heights_m` the heights at which to measure.
    """

    key: str
    title: str
    question: str
    units: str
    treatments: list[str]
    load_types: list[str]
    zone_names: list[str]
    zone_heights_m: dict[str, list[float]]
    expected_film_mass_kg: dict[str, dict[str, float]]
    order: list[dict[str, Any]]
    wrapped: list[str]
    sheets: list[dict[str, Any]]


class TypedCell(BaseModel):
    """A value as it was typed, and the unit that was chosen; no unit for words and counts."""

    typed: Word
    unit: str = Field("", max_length=32)


FormRow = dict[Annotated[str, StringConstraints(max_length=64)], TypedCell]


class EntryBody(BaseModel):
    """One wrapped load: its own row, and the widths and pull readings that were measured on it."""

    load: FormRow = Field(default_factory=dict)
    widths: list[FormRow] = Field(default_factory=list, max_length=200)
    pulls: list[FormRow] = Field(default_factory=list, max_length=200)
    photos: list[Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]] = Field(
        default_factory=list, max_length=50
    )
    as_typed: list[Annotated[str, StringConstraints(max_length=120)]] = Field(
        default_factory=list, max_length=500
    )
    reason: str = Field("", max_length=2_000)


class Taken(BaseModel):
    """What was taken into the store."""

    added: dict[str, int]
    completed: int
    corrected: int
    known: int
    known_entry: bool


class Correction(BaseModel):
    """One cell to correct; no field takes the record out."""

    kind: Literal["load", "width", "pull", "gauge"]
    key: str = Field(max_length=200)
    field: str | None = Field(None, max_length=64)
    value: Word = ""
    reason: str = Field(min_length=1, max_length=2_000)


class RecordList(BaseModel):
    """Records as they stand: cells as [typed, unit, SI value]."""

    records: list[dict[str, Any]]


class Compared(BaseModel):
    """What the trial says so far: the document of `woold trial analyse --json`, and in blocks."""

    comparison: dict[str, Any]
    blocks: list[dict[str, Any]]


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
        raise HTTPException(404, "the key of a trial in this store")
    return store


@router.get("/trials", response_model=TrialList, responses=refusals())
def list_trials(request: Request) -> Answer:
    """The trials of this store."""
    store = _store(request)
    lines = []
    for key in store.trials():
        loads = [each for each in store.current(key, "load") if not each.void]
        if not store.current(key, TRIAL):
            continue
        lines.append(
            {
                "key": key,
                "title": setup_of(store, key).trial.title,
                "loads_planned": len(planned_loads(store, key)),
                "loads_wrapped": len(loads),
            }
        )
    return Answer({"trials": lines})


def _setup(body: TrialFiles) -> TrialSetup:
    cases = {name: table_from_toml(text) for name, text in body.cases.items()}
    setup = trial_from_tables(table_from_toml(body.toml), cases)
    named = [
        (f"load_types[{place}].{treatment}", getattr(each, treatment))
        for place, each in enumerate(setup.trial.load_types)
        for treatment in TREATMENTS
    ]
    missing = [(field, name) for field, name in named if name and name not in cases]
    if missing:
        raise InputError.many(
            Problem(
                field,
                say("{name}, which was not sent along", name=name),
                say("a case file"),
                say("Add the file."),
            )
            for field, name in missing
        )
    return setup


def _plan_json(setup: TrialSetup, plan: TrialPlan) -> dict[str, Any]:
    document = {**asdict(plan), "aim": plan.aim.model_dump()}
    return {"key": setup.trial.key, "title": setup.trial.title, "plan": document}


@router.get("/trial-plan", response_model=TrialStarter, responses=refusals())
def trial_starter() -> Answer:
    """A commented trial file to start from."""
    return Answer({"toml": starter_text()})


@router.post("/trial-plan", response_model=Plan, responses=refusals())
def plan(body: TrialFiles) -> Answer:
    """How many loads a trial needs, what they can show, and in which order to wrap them."""
    setup = _setup(body)
    return Answer(
        _plan_json(setup, plan_trial(setup.trial, loads_per_treatment=body.loads_per_treatment))
    )


@router.post("/trials", response_model=Plan, status_code=201, responses=refusals(409))
def start(request: Request, body: StartTrial, person: Manager) -> Answer:
    """Start a trial: its order is fixed, and loads can be written down."""
    setup = _setup(body)
    found = plan_trial(setup.trial, loads_per_treatment=body.loads_per_treatment)
    start_trial(_store(request), setup, found.order, person.name, body.reason)
    return Answer(_plan_json(setup, found), status_code=201)


@router.get("/trials/{key}", response_model=OpenTrial, responses=refusals(404))
def open_trial(request: Request, key: TrialKey) -> Answer:
    """A trial as a form needs it."""
    store = known_trial(request, key)
    setup = setup_of(store, key)
    trial = setup.trial
    wrapped = [each.key for each in store.current(key, "load") if not each.void]
    there = set(wrapped)
    return Answer(
        {
            "key": key,
            "title": trial.title,
            "question": trial.question,
            "units": trial.units,
            "treatments": list(TREATMENTS),
            "load_types": [each.name for each in trial.load_types],
            "zone_names": list(trial.zones.names),
            "zone_heights_m": {
                each.name: list(zone_heights(setup, each.name)) for each in trial.load_types
            },
            "expected_film_mass_kg": _expected_film_mass(setup),
            "order": [
                {**asdict(load), "is_wrapped": str(load.number) in there}
                for load in planned_loads(store, key)
            ],
            "wrapped": wrapped,
            "sheets": [_sheet(sheet, trial.is_fitted_once) for sheet in FORM_SHEETS],
        }
    )


def _expected_film_mass(setup: TrialSetup) -> dict[str, dict[str, float]]:
    """Predicted film mass by load type and treatment, where the trial names a case."""
    found: dict[str, dict[str, float]] = {}
    for (code, side), expected in expectations(setup).items():
        name = setup.trial.load_types[code].name
        found.setdefault(name, {})[TREATMENTS[side]] = expected.prediction.film_mass_kg
    return found


def _sheet(sheet: Sheet, is_fitted_once: bool) -> dict[str, Any]:
    return {
        "kind": sheet.kind,
        "title": sheet.title,
        "doc": sheet.doc,
        "key": list(sheet.key),
        "fields": [_sheet_field(each) for each in fields_asked(sheet, is_fitted_once)],
    }


def _sheet_field(each: SheetField) -> dict[str, Any]:
    return {
        "name": each.name,
        "label": each.label,
        "kind": each.kind,
        "doc": each.doc,
        "required": each.required,
        "choices": list(each.choices),
        "units": list(each.units),
        "factors": {unit: parse_quantity(f"1 {unit}", each.kind, each.name) for unit in each.units},
        "metric": each.metric,
        "trade": each.trade,
        "low": each.low,
        "high": each.high,
    }


@router.put("/trials/{key}/entries/{id}", response_model=Taken, responses=refusals(404, 409))
def put_entry(
    request: Request, key: TrialKey, id: ClientId, body: EntryBody, person: Recorder
) -> Answer:
    """Write one wrapped load down, wholly or not at all; sending it again changes nothing."""

    def typed(row: FormRow) -> dict[str, tuple[str, str]]:
        return {name: (cell.typed, cell.unit) for name, cell in row.items()}

    entry = Entry(
        id=id,
        rows={
            "load": [typed(body.load)] if body.load else [],
            "width": [typed(each) for each in body.widths],
            "pull": [typed(each) for each in body.pulls],
        },
        photos=body.photos,
        as_typed=body.as_typed,
        reason=body.reason,
    )
    done = take_entry(known_trial(request, key), key, entry, person.name)
    return Answer(
        {
            "added": done.added,
            "completed": done.completed,
            "corrected": done.corrected,
            "known": done.known,
            "known_entry": done.file_known,
        }
    )


@router.get("/trials/{key}/records", response_model=RecordList, responses=refusals(404))
def records(request: Request, key: TrialKey) -> Answer:
    """Every record of the trial as it stands, also those that were taken out."""
    store = known_trial(request, key)
    kinds = (*(sheet.kind for sheet in FORM_SHEETS), PHOTO)
    found = [asdict(each) for kind in kinds for each in store.current(key, kind)]
    return Answer({"records": found})


@router.get("/trials/{key}/history", response_model=RecordList, responses=refusals(404))
def history(request: Request, key: TrialKey) -> Answer:
    """Every row ever written in the trial, oldest first: who changed what, when and why."""
    found = [asdict(each) for each in known_trial(request, key).history(key)]
    return Answer({"records": found})


@router.post("/trials/{key}/corrections", status_code=204, responses=refusals(404, 409))
def correct(request: Request, key: TrialKey, body: Correction, person: Recorder) -> None:
    """Correct one cell, or take a record out; what stood there before is kept."""
    store = known_trial(request, key)
    correct_cell(
        store,
        key,
        CellCorrection(body.kind, body.key, body.field, body.value, body.reason),
        person.name,
    )


@router.get("/trials/{key}/comparison", response_model=Compared, responses=refusals(404))
def comparison(request: Request, key: TrialKey) -> Answer:
    """What the trial says so far."""
    found = analyse(trial_records(known_trial(request, key), key), resamples=_QUICK_RESAMPLES)
    blocks = to_data(analysis_blocks(found, Wording()))
    return Answer({"comparison": found.to_json(), "blocks": blocks})
