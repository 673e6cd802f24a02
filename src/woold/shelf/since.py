"""What has changed on the shelf since a case was made of it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from woold.case.model import Case, MadeOf
from woold.case.shelf import Kept, Shelf
from woold.case.things import Kind
from woold.words import say

__all__ = [
    "ChangedField",
    "Since",
    "became_of",
    "changed_since",
    "changes_between",
    "typed_fields",
]

State = Literal["as it was", "newer", "rewritten", "gone"]


@dataclass(frozen=True, slots=True)
class ChangedField:
    """A field that is typed otherwise.

    Args:
        field: its list and its name within the thing, such as "films.thickness".
        before, after: what was typed; "" where nothing stood.
    """

    field: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Since:
    """One thing that a case was made of, and what became of it.

    Args:
        kind, name: the thing.
        version: the version that the case was made of.
        latest: the latest version on the shelf; None where the thing is gone.
        state: "newer" where later versions are there, "rewritten" where the shelf holds something
            else under the same version.
        changes: fields that differ between the two versions; none are known where the one that
            the case was made of is not on the shelf.
    """

    kind: Kind
    name: str
    version: int
    latest: int | None
    state: State
    changes: tuple[ChangedField, ...] = ()


def changed_since(case: Case, shelf: Shelf) -> tuple[Since, ...]:
    """What became of everything that a case was made of.

    Args:
        case: a case that named things when it was read.
        shelf: where the things are now.
    """
    return became_of(case.made_of, shelf)


def became_of(made_of: Iterable[MadeOf], shelf: Shelf) -> tuple[Since, ...]:
    """What became of things, each in the version that a case was made of.

    Args:
        made_of: the versions.
        shelf: where the things are now.
    """
    return tuple(_since(each, shelf) for each in made_of)


def _since(made: MadeOf, shelf: Shelf) -> Since:
    kind: Kind = made.kind
    versions = {each.version: each for each in shelf.things(kind) if each.name == made.name}
    if not versions:
        return Since(kind, made.name, made.version, None, "gone")
    latest = versions[max(versions)]
    own = versions.get(made.version)
    if own is not None and own.hash != made.hash:
        return Since(kind, made.name, made.version, latest.version, "rewritten")
    if own is None or latest.version != made.version:
        changes = () if own is None else changes_between(own, latest)
        return Since(kind, made.name, made.version, latest.version, "newer", changes)
    return Since(kind, made.name, made.version, latest.version, "as it was")


def changes_between(before: Kept, after: Kept) -> tuple[ChangedField, ...]:
    """Fields that two versions state otherwise.

    Args:
        before, after: two versions of a thing.
    """
    old, new = typed_fields(before), typed_fields(after)
    return tuple(
        ChangedField(name, old.get(name, ""), new.get(name, ""))
        for name in _in_order(old, new)
        if old.get(name) != new.get(name)
    )


def typed_fields(kept: Kept) -> dict[str, str]:
    """What was typed in each field of a version, by its list and its name within the thing.

    Args:
        kept: the version.
    """
    return _flat(kept.typed, kept.kind)


def _in_order(*tables: Collection[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for table in tables for name in table))


def _flat(table: Any, here: str) -> dict[str, str]:
    """What stands in a table, by dotted name, as text."""
    if isinstance(table, Mapping):
        found: dict[str, str] = {}
        for name, each in table.items():
            found |= _flat(each, f"{here}.{name}")
        return found
    if isinstance(table, list) and any(isinstance(each, Mapping | list) for each in table):
        found = {}
        for index, each in enumerate(table):
            found |= _flat(each, f"{here}[{index}]")
        return found
    if isinstance(table, bool):
        return {here: say("yes") if table else say("no")}
    return {here: ", ".join(map(str, table)) if isinstance(table, list) else str(table)}
