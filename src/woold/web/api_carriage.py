"""Film carriages over HTTP: one, two side by side, and invented ones to start from."""

from __future__ import annotations

from importlib.resources import files
from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

from woold.carriages.compare import compare_carriages
from woold.case.file import case_from_table
from woold.case.text import table_from_toml
from woold.web.answers import refusals
from woold.web.at_work import at_work
from woold.web.carriage_view import CarriageView, ComparisonView, carriage_view, comparison_view
from woold.web.documents import CaseTable, Document, SentTable, named
from woold.web.on_shelf import with_shelf
from woold.web.reader import Reader

__all__ = ["router"]

router = APIRouter(prefix="/api/carriage", tags=["carriages"])


class CarriageCase(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: SentTable


class CarriagePair(BaseModel):
    """The case as it is, and a case of which only the carriage is taken."""

    base: SentTable
    candidate: SentTable
    draws: int = Field(default=1000, ge=100, le=20_000, description="random draws")
    seed: int = Field(default=1, ge=0, le=2**31)


class ExampleCarriage(BaseModel):
    """A carriage of the invented scenario."""

    title: str
    carriage: CaseTable


class ExampleCarriages(Document):
    """Carriages of the invented scenario."""

    schema_: Literal["carriage-examples"] = named("carriage-examples")
    carriages: list[ExampleCarriage]


@router.post("", responses=refusals())
@at_work
def carriage(body: Annotated[CarriageCase, with_shelf(CarriageCase)], say: Reader) -> CarriageView:
    """Film path, grip, delivered pre-stretch, forces and power of one carriage."""
    return carriage_view(case_from_table(body.case), say)


@router.post("/compare", responses=refusals())
@at_work
def compare(body: Annotated[CarriagePair, with_shelf(CarriagePair)], say: Reader) -> ComparisonView:
    """Two carriages on one load, as `woold carriage compare --json` has it, and in rows."""
    base, candidate = case_from_table(body.base), case_from_table(body.candidate)
    return comparison_view(compare_carriages(base, candidate, body.draws, body.seed), say)


@router.get("/examples", responses=refusals())
def examples() -> ExampleCarriages:
    """Carriages of the invented scenario, to start a drawing from."""
    found = []
    for name in ("today.toml", "candidate.toml"):
        text = files("woold.demo").joinpath("files", name).read_text(encoding="utf-8")
        table = table_from_toml(text)
        found.append(ExampleCarriage(title=table["title"], carriage=table["carriage"]))
    return ExampleCarriages(carriages=found)
