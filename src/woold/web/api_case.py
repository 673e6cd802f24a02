"""Cases over HTTP: the fields of a form, predictions, and the case file's text."""

from __future__ import annotations

from importlib.resources import files
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from woold.case.file import case_from_table, starter_text
from woold.case.named import is_named
from woold.case.text import LARGEST_TEXT, table_from_toml, toml_from_table
from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.uncertainty.rows import effect_blocks
from woold.uncertainty.sensitivity import input_effects
from woold.web.answers import OneProblem, problems, refusals
from woold.web.at_work import at_work, work, worked
from woold.web.bench_view import JudgedCase, Predicted, bench_view, judged_view
from woold.web.block_data import BlockData, sent
from woold.web.display_units import KindUnits, display_units
from woold.web.documents import CaseTable, Document, SentTable, named
from woold.web.form_fields import FormSection, case_sections
from woold.web.on_shelf import taken_by_name, with_shelf
from woold.web.reader import Reader, brief
from woold.web.workers import Call

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["cases"])


class CaseBody(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: SentTable


SentCase = Annotated[CaseBody, with_shelf(CaseBody)]


class TomlBody(BaseModel):
    """The text of a case file."""

    toml: str = Field(max_length=LARGEST_TEXT)


class Sensitivity(Document):
    """What each input changes in film and containment; what to measure first stands first."""

    schema_: Literal["sensitivity-view"] = named("sensitivity-view")
    blocks: list[BlockData]


class ReadCase(Document):
    """The tables of a case file, and what must be mended before it can be predicted."""

    schema_: Literal["case-read"] = named("case-read")
    case: CaseTable
    problems: list[OneProblem]


class CaseText(Document):
    """The text of a case file, and what must be mended before it can be predicted."""

    schema_: Literal["case-written"] = named("case-written")
    toml: str
    problems: list[OneProblem]


class FormFields(Document):
    """The tables of a case file and their fields, units to show, and cases to start from."""

    schema_: Literal["fields"] = named("fields")
    sections: list[FormSection]
    kinds: dict[str, KindUnits]
    starter: CaseTable
    example: CaseTable


@router.get("/fields", responses=refusals())
def fields() -> FormFields:
    """Every field of a case: kind, words, default, placeholder with its range, limits."""
    example = files("woold.demo").joinpath("files/today.toml").read_text(encoding="utf-8")
    return FormFields(
        sections=case_sections(),
        kinds=display_units(),
        starter=table_from_toml(starter_text()),
        example=table_from_toml(example),
    )


@router.post("/predict", responses=refusals())
@at_work
def predict_case(body: SentCase, say: Reader) -> Predicted:
    """Film use, cover, hold and time of one wrapped load."""
    return bench_view(case_from_table(body.case), say)


@router.post("/verdict", responses=refusals())
@at_work
def judge_case(body: SentCase, say: Reader) -> JudgedCase:
    """Whether one wrapped load holds what is asked, and how sure that is: takes seconds."""
    return judged_view(case_from_table(body.case), say)


@router.post("/sensitivity", responses=refusals())
@at_work
def sensitivity(body: SentCase, say: Reader) -> Sensitivity:
    """What to measure first: what each input changes in film and in containment."""
    effects = input_effects(case_from_table(body.case))
    return Sensitivity(blocks=sent(effect_blocks(effects, say, brief(say))))


@router.post("/case/read", response_model=ReadCase, responses=refusals())
async def read_case_text(request: Request, body: TomlBody) -> Response:
    """Tables of a case file; one that must be mended is read all the same, with its problems.

    What it names is taken from this server's shelf.
    """
    table = await work(Call("woold.case.text", "table_from_toml", (body.toml,)))
    if is_named(table):
        table = await run_in_threadpool(taken_by_name, request, table)
    return await worked(Call(__name__, "case_read", (table,)))


def case_read(table: SentTable) -> ReadCase:
    """A case as it was read, made by a worker."""
    return ReadCase(case=table, problems=_problems(table))


@router.post("/case/write", responses=refusals())
@at_work
def write_case_text(body: SentCase) -> CaseText:
    """Text of a case file, as the command line reads it."""
    text = toml_from_table(body.case)
    return CaseText(toml=text, problems=_problems(table_from_toml(text)))


def _problems(table: SentTable) -> list[OneProblem]:
    """What must be mended before the case can be predicted."""
    try:
        predict(case_from_table(table))
    except WooldError as error:
        return problems(error.problems)
    return []
