"""Cases that name things: the names are replaced by what stands on the shelf.

What comes out is a case like any other, needs no shelf, and says which versions it was made of.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from woold.case.shelf import Kept, Shelf
from woold.case.things import NAMED_TABLES
from woold.errors import InputError, Problem
from woold.words import say

__all__ = ["is_named", "self_contained"]

_OF_SHELF_ONLY = ("lots",)


def is_named(table: Mapping[str, Any]) -> bool:
    """Whether a case file's tables name things instead of writing them out.

    Args:
        table: a case file's tables.
    """
    return any(isinstance(table.get(each), str) for each in NAMED_TABLES)


@dataclass(slots=True)
class _Taken:
    """What was taken from a shelf so far: tables, things, and fields that are right."""

    tables: dict[str, Any] = field(default_factory=dict)
    things: list[Kept] = field(default_factory=list)
    right: list[str] = field(default_factory=list)

    def take(self, kept: Kept, sections: Mapping[str, Any], prefix: str = "") -> None:
        """Tables of a thing, those not taken yet."""
        for name, each in sections.items():
            self.tables.setdefault(name, each)
        self.things.append(kept)
        self.right += [f"{prefix}{each}" for each in kept.right]


def self_contained(table: Mapping[str, Any], shelf: Shelf | None) -> dict[str, Any]:
    """A case file's tables with every name replaced by what it stands for.

    A table that is written out stands, also where a named thing brings one: [dancer] beside a named
    carriage, [hold] and [transport] beside a named load.

    Args:
        table: a case file's tables, unchecked.
        shelf: where the things are; None where there is no shelf.

    Raises:
        InputError: one problem for each name that cannot be found.
    """
    if shelf is None:
        raise InputError.many(
            Problem(
                name,
                repr(table[name]),
                say("a table of fields, or the name of a thing on a shelf"),
                say('Name the shelf\'s file at the head: shelf = "plant.toml".'),
            )
            for name in NAMED_TABLES
            if isinstance(table.get(name), str)
        )
    taken = _Taken({name: each for name, each in table.items() if not isinstance(each, str)})
    problems: list[Problem] = []
    for name in ("film", "carriage", "load", "program", "machine"):
        if isinstance(table.get(name), str):
            try:
                _TAKE[name](shelf, table[name], taken)
            except InputError as error:
                problems += error.problems
    if problems:
        raise InputError.many(problems)
    plain = {name: each for name, each in table.items() if name not in NAMED_TABLES}
    right = [*plain.get("as_typed", ()), *taken.right]
    made_of = [
        {"kind": each.kind, "name": each.name, "version": each.version, "hash": each.hash}
        for each in taken.things
    ]
    whole = {**plain, **taken.tables, "made_of": made_of}
    if right:
        whole["as_typed"] = list(dict.fromkeys(_of_tables(right, whole)))
    return whole


def _of_tables(right: list[str], whole: Mapping[str, Any]) -> Iterator[str]:
    """Confirmed fields, without those of tables that did not come along."""
    return (each for each in right if each.partition(".")[0].partition("[")[0] in whole)


def _film(shelf: Shelf, text: str, taken: _Taken) -> None:
    kept = shelf.find("films", text, "film")
    film = {name: each for name, each in kept.typed.items() if name not in _OF_SHELF_ONLY}
    taken.take(kept, {"film": film}, "film.")


def _carriage(shelf: Shelf, text: str, taken: _Taken, asked_by: str = "carriage") -> None:
    kept = shelf.find("carriages", text, asked_by)
    own = ("carriage", "dancer")
    taken.take(kept, {name: each for name, each in kept.typed.items() if name in own})


def _load(shelf: Shelf, text: str, taken: _Taken) -> None:
    kept = shelf.find("loads", text, "load")
    own = ("load", "hold", "transport")
    taken.take(kept, {name: each for name, each in kept.typed.items() if name in own})


def _program(shelf: Shelf, text: str, taken: _Taken) -> None:
    kept = shelf.find("recipes", text, "program")
    taken.take(kept, {"program": kept.typed["program"]})


def _machine(shelf: Shelf, text: str, taken: _Taken) -> None:
    """A machine with what is fitted to it, or a model of machine."""
    name = text.removeprefix("@").partition("#")[0].strip()
    own = {each.name for each in shelf.things("machines")}
    models = {each.name for each in shelf.things("machine_models")}
    if name in own and name in models:
        given = say("{name!r}, both a machine and a model of machine", name=name)
        raise InputError.one("machine", given, say("one of the two"), say("Rename one of them."))
    if name not in own:
        kept = shelf.find("machine_models" if models else "machines", text, "machine")
        taken.take(kept, {"machine": kept.typed["machine"]})
        return
    kept = shelf.find("machines", text, "machine")
    model = shelf.find("machine_models", kept.typed["model"], "machine")
    taken.things.append(kept)
    taken.take(model, {"machine": model.typed["machine"]})
    if "carriage" not in taken.tables and "carriage" in kept.typed:
        is_written_out = "dancer" in taken.tables
        _carriage(shelf, kept.typed["carriage"], taken, "machine")
        fitted = {each: kept.typed[each] for each in ("spring", "hole") if each in kept.typed}
        if "dancer" in taken.tables and not is_written_out:
            taken.tables["dancer"] = {**taken.tables["dancer"], **fitted}


_TAKE = {
    "film": _film,
    "carriage": _carriage,
    "load": _load,
    "program": _program,
    "machine": _machine,
}
