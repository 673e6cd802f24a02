"""Trials over HTTP before they run: the form, what the trial can show, and its start."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.case.text import LARGEST_TEXT, table_from_toml, toml_from_table
from woold.errors import InputError, Problem
from woold.rows.blocks import Block, Note
from woold.rows.wording import Wording
from woold.store import Store
from woold.trial.from_cases import CaseOfTrial, trial_of_cases
from woold.trial.load_order import PlannedLoad
from woold.trial.percent import percent
from woold.trial.pilot import pilot_spread
from woold.trial.plan import TrialPlan, plan_trial
from woold.trial.plan_rows import plan_blocks
from woold.trial.setup import TREATMENTS, Trial, TrialSetup, trial_from_tables
from woold.trial.sheet_rows import written_down_blocks
from woold.trial.starter import starter_text
from woold.trial.starting import refuse_what_cannot_be_analysed, start_trial
from woold.web.answers import OneProblem, problems, refusals
from woold.web.at_work import as_sent, at_work, work
from woold.web.block_data import BlockData, sent
from woold.web.documents import CaseTable, Document, SentTable, named
from woold.web.form_fields import FormSection, trial_sections
from woold.web.on_shelf import texts_with_shelf
from woold.web.people import Manager
from woold.web.reader import Reader
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["trials"])

CaseToml = Annotated[str, StringConstraints(max_length=LARGEST_TEXT)]


class TrialForm(BaseModel):
    """A trial file's tables, and the texts of the case files that it names."""

    trial: SentTable
    cases: dict[str, CaseToml] = Field(default_factory=dict, max_length=120)
    loads_per_treatment: int | None = Field(None, ge=1, le=20_000)


class StartTrial(TrialForm):
    """A trial to start, or to change while nothing stands against it."""

    reason: str = Field("", max_length=2_000)


class TrialToml(BaseModel):
    """The text of a trial file."""

    toml: str = Field(max_length=LARGEST_TEXT)


class NamedCase(BaseModel):
    """A case file's text, and the name by which the trial calls it."""

    name: str = Field(min_length=1, max_length=200)
    toml: CaseToml


class CasesOfTrial(BaseModel):
    """What a trial compares, and the trial so far."""

    baseline: NamedCase
    candidate: NamedCase
    trial: SentTable = Field(default_factory=dict)


class PilotSent(BaseModel):
    """Film masses of a pilot of one load type: a file with one mass a line."""

    file: SentFile
    as_typed: list[Annotated[str, StringConstraints(max_length=300)]] = Field(
        default_factory=list, max_length=500
    )


class PilotSpread(Document):
    """The spread to plan on, as it is typed, and where it is from."""

    schema_: Literal["pilot-spread"] = named("pilot-spread")
    film_spread: str
    told: str


class TrialFields(Document):
    """The tables of a trial file and their fields, a trial to start from, what is written down."""

    schema_: Literal["trial-fields"] = named("trial-fields")
    sections: list[FormSection]
    starter: CaseTable
    written_down: list[BlockData]


class TrialText(Document):
    """The text of a trial file."""

    schema_: Literal["trial-written"] = named("trial-written")
    toml: str


class TrialTables(Document):
    """The tables of a trial file."""

    schema_: Literal["trial-read"] = named("trial-read")
    trial: CaseTable


class TrialOfCases(Document):
    """A trial of two cases, and what to know of the two."""

    schema_: Literal["trial-of-cases"] = named("trial-of-cases")
    trial: CaseTable
    findings: list[BlockData]


class Plan(Document):
    """A plan: how many loads, what they can show, and their order; what to mend before a start."""

    schema_: Literal["trial-plan"] = named("trial-plan")
    key: str
    title: str
    plan: TrialPlan
    blocks: list[BlockData]
    problems: list[OneProblem]


def _setup(body: TrialForm) -> TrialSetup:
    cases = {name: table_from_toml(text) for name, text in body.cases.items()}
    # What a form sends, and nothing that no trial file could hold.
    tables = table_from_toml(toml_from_table(body.trial, Trial))
    setup = trial_from_tables(tables, cases)
    missing = [
        (f"load_types[{place}].{treatment}", name)
        for place, each in enumerate(setup.trial.load_types)
        for treatment in TREATMENTS
        if (name := getattr(each, treatment)) and name not in cases
    ]
    if missing:
        raise InputError.many(
            Problem(
                field,
                say("{name}, which was not sent along", name=name),
                say("a case file"),
                say("Add the file, or choose another case."),
            )
            for field, name in missing
        )
    return setup


