"""Film carriages over HTTP: one, two side by side, and invented ones to start from."""

from __future__ import annotations

import functools
from importlib.resources import files
from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel, Field

from woold.carriages.compare import compare_carriages
from woold.case.file import case_from_table
from woold.case.text import table_from_toml
from woold.web.answers import Answer, refusals
from woold.web.carriage_view import carriage_view

__all__ = ["router"]

router = APIRouter(prefix="/api/carriage", tags=["carriages"])

CaseTable = dict[str, Any]


class CarriageCase(BaseModel):
    """A case: its file's tables, with every quantity as text with its unit."""

    case: CaseTable


class CarriagePair(BaseModel):
    """The case as it is, and a case of which only the carriage is taken."""

    base: CaseTable
    candidate: CaseTable
    draws: int = Field(default=1000, ge=100, le=20_000, description="random draws")
    seed: int = Field(default=1, ge=0, le=2**31)


class CarriageView(BaseModel):
    """The document of `woold carriage show --json`, and the lacing to draw."""

    report: dict[str, Any]
    drawing: dict[str, Any] | None


class ExampleCarriage(BaseModel):
    """A carriage of the invented scenario."""

    title: str
    carriage: CaseTable


class ExampleCarriages(BaseModel):
    """Carriages of the invented scenario."""

    carriages: list[ExampleCarriage]


@router.post("", response_model=CarriageView, responses=refusals())
def carriage(body: CarriageCase) -> Answer:
    """Film path, grip, delivered pre-stretch, forces and power of one carriage."""
    return Answer(carriage_view(case_from_table(body.case)))


@router.post("/compare", responses=refusals())
def compare(body: CarriagePair) -> Answer:
    """Two carriages on one load, as `woold carriage compare --json` has it."""
    base, candidate = case_from_table(body.base), case_from_table(body.candidate)
    return Answer(compare_carriages(base, candidate, body.draws, body.seed).to_json())


@functools.cache
def _examples() -> dict[str, Any]:
    found = []
    for name in ("today.toml", "candidate.toml"):
        table = table_from_toml(
            files("woold.demo").joinpath("files", name).read_text(encoding="utf-8")
        )
        found.append({"title": table["title"], "carriage": table["carriage"]})
    return {"carriages": found}


@router.get("/examples", response_model=ExampleCarriages, responses=refusals())
def examples() -> Answer:
    """Carriages of the invented scenario, to start a drawing from."""
    return Answer(_examples())
