"""Studies of a trial's records over HTTP: its gauges, and a case fitted to what was measured."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.case.text import toml_from_table
from woold.errors import InputError, fields_renamed
from woold.pictures.trial_calibration import calibration_figure
from woold.pictures.trial_gauge import gauge_figure
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Figure, Heading, Paragraph
from woold.rows.wording import Wording
from woold.trial.calibrate import UNASKED, Calibration, calibrate
from woold.trial.calibration_rows import calibration_blocks
from woold.trial.fit_model import PARAMETERS
from woold.trial.gauge_rows import gauge_blocks
from woold.trial.gauge_study import GaugeTable, gauge_effect, gauge_tables, tables_in_file
from woold.trial.records import TrialRecords, trial_records
from woold.trial.table import load_table
from woold.trial.write_back import calibrated_case_text
from woold.web.answers import OneProblem, problems, refusals
from woold.web.api_trials import TrialKey, known_trial
from woold.web.at_work import at_work, work, worked
from woold.web.block_data import BlockData, sent
from woold.web.documents import Document, named
from woold.web.reader import Reader
from woold.web.sent_file import LARGEST_FILE_BODY, SentFile, files_at
from woold.web.workers import Call
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["trials"])

_FIT_S = 300.0
"""A fit of many load types takes a minute; on a crowded machine, more."""


class GaugeStudied(Document):
    """What gauges and their use add to the spread, one study after the other."""

    schema_: Literal["gauge-study"] = named("gauge-study")
    gauges: list[str]
    blocks: list[BlockData]


class GaugeFile(BaseModel):
    """Readings of a gauge study: a workbook, or text with gauge, part, person, repeat, reading."""

    file: SentFile


class FitChoice(BaseModel):
    """What can be fitted: its field, what tells it, and whether it is fitted unasked."""

    field: str
    told_by: str
    is_usual: bool


class FitChoices(Document):
    """What can be fitted to records."""

    schema_: Literal["calibration-fields"] = named("calibration-fields")
    fields: list[FitChoice]


class FitAsked(BaseModel):
    """Whose records are used, and which fields are fitted to them."""

    treatment: Literal["baseline", "candidate"] = "baseline"
    fields: list[Annotated[str, StringConstraints(max_length=64)]] = Field(
        default_factory=lambda: list(UNASKED), max_length=20
    )


class FittedCase(BaseModel):
    """A case of the trial with the fitted values written in."""

    name: str
    toml: str


class Calibrated(Document):
    """A fit, and the cases that it makes; why there are none where the readings tell nothing."""

    schema_: Literal["trial-calibration"] = named("trial-calibration")
    blocks: list[BlockData]
    cases: list[FittedCase]
    problems: list[OneProblem]


@router.get("/trials/{key}/gauge", response_model=GaugeStudied, responses=refusals(404))
async def gauge_of_trial(request: Request, key: TrialKey, say: Reader) -> Response:
    """The gauge studies of a trial, and what each gauge does to the trial."""
    store = await run_in_threadpool(known_trial, request, key)
    records = await run_in_threadpool(trial_records, store, key)
    return await worked(Call(__name__, "gauges_of_records", (records, say)))


@router.post("/gauge-study", responses=refusals(), max_body_size=LARGEST_FILE_BODY)
@at_work
def gauge_of_file(body: GaugeFile, say: Reader) -> GaugeStudied:
    """Gauge studies of a file of readings that belongs to no trial yet."""
    with files_at([body.file]) as (path,):
        tables = tables_in_file(str(path))
        return _studied(tables, None, say)


def gauges_of_records(records: TrialRecords, say: Wording) -> GaugeStudied:
    """What a worker makes of a trial's gauge readings."""
    return _studied(gauge_tables([dict(each.cells) for each in records.gauges]), records, say)


def _studied(
    tables: dict[str, GaugeTable], records: TrialRecords | None, say: Wording
) -> GaugeStudied:
    if not tables:
        raise InputError.one(
            "gauge",
            say("no readings of a gauge study"),
            say("rows in the Gauges sheet, or a file with gauge, part, person, repeat, reading"),
            say("Let two or three people read ten parts two or three times each."),
        )
    blocks: list[Block] = []
    for place, (name, table) in enumerate(tables.items()):
        study = table.study()
        effect = gauge_effect(name, study, records) if records else ""
        svg = figure_svg(gauge_figure(name, table, study), f"gauge-{place}", say)
        told = say("Readings of {gauge} by part and person, and where their spread is from.",
                   gauge=name)  # fmt: skip
        blocks += [Heading(name), *([Paragraph(table.read_as)] if table.read_as else [])]
        blocks += [*gauge_blocks(name, study, effect, say)]
        blocks.append(Figure(svg, told, f"{told} {say('The tables give the numbers.')}"))
    return GaugeStudied(gauges=list(tables), blocks=sent(blocks))


@router.get("/calibration-fields", responses=refusals())
def fit_choices() -> FitChoices:
    """Fields of a case that can be fitted to what was measured."""
    return FitChoices(
        fields=[
            FitChoice(field=name, told_by=say(each.told_by), is_usual=name in UNASKED)
            for name, each in PARAMETERS.items()
        ]
    )


@router.post("/trials/{key}/calibration", response_model=Calibrated, responses=refusals(404))
async def calibration_of_trial(
    request: Request, key: TrialKey, body: FitAsked, say: Reader
) -> Response:
    """Fit a case to the records of a treatment; nothing is changed anywhere."""
    store = await run_in_threadpool(known_trial, request, key)
    records = await run_in_threadpool(trial_records, store, key)
    made = Call(__name__, "calibrated", (records, body, say))
    content = await work(Call("woold.web.at_work", "answered", (made,)), _FIT_S)
    return Response(content, media_type="application/json")


def calibrated(records: TrialRecords, asked: FitAsked, say: Wording) -> Calibrated:
    """What a worker makes of the records."""
    with fields_renamed({"--fit": "fields", "--treatment": "treatment"}):
        found = calibrate(load_table(records), records.setup, asked.treatment, tuple(asked.fields))
    told = say("Measured against predicted, before and after the fit.")
    picture = Figure(
        figure_svg(calibration_figure(found), "calibration", say),
        told,
        f"{told} {say('The tables give the numbers.')}",
    )
    blocks = sent([*calibration_blocks(found, say), picture])
    try:
        cases = _cases_with(found, records, asked.treatment)
    except InputError as error:
        return Calibrated(blocks=blocks, cases=[], problems=problems(error.problems))
    return Calibrated(blocks=blocks, cases=cases, problems=[])


def _cases_with(found: Calibration, records: TrialRecords, treatment: str) -> list[FittedCase]:
    """Each case of the treatment, once, with the fitted values."""
    setup, today = records.setup, datetime.datetime.now(datetime.UTC).date()
    names = dict.fromkeys(getattr(each, treatment) for each in setup.trial.load_types)
    return [
        FittedCase(
            name=name,
            toml=calibrated_case_text(toml_from_table(setup.case_tables[name]), found, today),
        )
        for name in names
        if name
    ]
