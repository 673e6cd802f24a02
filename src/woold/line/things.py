"""The things of a line, its own and its shelf's, and the case that a choice of them makes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from woold.case.film import Film
from woold.case.hold import Hold
from woold.case.load import Load
from woold.case.model import Case
from woold.case.origin import Origin
from woold.case.shelf import Kept, Shelf, reference
from woold.case.things import (
    CarriageThing,
    Kind,
    LoadThing,
    MachineModel,
    OwnMachine,
    Recipe,
    ShelfFilm,
)
from woold.case.transport import Transport
from woold.errors import InputError, Problem
from woold.words import say

__all__ = ["LineChoice", "LineLoad", "LineThings", "case_of", "gathered_things", "recipe_for"]


@dataclass(frozen=True, slots=True)
class LineLoad:
    """One kind of load of the catalogue.

    Args:
        name: as the catalogue has it.
        load, hold, transport: a case's tables.
        loads_per_year: wrapped in a year; None where nobody said.
        machine: the line's machine or model of machine that wraps it; "" where nobody said.
        film: that it is wrapped in today; "" where nobody said.
        recipe: by which it is wrapped; "" for the one that fits best.
    """

    name: str
    load: Load
    hold: Hold
    transport: Transport | None = None
    loads_per_year: float | None = None
    machine: str = ""
    film: str = ""
    recipe: str = ""


@dataclass(frozen=True)
class LineThings:
    """Everything of a line, each in its latest version; names of a kind are all different.

    Args:
        films, carriages, models, machines, loads, recipes: in the order that they stand.
        candidates: the carriages to choose from.
        stated: origins that files state of a thing's fields, by kind and name of the thing.
        typed: what was written down of each, likewise.
    """

    films: tuple[ShelfFilm, ...]
    carriages: tuple[CarriageThing, ...]
    models: tuple[MachineModel, ...]
    machines: tuple[OwnMachine, ...]
    loads: tuple[LoadThing, ...]
    recipes: tuple[Recipe, ...]
    candidates: tuple[CarriageThing, ...]
    stated: Mapping[tuple[Kind, str], Mapping[str, Origin]] = field(default_factory=dict)
    typed: Mapping[tuple[Kind, str], Kept] = field(default_factory=dict)

    def model_of(self, name: str) -> MachineModel:
        """A model of machine by its name, or by that of a machine.

        Args:
            name: of one of the two, with or without "@".
        """
        wanted = name.removeprefix("@").partition("#")[0]
        for machine in self.machines:
            if machine.name == wanted:
                wanted = machine.model.removeprefix("@").partition("#")[0]
                break
        return next(each for each in self.models if each.name == wanted)

    def fitted(self, name: str) -> CarriageThing | None:
        """The carriage fitted to a machine today, or to every machine of a model; None if unknown.

        Args:
            name: of a machine or a model of machine.
        """
        wanted = name.removeprefix("@").partition("#")[0]
        found = {
            machine.carriage.removeprefix("@").partition("#")[0]
            for machine in self.machines
            if machine.carriage is not None
            and (machine.name == wanted or machine.model[1:].partition("#")[0] == wanted)
        }
        if len(found) != 1:
            return None
        (one,) = found
        return next((each for each in self.carriages if each.name == one), None)


_LISTS: tuple[Kind, ...] = (
    "films",
    "carriages",
    "machine_models",
    "machines",
    "loads",
    "recipes",
)
_NEEDED: tuple[Kind, ...] = ("films", "carriages", "machine_models", "recipes")


def gathered_things(line: Shelf, beside: Shelf | None, candidates: Sequence[str]) -> LineThings:
    """The things of a line and its shelf, each in its latest version.

    Args:
        line: the line's own.
        beside: the shelf's; None for none.
        candidates: carriages to choose from, by reference; all of them if empty.

    Raises:
        InputError: a name of a kind in both, a kind of which nothing is there, or a candidate that
            is not.
    """
    found: dict[Kind, list[Any]] = {}
    stated: dict[tuple[Kind, str], Mapping[str, Origin]] = {}
    typed: dict[tuple[Kind, str], Kept] = {}
    problems: list[Problem] = []
    for kind in _LISTS:
        names: set[str] = set()
        for shelf in filter(None, (line, beside)):
            typed |= {(kind, each.name): each for each in shelf.latest(kind)}
            for thing in shelf.now(kind):
                if thing.name in names:
                    problems.append(_in_both(kind, thing.name))
                names.add(thing.name)
                found.setdefault(kind, []).append(thing)
                stated[kind, thing.name] = shelf.origins(kind, thing)
    problems += [_lacking(kind) for kind in _NEEDED if not found.get(kind)]
    if problems:
        raise InputError.many(problems)
    return LineThings(
        films=tuple(found["films"]),
        carriages=tuple(found["carriages"]),
        models=tuple(found["machine_models"]),
        machines=tuple(found.get("machines", ())),
        loads=tuple(found.get("loads", ())),
        recipes=tuple(found["recipes"]),
        candidates=_candidates(found["carriages"], candidates),
        stated=stated,
        typed=typed,
    )


def _candidates(
    carriages: Sequence[CarriageThing], wanted: Sequence[str]
) -> tuple[CarriageThing, ...]:
    """The carriages that are named, or all."""
    if not wanted:
        return tuple(carriages)
    by_name = {each.name: each for each in carriages}
    chosen: dict[str, CarriageThing] = {}
    for index, text in enumerate(wanted):
        name, _ = reference(text, f"candidates[{index}]")
        if name not in by_name:
            there = ", ".join(f'"@{each}"' for each in by_name)
            todo = say("Name a carriage of this line.")
            raise InputError.one(f"candidates[{index}]", repr(text), there, todo)
        chosen[name] = by_name[name]
    return tuple(chosen.values())


def _in_both(kind: Kind, name: str) -> Problem:
    return Problem(
        kind,
        say("{name!r} in the line's file and on its shelf", name=name),
        say("each name of a kind once"),
        say("Rename one of them, or take it out of the line's file."),
    )


def _lacking(kind: Kind) -> Problem:
    return Problem(
        kind,
        say("nothing"),
        say("at least one: [[{kind}]]", kind=kind),
        say("Add it to the line's file or to its shelf. woold line new shows one."),
    )


def recipe_for(things: LineThings, model: MachineModel, film: ShelfFilm, load: LineLoad) -> Recipe:
    """The recipe by which a load is wrapped on a machine in a film: the most specific that fits.

    One that names the load goes before one that names the film, that before one that names the
    machine's model; of equals the first. The load's own recipe goes before all.

    Args:
        things: of the line.
        model, film, load: what is wrapped, and where.

    Raises:
        InputError: none fits.
    """
    best: tuple[int, Recipe] | None = None
    for recipe in things.recipes:
        if load.recipe and recipe.name == load.recipe:
            return recipe
        score = 0
        for weight, given, name in (
            (1, recipe.machine_model, model.name),
            (2, recipe.film, film.name),
        ):
            if given is not None:
                score += weight if given[1:].partition("#")[0].strip() == name else -100
        if recipe.loads:
            named = {each[1:].partition("#")[0].strip() for each in recipe.loads}
            score += 4 if load.name in named else -100
        if score >= 0 and (best is None or score > best[0]):
            best = score, recipe
    if best is None:
        raise InputError.one(
            "recipes",
            say(
                "none for {load} in {film} on {machine}",
                load=load.name,
                film=film.name,
                machine=model.name,
            ),
            say("a recipe for every load, film and machine"),
            say("Add one that names none of them: it serves what no other does."),
        )
    return best[1]


class LineChoice(NamedTuple):
    """A carriage on a machine, with a film and the recipe for it."""

    carriage: CarriageThing
    model: MachineModel
    film: ShelfFilm
    recipe: Recipe


def film_section(film: ShelfFilm) -> Film:
    """A case's [film] of a film on the shelf."""
    given = {
        name: getattr(film, name) for name in film.model_fields_set if name in Film.model_fields
    }
    return Film(**given)


def case_of(things: LineThings, choice: LineChoice, load: LineLoad) -> Case:
    """The case of a load wrapped by a choice of things; nothing is asked about again.

    Args:
        things: of the line, with the origins that they state.
        choice: carriage, machine, film and recipe.
        load: what is wrapped.
    """
    carriage, model, film, recipe = choice
    case = Case(
        title=f"{load.name}, {film.name}, {carriage.name}, {model.name}",
        load=load.load,
        film=film_section(film),
        carriage=carriage.carriage,
        dancer=carriage.dancer,
        machine=model.machine,
        program=recipe.program,
        hold=load.hold,
        transport=load.transport,
    )
    stated: dict[str, Origin] = {
        f"film.{name}": origin
        for name, origin in things.stated.get(("films", film.name), {}).items()
    }
    named: tuple[tuple[Kind, str], ...] = (
        ("carriages", carriage.name),
        ("machine_models", model.name),
        ("recipes", recipe.name),
        ("loads", load.name),
    )
    for key in named:
        stated |= things.stated.get(key, {})
    return case.with_origins(stated)
