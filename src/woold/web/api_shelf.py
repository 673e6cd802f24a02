"""The shelf over HTTP: things by name with their versions, taken into cases, only ever added to."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, Field, StringConstraints
from starlette.exceptions import HTTPException
from starlette.responses import Response

from woold.case.shelf import Kept, Shelf, shelf_from_table
from woold.case.text import LARGEST_TEXT, plain_table, table_from_toml, toml_from_table
from woold.case.things import Kind
from woold.errors import ConflictError, InputError, Problem, Question, WooldError
from woold.shelf.kept import shelf_table
from woold.shelf.take import taken_from_shelf
from woold.web.answers import refusals
from woold.web.documents import CaseTable, Document, SentTable, named
from woold.web.on_shelf import shelf_of
from woold.web.people import Recorder
from woold.web.shelf_view import (
    MadeOfView,
    ShelfForms,
    ShelfList,
    ThingView,
    made_of_view,
    shelf_forms,
    shelf_list,
    thing_view,
)
from woold.words import say

__all__ = ["router"]

router = APIRouter(prefix="/api/shelf", tags=["shelf"])

Name = Annotated[str, StringConstraints(min_length=1, max_length=80)]
FieldName = Annotated[str, StringConstraints(max_length=200)]
Right = Annotated[list[FieldName], Field(max_length=200)]


class NewVersion(BaseModel):
    """A version to add: its fields as typed; `version` counts up from the latest one.

    `as_typed` names what was asked about and is right; its `kind`, where the thing has changed
    though its table says what it said before.
    """

    kind: Kind
    name: Name
    version: int = Field(ge=1, le=100_000)
    typed: SentTable
    as_typed: Right = []


class ShelfFile(BaseModel):
    """The text of a shelf's file, whose things are put on this server's shelf."""

    toml: str = Field(max_length=LARGEST_TEXT)
    as_typed: Right = []


class ThingToTake(BaseModel):
    """A case, and the thing that takes its place there; the latest version unless one is named."""

    case: SentTable
    kind: Kind
    name: Name
    version: int | None = Field(default=None, ge=1, le=100_000)


class CaseOfThings(BaseModel):
    """A case: its file's tables."""

    case: SentTable


class AddedThings(Document):
    """What is new on the shelf."""

    schema_: Literal["shelf-added"] = named("shelf-added")
    added: list[str]
    told: str


class TakenCase(Document):
    """A case with what it took from the shelf."""

    schema_: Literal["shelf-taken"] = named("shelf-taken")
    case: CaseTable


@router.get("", responses=refusals())
def shelf(request: Request) -> ShelfList:
    """Films, carriages, machines, loads and recipes by name, each as it stands now."""
    return shelf_list(shelf_of(request).kept.versions())


@router.get("/forms", responses=refusals())
def forms() -> ShelfForms:
    """Every field of every kind of thing."""
    return shelf_forms()


@router.get("/thing", responses=refusals(404))
def thing(request: Request, kind: Kind, name: Annotated[Name, Query()]) -> ThingView:
    """One thing with all of its versions, and what changed from one to the next."""
    own = [
        each
        for each in shelf_of(request).kept.versions()
        if each.kept.kind == kind and each.kept.name == name
    ]
    if not own:
        raise HTTPException(404, say("the name of a thing on the shelf"))
    return thing_view(kind, own)


@router.get(
    "/file",
    response_class=Response,
    responses={200: {"content": {"application/toml": {}}}, **refusals(404)},
)
def shelf_file(request: Request) -> Response:
    """Everything on the shelf, with all versions, as a shelf's file."""
    found = shelf_of(request).shelf()
    if found is None:
        raise HTTPException(404, say("a shelf on which something stands"))
    text = toml_from_table(shelf_table(tuple(found.things())), Shelf)
    headers = {"content-disposition": 'attachment; filename="shelf.toml"'}
    return Response(text.encode(), media_type="application/toml", headers=headers)


@router.post("", status_code=201, responses=refusals(409))
def add_version(request: Request, body: NewVersion, person: Recorder) -> AddedThings:
    """Put a version of a thing on the shelf; what stands there is never changed."""
    now = shelf_of(request)
    typed = plain_table(body.typed)
    there = now.shelf()
    if there is not None:
        _must_differ(there, body, typed)
    table: dict[str, Any] = {body.kind: [{**typed, "name": body.name, "version": body.version}]}
    right = [_numbered(each, body.kind) for each in body.as_typed if each != body.kind]
    try:
        given = shelf_from_table(table, right, there)
    except InputError as error:
        raise _at_fields(error, body.kind) from None
    return _added(now.kept.add(given, person.name))


def _must_differ(there: Shelf, body: NewVersion, typed: dict[str, Any]) -> None:
    """Asks about a version that says what the latest says.

    Resin or rubber changes and no table says so; what was learnt is known worse from then on.
    """
    if body.kind in body.as_typed:
        return
    latest = next((each for each in there.latest(body.kind) if each.name == body.name), None)
    same = Kept(body.kind, body.name, body.version, typed)
    if latest is not None and latest.hash == same.hash:
        raise ConflictError.many(
            [
                Question(
                    body.kind,
                    say("the same as version {version}", version=latest.version),
                    say("a version that differs"),
                    say("Has it changed all the same, such as new resin or worn rubber?"),
                )
            ]
        )


@router.post("/file", status_code=201, responses=refusals(409))
def add_file(request: Request, body: ShelfFile, person: Recorder) -> AddedThings:
    """Put the things of a shelf's file on the shelf, all or none."""
    now = shelf_of(request)
    given = shelf_from_table(table_from_toml(body.toml), body.as_typed, now.shelf())
    return _added(now.kept.add(given, person.name))


@router.post("/take", responses=refusals())
def take(request: Request, body: ThingToTake) -> TakenCase:
    """A case with one of its sections taken from the shelf; it keeps which version it rests on."""
    shelf = shelf_of(request).shelf()
    if shelf is None:
        todo = say("Put it there first, at /shelf.")
        nothing = say("a thing on this server's shelf, where nothing stands yet")
        raise InputError.one("name", repr(body.name), nothing, todo)
    number = "" if body.version is None else f"#{body.version}"
    return TakenCase(
        case=taken_from_shelf(plain_table(body.case), shelf, body.kind, f"@{body.name}{number}")
    )


@router.post("/since", responses=refusals())
def since(request: Request, body: CaseOfThings) -> MadeOfView:
    """What a case was made of, and what has changed on the shelf or in the case since."""
    return made_of_view(plain_table(body.case), shelf_of(request).shelf())


def _added(new: tuple[Kept, ...]) -> AddedThings:
    told = (
        say("{name}, version {version}, is on the shelf.", name=f"@{new[0].name}",
            version=new[0].version)
        if len(new) == 1
        else say("{count} versions are new on the shelf.", count=len(new))
    )  # fmt: skip
    return AddedThings(added=[f"@{each.name}#{each.version}" for each in new], told=told)


def _numbered(field: str, kind: str) -> str:
    """A field of the form as the shelf's file has it: "films.gap" is "films[0].gap"."""
    head, dot, rest = field.partition(".")
    return f"{kind}[0]{dot}{rest}" if head == kind else field


def _at_fields(error: WooldError, kind: str) -> WooldError:
    """The same with the names that the form's fields have."""
    found: list[Problem] = [
        replace(each, field=each.field.replace(f"{kind}[0]", kind)) for each in error.problems
    ]
    return type(error).many(found)
