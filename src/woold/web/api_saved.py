"""Saved cases over HTTP: made, opened, changed and taken away, never over someone else's work."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from woold.case.text import LARGEST_TEXT, table_from_toml
from woold.store.saved_cases import SavedCases
from woold.web.answers import Answer, refusals
from woold.web.people import Recorder

__all__ = ["ClientId", "router"]

router = APIRouter(prefix="/api/cases", tags=["saved cases"])

ID_PATTERN = r"^[A-Za-z0-9_-]{8,64}$"

ClientId = Annotated[
    str,
    Path(pattern=ID_PATTERN, description="Made by whoever sends it, such as a random UUID."),
]


class NewCase(BaseModel):
    """A case to keep."""

    id: str = Field(pattern=ID_PATTERN)
    title: str = Field(max_length=200)
    toml: str = Field(max_length=LARGEST_TEXT)


class ChangedCase(BaseModel):
    """A changed case, and the revision that was changed."""

    title: str = Field(max_length=200)
    toml: str = Field(max_length=LARGEST_TEXT)
    revision: int = Field(ge=1, le=2**31)


class KeptCase(BaseModel):
    """A saved case as it stands."""

    id: str
    revision: int
    title: str
    toml: str
    by: str
    at: str


class CaseLine(BaseModel):
    """A saved case in the list, without its text."""

    id: str
    revision: int
    title: str
    by: str
    at: str


class CaseList(BaseModel):
    """The saved cases, the latest first."""

    cases: list[CaseLine]


def _cases(request: Request) -> SavedCases:
    cases: SavedCases = request.app.state.cases
    return cases


@router.get("", response_model=CaseList, responses=refusals())
def list_cases(request: Request) -> Answer:
    """The saved cases, the latest first."""
    rows = [asdict(each) for each in _cases(request).all()]
    return Answer({"cases": [{k: v for k, v in row.items() if k != "toml"} for row in rows]})


@router.post("", response_model=KeptCase, status_code=201, responses=refusals(409))
def keep_case(request: Request, body: NewCase, person: Recorder) -> Answer:
    """Keep a new case; it must be TOML, but may have fields that must still be mended."""
    table_from_toml(body.toml)
    kept = _cases(request).save(body.id, 0, body.title, body.toml, person.name)
    return Answer(asdict(kept), status_code=201)


@router.get("/{id}", response_model=KeptCase, responses=refusals(404))
def open_case(request: Request, id: ClientId) -> Answer:
    """A saved case as it stands."""
    kept = _cases(request).get(id)
    if kept is None:
        raise HTTPException(404, "the id of a saved case")
    return Answer(asdict(kept))


@router.put("/{id}", response_model=KeptCase, responses=refusals(409))
def change_case(request: Request, id: ClientId, body: ChangedCase, person: Recorder) -> Answer:
    """Save a change; 409 where somebody else saved meanwhile, and nothing is lost."""
    table_from_toml(body.toml)
    kept = _cases(request).save(id, body.revision, body.title, body.toml, person.name)
    return Answer(asdict(kept))


@router.delete("/{id}", status_code=204, responses=refusals(409))
def remove_case(
    request: Request,
    id: ClientId,
    person: Recorder,
    revision: Annotated[int, Query(ge=1, le=2**31)],
) -> None:
    """Take a case away; its revisions stay in the store."""
    _cases(request).remove(id, revision, person.name)
