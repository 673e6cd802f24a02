"""Saved cases over HTTP: made, opened, changed and taken away, never over someone else's work."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from woold.case.text import LARGEST_TEXT
from woold.store.saved_cases import SavedCases
from woold.web.answers import refusals
from woold.web.at_work import work
from woold.web.documents import Document, named
from woold.web.people import Person, Recorder
from woold.web.workers import Call
from woold.words import say

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


class KeptCase(Document):
    """A saved case as it stands."""

    schema_: Literal["case"] = named("case")
    id: str
    revision: int
    title: str
    toml: str
    by: str
    at: str


class CaseLine(BaseModel):
    """A saved case in the list, without its text."""

    model_config = ConfigDict(from_attributes=True)

    id: str
    revision: int
    title: str
    by: str
    at: str


class CaseList(Document):
    """The saved cases, the latest first."""

    schema_: Literal["cases"] = named("cases")
    cases: list[CaseLine]


class RevisionLine(BaseModel):
    """A revision of a saved case, without its text."""

    model_config = ConfigDict(from_attributes=True)

    revision: int
    title: str
    by: str
    at: str


class Revisions(Document):
    """The revisions of a saved case, the latest first."""

    schema_: Literal["case-revisions"] = named("case-revisions")
    revisions: list[RevisionLine]


def _cases(request: Request) -> SavedCases:
    cases: SavedCases = request.app.state.cases
    return cases


@router.get("", responses=refusals())
def list_cases(request: Request) -> CaseList:
    """The saved cases, the latest first."""
    return CaseList(cases=[CaseLine.model_validate(each) for each in _cases(request).all()])


@router.post("", status_code=201, responses=refusals(409))
async def keep_case(request: Request, body: NewCase, person: Recorder) -> KeptCase:
    """Keep a new case; it must be TOML, but may have fields that must still be mended."""
    return await _save(request, body.id, 0, body, person)


@router.get("/{id}", responses=refusals(404))
def open_case(request: Request, id: ClientId) -> KeptCase:
    """A saved case as it stands."""
    kept = _cases(request).get(id)
    if kept is None:
        raise HTTPException(404, say("the id of a saved case"))
    return KeptCase(**asdict(kept))


@router.get("/{id}/revisions", responses=refusals(404))
def case_revisions(request: Request, id: ClientId) -> Revisions:
    """Who saved a case and when, the latest first."""
    found = _cases(request).revisions(id)
    if not found:
        raise HTTPException(404, say("the id of a saved case"))
    return Revisions(revisions=[RevisionLine.model_validate(each) for each in found])


@router.get("/{id}/revisions/{revision}", responses=refusals(404))
def case_revision(
    request: Request, id: ClientId, revision: Annotated[int, Path(ge=1, le=2**31)]
) -> KeptCase:
    """A saved case as it once stood."""
    kept = _cases(request).revision(id, revision)
    if kept is None:
        raise HTTPException(404, say("a revision of a saved case"))
    return KeptCase(**asdict(kept))


@router.put("/{id}", responses=refusals(409))
async def change_case(
    request: Request, id: ClientId, body: ChangedCase, person: Recorder
) -> KeptCase:
    """Save a change; 409 where somebody else saved meanwhile, and nothing is lost."""
    return await _save(request, id, body.revision, body, person)


async def _save(
    request: Request, id: str, revision: int, body: NewCase | ChangedCase, person: Person
) -> KeptCase:
    await work(Call("woold.case.text", "table_from_toml", (body.toml,)))
    save, by = _cases(request).save, person.name
    return KeptCase(
        **asdict(await run_in_threadpool(save, id, revision, body.title, body.toml, by))
    )


@router.delete("/{id}", status_code=204, responses=refusals(409))
def remove_case(
    request: Request,
    id: ClientId,
    person: Recorder,
    revision: Annotated[int, Query(ge=1, le=2**31)],
) -> None:
    """Take a case away; its revisions stay in the store."""
    _cases(request).remove(id, revision, person.name)
