"""A case that takes a thing from the shelf, and what was changed in it by hand afterwards."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from woold.case.named import self_contained
from woold.case.shelf import Kept, Shelf
from woold.case.things import Kind
from woold.shelf.since import ChangedField, changes_between

__all__ = ["CASE_TABLES", "changed_by_hand", "taken_from_shelf", "thing_in_case"]

CASE_TABLES: dict[Kind, str] = {
    "films": "film",
    "carriages": "carriage",
    "machine_models": "machine",
    "machines": "machine",
    "loads": "load",
    "recipes": "program",
}
"""The table of a case that names a thing of each kind."""

_INNER: dict[Kind, tuple[str, ...]] = {
    "carriages": ("carriage", "dancer"),
    "machine_models": ("machine",),
    "loads": ("load", "hold", "transport"),
    "recipes": ("program",),
}
"""Tables of a thing that go into a case; those of a film are the film's own fields."""

_OF_SHELF_ONLY = ("lots",)


def taken_from_shelf(
    table: Mapping[str, Any], shelf: Shelf, kind: Kind, reference: str
) -> dict[str, Any]:
    """A case file's tables with a thing of the shelf in the place of what stood there.

    What the thing does not bring stays: the hold of a case whose load brings none.

    Args:
        table: a case file's tables, unchecked.
        shelf: where the thing is.
        kind: what it is.
        reference: "@thin film" or "@thin film#2".

    Raises:
        InputError: no such thing on the shelf.
    """
    own = CASE_TABLES[kind]
    # A name is looked for among all that the table may name: it must be of the kind that was meant.
    kept = shelf.find(kind, reference, own)
    alone = self_contained({own: f"@{kept.name}#{kept.version}"}, shelf)
    brought = {name: each for name, each in alone.items() if isinstance(each, Mapping)}
    rest = {name: each for name, each in table.items() if name not in brought}
    replaced = {CASE_TABLES[each["kind"]] for each in alone["made_of"]}
    before = [each for each in _made_of(table) if CASE_TABLES[each["kind"]] not in replaced]
    right = [each for each in _texts(table.get("as_typed")) if _table_of(each) not in brought]
    right += alone.get("as_typed", ())
    whole = {**rest, **brought, "made_of": [*before, *alone["made_of"]]}
    whole.pop("as_typed", None)
    return whole | ({"as_typed": list(dict.fromkeys(right))} if right else {})


def thing_in_case(table: Mapping[str, Any], kind: Kind) -> dict[str, Any]:
    """What a case states of a thing, as it would be typed on a shelf; {} where it states nothing.

    Args:
        table: a case file's tables, self-contained.
        kind: what is looked for; a machine that stands somewhere is not in a case.
    """
    if kind == "films":
        film = table.get("film")
        return dict(film) if isinstance(film, Mapping) else {}
    inner = _INNER.get(kind, ())
    found = {name: table[name] for name in inner if isinstance(table.get(name), Mapping)}
    return found if inner and inner[0] in found else {}


def changed_by_hand(
    table: Mapping[str, Any], shelf: Shelf, kind: Kind, name: str, version: int
) -> tuple[ChangedField, ...]:
    """Fields of a case that say something else than the version that they were taken from.

    Args:
        table: a case file's tables, self-contained.
        shelf: where the thing is.
        kind, name, version: what it was made of.
    """
    kept = {each.version: each for each in shelf.things(kind) if each.name == name}.get(version)
    if kept is None or kind not in (*_INNER, "films"):
        return ()
    typed = {each: value for each, value in kept.typed.items() if each not in _OF_SHELF_ONLY}
    if kind in _INNER:
        typed = {each: value for each, value in typed.items() if each in _INNER[kind]}
    own = thing_in_case(table, kind)
    if kind in _INNER:
        # A hold or a dancer beside a named thing that brings none is not its own.
        own = {each: value for each, value in own.items() if each in typed}
    changes = changes_between(Kept(kind, name, version, typed), Kept(kind, name, version, own))
    fitted = _fitted(table, shelf) if kind == "carriages" else ()
    return tuple(each for each in changes if each.field not in fitted)


def _made_of(table: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """What a case says that it was made of, as far as it can be read."""
    found = table.get("made_of")
    return [
        each
        for each in (found if isinstance(found, list) else ())
        if isinstance(each, Mapping) and str(each.get("kind")) in CASE_TABLES
    ]


def _texts(found: Any) -> list[str]:
    return [each for each in (found if isinstance(found, list) else ()) if isinstance(each, str)]


def _table_of(field: str) -> str:
    return field.partition(".")[0].partition("[")[0]


def _fitted(table: Mapping[str, Any], shelf: Shelf) -> tuple[str, ...]:
    """Fields of a dancer that a machine states: what is fitted to it."""
    names = {str(each.get("name")) for each in _made_of(table) if each["kind"] == "machines"}
    machines = [each for each in shelf.things("machines") if each.name in names]
    return tuple(
        f"carriages.dancer.{field}"
        for field in ("spring", "hole")
        if any(field in each.typed for each in machines)
    )
