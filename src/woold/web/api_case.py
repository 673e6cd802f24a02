"""Cases over HTTP: the fields of a form, predictions, and the case file's text."""

from __future__ import annotations

import functools
from importlib.resources import files
from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel, Field

from woold.case.file import case_from_table, starter_text
from woold.case.text import LARGEST_TEXT, table_from_toml, toml_from_table
from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.web.answers import Answer, OneProblem, problem_rows, refusals
from woold.web.bench_view import bench_view
from woold.web.display_units import display_units
from woold.web.form_fields import case_sections

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["cases"])

CaseTable = dict[str, Any]


class CaseBody(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: CaseTable


class TomlBody(BaseModel):
    """The text of a case file."""

    toml: str = Field(max_length=LARGEST_TEXT)


class ReadCase(BaseModel):
    """The tables of a case file, and what must be mended before it can be predicted."""

    case: CaseTable
    problems: list[OneProblem]


class WrittenCase(BaseModel):
    """The text of a case file, and what must be mended before it can be predicted."""

    toml: str
    problems: list[OneProblem]


class Predicted(BaseModel):
    """A prediction, with the path of the film's edge and the load's outline to draw it by.

    `prediction` is the document of `woold predict --json`; its keys stand in docs/json.md.
    """

    prediction: dict[str, Any]
    legs: list[dict[str, Any]]
    outline: dict[str, Any]
    load: dict[str, Any]
    machine: dict[str, Any]
    turn: dict[str, Any]


class Sections(BaseModel):
    """The tables of a case file and their fields, units to show, and cases to start from."""

    sections: list[dict[str, Any]]
    kinds: dict[str, Any]
    starter: CaseTable
    example: CaseTable


@functools.cache
def _sections() -> dict[str, Any]:
    return {
        "sections": case_sections(),
        "kinds": display_units(),
        "starter": table_from_toml(starter_text()),
        "example": table_from_toml(
            files("woold.demo").joinpath("files/today.toml").read_text(encoding="utf-8")
        ),
    }


@router.get("/fields", response_model=Sections, responses=refusals())
def fields() -> Answer:
    """Every field of a case: kind, words, default, placeholder with its range, limits."""
    return Answer(_sections())


@router.post("/predict", response_model=Predicted, responses=refusals())
def predict_case(body: CaseBody) -> Answer:
    """Film use, cover, hold and time of one wrapped load."""
    return Answer(bench_view(case_from_table(body.case)))


@router.post("/case/read", response_model=ReadCase, responses=refusals())
def read_case_text(body: TomlBody) -> Answer:
    """Tables of a case file; one that must be mended is read all the same, with its problems."""
    table = table_from_toml(body.toml)
    return Answer({"case": table, "problems": case_problems(table)})


@router.post("/case/write", response_model=WrittenCase, responses=refusals())
def write_case_text(body: CaseBody) -> Answer:
    """Text of a case file, as the command line reads it."""
    text = toml_from_table(body.case)
    return Answer({"toml": text, "problems": case_problems(table_from_toml(text))})


def case_problems(table: CaseTable) -> list[dict[str, Any]]:
    """What must be mended before the case can be predicted."""
    try:
        predict(case_from_table(table))
    except WooldError as error:
        return problem_rows(error.problems)
    return []