def _planned(setup: TrialSetup, plan: TrialPlan, say: Wording) -> Plan:
    trial = setup.trial
    blocks = sent(plan_blocks(trial, plan, say("the trial file"), say))
    to_mend: Sequence[Problem] = ()
    try:
        refuse_what_cannot_be_analysed(setup, plan.order)
    except InputError as error:
        to_mend = error.problems
    return Plan(
        key=trial.key, title=trial.title, plan=plan, blocks=blocks, problems=problems(to_mend)
    )


@router.get("/trial-plan", responses=refusals())
def trial_fields(say: Reader) -> TrialFields:
    """Every field of a trial: words, default, placeholder with its range, limits."""
    return TrialFields(
        sections=trial_sections(),
        starter=table_from_toml(starter_text()),
        written_down=sent(written_down_blocks(say)),
    )


@router.post("/trial-plan", responses=refusals())
@at_work
def plan(body: Annotated[TrialForm, texts_with_shelf(TrialForm)], say: Reader) -> Plan:
    """How many loads a trial needs, what they can show, and in which order to wrap them."""
    setup = _setup(body)
    found = plan_trial(setup.trial, loads_per_treatment=body.loads_per_treatment)
    return _planned(setup, found, say)


@router.post("/trial-plan/cases", responses=refusals())
@at_work
def trial_from_cases(
    body: Annotated[CasesOfTrial, texts_with_shelf(CasesOfTrial)], say: Reader
) -> TrialOfCases:
    """A trial of two cases, before and after; what is typed already stays."""
    baseline, candidate = (
        CaseOfTrial(each.name, table_from_toml(each.toml))
        for each in (body.baseline, body.candidate)
    )
    tables, findings = trial_of_cases(baseline, candidate, body.trial)
    notes: list[Block] = [Note(each.field, say.sentence(each.message)) for each in findings]
    return TrialOfCases(trial=tables, findings=sent(notes))


@router.post("/trial-plan/pilot", responses=refusals(), max_body_size=LARGEST_FILE_BODY)
@at_work
def spread_of_pilot(body: PilotSent, say: Reader) -> PilotSpread:
    """The spread of film mass in a pilot, at its upper 80 % limit: what is safe to plan on."""
    with files_at([body.file]) as (path,):
        found = pilot_spread(path, body.as_typed)
    told = say("the pilot ({spread}), at its upper 80 % limit", spread=percent(found.variation))
    if found.read_as:
        told = f"{told}. {found.read_as.rstrip('.')}"
    return PilotSpread(film_spread=percent(found.upper_limit, 2), told=told)


@router.post("/trial-plan/read", responses=refusals())
@at_work
def read_trial_text(body: TrialToml) -> TrialTables:
    """Tables of a trial file, as they are typed there."""
    return TrialTables(trial=table_from_toml(body.toml))


@router.post("/trial-plan/write", responses=refusals())
@at_work
def write_trial_text(body: TrialForm) -> TrialText:
    """Text of a trial file, as the command line reads it."""
    return TrialText(toml=toml_from_table(body.trial, Trial))


@router.post("/trials", status_code=201, response_model=Plan, responses=refusals(409))
async def start(
    request: Request,
    body: Annotated[StartTrial, texts_with_shelf(StartTrial)],
    person: Manager,
    say: Reader,
) -> Response:
    """Start a trial: its order is fixed, and loads can be written down."""
    setup, order, answer = await work(Call(__name__, "to_start", (body, say)))
    store: Store = request.app.state.store
    await run_in_threadpool(start_trial, store, setup, order, person.name, body.reason)
    return Response(answer, 201, media_type="application/json")


def to_start(body: StartTrial, say: Wording) -> tuple[TrialSetup, tuple[PlannedLoad, ...], bytes]:
    """What a worker makes of a trial that shall be started."""
    setup = _setup(body)
    found = plan_trial(setup.trial, loads_per_treatment=body.loads_per_treatment)
    return setup, found.order, as_sent(_planned(setup, found, say))
