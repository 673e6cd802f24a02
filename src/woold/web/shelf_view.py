"""What the shelf's page shows: things by kind, one with its versions, what a case is made of."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, Literal

from pydantic import BaseModel, ValidationError

from woold.case.model import MadeOf
from woold.case.shelf import KINDS_OF_THINGS, Kept, Shelf
from woold.case.things import KIND_WORDS, Kind
from woold.rows.blocks import Block
from woold.shelf.kept import KeptVersion
from woold.shelf.rows import by_hand_blocks, since_blocks, thing_blocks
from woold.shelf.since import became_of
from woold.shelf.take import CASE_TABLES, changed_by_hand
from woold.web.block_data import BlockData, sent
from woold.web.display_units import KindUnits, display_units
from woold.web.documents import CaseTable, Document, named
from woold.web.form_fields import FormSection, form_sections
from woold.words import say, to_say

__all__ = [
    "MadeOfView",
    "ShelfForms",
    "ShelfList",
    "ThingView",
    "made_of_view",
    "shelf_forms",
    "shelf_list",
    "thing_view",
]

_KIND_HEADS: dict[str, str] = {
    "films": to_say("Films"),
    "carriages": to_say("Carriages"),
    "machine_models": to_say("Machine models"),
    "machines": to_say("Machines"),
    "loads": to_say("Loads"),
    "recipes": to_say("Recipes"),
}


class ThingLine(BaseModel):
    """A thing in the list: its latest version, and who put it there."""

    name: str
    version: int
    hash: str
    by: str
    at: str


class KindLines(BaseModel):
    """Things of a kind: `table` is the section of a case that takes them."""

    kind: str
    label: str
    one: str
    table: str
    things: list[ThingLine]


class ShelfList(Document):
    """Everything on the shelf as it stands now, by kind."""

    schema_: Literal["shelf-list"] = named("shelf-list")
    kinds: list[KindLines]


class ThingForm(BaseModel):
    """The fields of a kind of thing; `tables` are those of a case that it is filled from."""

    kind: str
    tables: list[str]
    sections: list[FormSection]


class ShelfForms(Document):
    """The forms of all kinds of things."""

    schema_: Literal["shelf-forms"] = named("shelf-forms")
    forms: list[ThingForm]
    kinds: dict[str, KindUnits]


class ThingVersion(BaseModel):
    """A version of a thing as it was typed, who put it there and when."""

    version: int
    hash: str
    by: str
    at: str
    typed: CaseTable
    as_typed: list[str]


class ThingView(Document):
    """A thing with all of its versions, the latest first, and what changed between them in rows."""

    schema_: Literal["shelf-thing"] = named("shelf-thing")
    kind: str
    name: str
    versions: list[ThingVersion]
    blocks: list[BlockData]


class MadeOfLine(BaseModel):
    """A thing that a case was made of; `told` says in a line what became of it."""

    kind: str
    table: str
    name: str
    version: int
    latest: int | None
    state: Literal["as it was", "newer", "rewritten", "gone"]
    by_hand: int
    told: str


class MadeOfView(Document):
    """What a case was made of, what became of it since, and the same in rows."""

    schema_: Literal["made-of"] = named("made-of")
    things: list[MadeOfLine]
    blocks: list[BlockData]


def shelf_list(versions: Collection[KeptVersion]) -> ShelfList:
    """The shelf's things by kind, each in its latest version.

    Args:
        versions: every version that is kept.
    """
    latest: dict[tuple[str, str], KeptVersion] = {}
    for each in versions:
        key = (each.kept.kind, each.kept.name)
        if key not in latest or latest[key].kept.version < each.kept.version:
            latest[key] = each
    return ShelfList(
        kinds=[
            KindLines(
                kind=kind,
                label=say(_KIND_HEADS[kind]),
                one=say(KIND_WORDS[kind]),
                table=CASE_TABLES[kind],
                things=[
                    ThingLine(
                        name=each.kept.name,
                        version=each.kept.version,
                        hash=each.kept.hash,
                        by=each.by,
                        at=each.at,
                    )
                    for (its, _), each in sorted(latest.items())
                    if its == kind
                ],
            )
            for kind in KINDS_OF_THINGS
        ]
    )


def shelf_forms() -> ShelfForms:
    """The fields of every kind of thing, without name and version, which are asked for apart."""
    return ShelfForms(
        forms=[
            ThingForm(kind=kind, tables=_tables(kind), sections=_sections(kind))
            for kind in KINDS_OF_THINGS
        ],
        kinds=display_units(),
    )


def _model(kind: Kind) -> type[BaseModel]:
    return next(
        each
        for each in Shelf.model_fields[kind].annotation.__args__  # type: ignore[union-attr]
        if isinstance(each, type)
    )


def _tables(kind: Kind) -> list[str]:
    if kind == "films":
        return []
    case_tables = ("load", "hold", "transport", "carriage", "dancer", "machine", "program")
    return [
        name for name in _model(kind).model_fields if name in case_tables and kind != "machines"
    ]


def _sections(kind: Kind) -> list[FormSection]:
    found = list(form_sections(_model(kind), kind, is_list=False))
    own = [each for each in found[0].fields if each.name not in ("name", "version")]
    label = say(KIND_WORDS[kind]).capitalize()
    head = found[0].model_copy(update={"fields": own, "label": label, "doc": ""})
    return [head, *found[1:]]


def thing_view(kind: Kind, versions: Collection[KeptVersion]) -> ThingView:
    """A thing with its versions.

    Args:
        kind: what it is.
        versions: all of its versions, at least one.
    """
    ordered = sorted(versions, key=lambda each: each.kept.version)
    return ThingView(
        kind=kind,
        name=ordered[0].kept.name,
        versions=[_version(each) for each in reversed(ordered)],
        blocks=sent(thing_blocks([each.kept for each in ordered])),
    )


def _version(each: KeptVersion) -> ThingVersion:
    kept: Kept = each.kept
    return ThingVersion(
        version=kept.version,
        hash=kept.hash,
        by=each.by,
        at=each.at,
        typed=dict(kept.typed),
        as_typed=list(kept.right),
    )


def made_of_view(table: Mapping[str, Any], shelf: Shelf | None) -> MadeOfView:
    """What a case was made of, and what became of it.

    Args:
        table: a case file's tables, unchecked.
        shelf: the shelf as it is now; None where nothing is kept.
    """
    if shelf is None:
        return MadeOfView(things=[], blocks=sent(since_blocks(())))
    found = became_of(_made_of(table), shelf)
    blocks: list[Block] = since_blocks(found)
    things = []
    for each in found:
        changes = changed_by_hand(table, shelf, each.kind, each.name, each.version)
        blocks += by_hand_blocks(each.name, changes)
        things.append(
            MadeOfLine(
                kind=each.kind,
                table=CASE_TABLES[each.kind],
                name=each.name,
                version=each.version,
                latest=each.latest,
                state=each.state,
                by_hand=len(changes),
                told=_told(each.state, each.latest, len(changes)),
            )
        )
    return MadeOfView(things=things, blocks=sent(blocks))


def _told(state: str, latest: int | None, by_hand: int) -> str:
    told = {
        "as it was": say("as on the shelf"),
        "newer": say("changed since: version {version} is there", version=latest),
        "rewritten": say("this version says something else on this server's shelf"),
        "gone": say("not on this server's shelf"),
    }[state]
    if by_hand and state in ("as it was", "newer"):
        told = say("{state}; {count} changed by hand", state=told, count=by_hand)
    return told


def _made_of(table: Mapping[str, Any]) -> list[MadeOf]:
    """What the case says that it was made of, as far as it can be read."""
    found = []
    given = table.get("made_of")
    for each in given if isinstance(given, list) else ():
        try:
            found.append(MadeOf.model_validate(each))
        except ValidationError:
            continue
    return found
