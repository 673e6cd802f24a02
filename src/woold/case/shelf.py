"""A shelf: a TOML file of named things, each of which may stand there in several versions.

What was typed is kept beside what was checked, so that a thing goes into a case, a store or another
file as it was written down, and a hash over what was typed tells whether it has changed since.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import Field, PrivateAttr, model_validator

from woold.case.fields import Section, SettingsFile
from woold.case.origin import Origin
from woold.case.reader import checked
from woold.case.things import (
    KIND_WORDS,
    CarriageThing,
    Kind,
    LoadThing,
    MachineModel,
    OwnMachine,
    Recipe,
    ShelfFilm,
)
from woold.case.toml_text import read_toml
from woold.errors import InputError, Problem, names_its_file
from woold.words import say

__all__ = [
    "KINDS_OF_THINGS",
    "Kept",
    "Shelf",
    "hash_of",
    "read_shelf",
    "reference",
    "shelf_from_table",
    "things_from_table",
]

AnyShelf = TypeVar("AnyShelf", bound="Shelf")

KINDS_OF_THINGS: tuple[Kind, ...] = get_args(Kind)

_MOST = 2000
_OWN_KEYS = ("name", "version")


@dataclass(frozen=True, slots=True)
class Kept:
    """One version of one thing.

    Args:
        kind: the list that it stands in.
        name: its name.
        version: 1 for the first.
        typed: its table as it was written down, without name and version.
        right: fields of it that were asked about and are right.
    """

    kind: Kind
    name: str
    version: int
    typed: Mapping[str, Any]
    right: tuple[str, ...] = ()

    @property
    def hash(self) -> str:
        """Tells versions apart by what was typed."""
        return hash_of(self.typed)

    def table(self) -> dict[str, Any]:
        """As it stands in a file."""
        return {"name": self.name, "version": self.version, **self.typed}


def hash_of(typed: Mapping[str, Any]) -> str:
    """The first 12 hex digits of the SHA-256 of a table as canonical JSON.

    Args:
        typed: what was written down.
    """
    text = json.dumps(typed, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:12]


class Shelf(SettingsFile):
    """Films, carriages, machines, loads and recipes, by name."""

    films: tuple[ShelfFilm, ...] = Field((), max_length=_MOST)
    carriages: tuple[CarriageThing, ...] = Field((), max_length=_MOST)
    machine_models: tuple[MachineModel, ...] = Field((), max_length=_MOST)
    machines: tuple[OwnMachine, ...] = Field((), max_length=10 * _MOST)
    loads: tuple[LoadThing, ...] = Field((), max_length=10 * _MOST)
    recipes: tuple[Recipe, ...] = Field((), max_length=10 * _MOST)
    _kept: dict[tuple[Kind, str], dict[int, Kept]] = PrivateAttr(default_factory=dict)
    _stated: dict[str, Origin] = PrivateAttr(default_factory=dict)

    @model_validator(mode="after")
    def _something(self) -> Shelf:
        if not any(getattr(self, kind) for kind in KINDS_OF_THINGS):
            raise ValueError(say("at least one thing, such as a film: [[films]]"))
        return self

    def things(self, kind: Kind | None = None) -> Iterator[Kept]:
        """Every version of every thing, by kind and name.

        Args:
            kind: only these.
        """
        for (each, _), versions in self._kept.items():
            if kind in (None, each):
                yield from (versions[number] for number in sorted(versions))

    def latest(self, kind: Kind) -> tuple[Kept, ...]:
        """Every thing of a kind as it stands now."""
        return tuple(
            versions[max(versions)] for (each, _), versions in self._kept.items() if each == kind
        )

    def films_now(self) -> tuple[ShelfFilm, ...]:
        """The films to choose from: each in its latest version."""
        films: tuple[ShelfFilm, ...] = self.now("films")
        return films

    def now(self, kind: Kind) -> tuple[Any, ...]:
        """The things of a kind, checked, each in its latest version."""
        things = getattr(self, kind)
        newest: dict[str, int] = {}
        for each in things:
            newest[each.name] = max(each.version, newest.get(each.name, 0))
        return tuple(each for each in things if newest[each.name] == each.version)

    def origins(self, kind: Kind, thing: Section) -> dict[str, Origin]:
        """Origins that the file states of a thing's fields, by their names within the thing.

        Args:
            kind: the list that it stands in.
            thing: one of that list.
        """
        number = next(at for at, each in enumerate(getattr(self, kind)) if each is thing)
        head = f"{kind}[{number}]."
        return {
            field.removeprefix(head): origin
            for field, origin in self._stated.items()
            if field.startswith(head)
        }

    def find(self, kind: Kind, text: str, field: str) -> Kept:
        """The thing that a reference names.

        Args:
            kind: what it must be.
            text: "@thin film", or "@thin film#2" for a version that is not the latest.
            field: who asks.

        Raises:
            InputError: no such thing, or not in that version.
        """
        name, number = reference(text, field)
        versions = self._kept.get((kind, name))
        if versions is None:
            names = [each for other, each in self._kept if other == kind]
            here = ", ".join(f'"@{each}"' for each in names[:12])
            nothing = say("a shelf with a thing of this kind: {kind}", kind=say(KIND_WORDS[kind]))
            todo = say("Look at the shelf's names, or write the table out.")
            raise InputError.one(field, repr(text), here or nothing, todo)
        if number is None:
            number = max(versions)
        if number not in versions:
            there = ", ".join(f'"@{name}#{each}"' for each in sorted(versions))
            raise InputError.one(field, repr(text), there, say("Name a version that is there."))
        return versions[number]


def reference(text: str, field: str) -> tuple[str, int | None]:
    """Name and version of a reference; None for the latest.

    Args:
        text: "@thin film" or "@thin film#2".
        field: who asks.

    Raises:
        InputError: it is no reference.
    """
    name, mark, number = text.removeprefix("@").partition("#")
    is_one = text.startswith("@") and name.strip() and (not mark or number.strip().isdecimal())
    if not is_one or len(number) > 6:
        allowed = say('a name on the shelf, such as "@thin film" or "@thin film#2"')
        raise InputError.one(field, repr(text), allowed, say("Write @ and the name."))
    return name.strip(), int(number) if mark else None


@names_its_file
def read_shelf(
    path: Path | str, as_typed: Collection[str] = (), beside: Shelf | None = None
) -> Shelf:
    """The shelf in a TOML file.

    Args:
        path: the file.
        as_typed: fields that were asked about and are right, such as "films[0].thickness", beside
            those that the file names.
        beside: another shelf, whose things it may name as well.

    Raises:
        InputError: one problem for each field that cannot be used, or else one question for each
            that can hardly be; a thing that stands twice; a name that nothing here has.
    """
    return shelf_from_table(read_toml(path, "woold shelf new"), as_typed, beside)


def shelf_from_table(
    table: Mapping[str, Any], as_typed: Collection[str] = (), beside: Shelf | None = None
) -> Shelf:
    """The shelf in a file's tables.

    Args:
        table: nested tables, quantities as text.
        as_typed, beside: see :func:`read_shelf`.

    Raises:
        InputError: see :func:`read_shelf`.
    """
    return things_from_table(Shelf, table, as_typed, beside)


def things_from_table(
    model: type[AnyShelf],
    table: Mapping[str, Any],
    as_typed: Collection[str] = (),
    beside: Shelf | None = None,
) -> AnyShelf:
    """The things in the tables of a file that may hold more than things.

    Args:
        model: what the file holds.
        table, as_typed, beside: see :func:`shelf_from_table`.

    Raises:
        InputError: see :func:`read_shelf`.
    """
    shelf, stated = checked(model, table, as_typed)
    shelf._stated = stated
    right = {*shelf.as_typed, *as_typed}
    problems: list[Problem] = []
    for kind in KINDS_OF_THINGS:
        for index, (thing, typed) in enumerate(
            zip(getattr(shelf, kind), table.get(kind, ()), strict=True)
        ):
            here = f"{kind}[{index}]"
            versions = shelf._kept.setdefault((kind, thing.name), {})
            if thing.version in versions:
                problems.append(_twice(here, kind, thing.name, thing.version))
            own = {key: _dated(each) for key, each in typed.items() if key not in _OWN_KEYS}
            confirmed = tuple(
                sorted(each[len(here) + 1 :] for each in right if each.startswith(f"{here}."))
            )
            versions[thing.version] = Kept(kind, thing.name, thing.version, own, confirmed)
    if problems:
        raise InputError.many(problems)
    problems = [each for asked in _references(shelf) for each in _unknown((shelf, beside), *asked)]
    if problems:
        raise InputError.many(problems)
    return shelf


def _dated(value: Any) -> Any:
    """What was typed, with dates as their text, as a store and a document have them."""
    if isinstance(value, Mapping):
        return {name: _dated(each) for name, each in value.items()}
    if isinstance(value, list):
        return [_dated(each) for each in value]
    return value.isoformat() if isinstance(value, date) else value


def _twice(here: str, kind: Kind, name: str, version: int) -> Problem:
    given = say(
        "{kind} {name!r} twice in version {version}",
        kind=say(KIND_WORDS[kind]),
        name=name,
        version=version,
    )
    todo = say("Give one another name, or the changed one the next version.")
    return Problem(f"{here}.name", given, say("each version of each thing once"), todo)


def _references(shelf: Shelf) -> Iterable[tuple[Kind, str | None, str]]:
    """Everything on the shelf that names something else there."""
    for index, machine in enumerate(shelf.machines):
        yield "machine_models", machine.model, f"machines[{index}].model"
        yield "carriages", machine.carriage, f"machines[{index}].carriage"
    for index, load in enumerate(shelf.loads):
        for each in load.machines:
            yield "machines", each, f"loads[{index}].machines"
    for index, recipe in enumerate(shelf.recipes):
        yield "machine_models", recipe.machine_model, f"recipes[{index}].machine_model"
        yield "films", recipe.film, f"recipes[{index}].film"
        for each in recipe.loads:
            yield "loads", each, f"recipes[{index}].loads"


def _unknown(
    shelves: tuple[Shelf, Shelf | None], kind: Kind, text: str | None, field: str
) -> tuple[Problem, ...]:
    """The problem with a name that none of the shelves has."""
    found: tuple[Problem, ...] = ()
    if text is not None:
        for shelf in filter(None, shelves):
            try:
                shelf.find(kind, text, field)
            except InputError as error:
                found = found or error.problems
            else:
                return ()
    return found
