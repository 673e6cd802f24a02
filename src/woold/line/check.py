"""What a line holds, and what a reader must be told of it before anything is asked."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from woold.errors import InputError
from woold.line.broken_rows import BrokenRows, joined_rows
from woold.line.catalogue import Catalogue, column_place
from woold.line.folded_names import folded
from woold.line.line_file import LineFile
from woold.line.things import LineThings, recipe_for
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.words import say

__all__ = [
    "BrokenRow",
    "CatalogueCounts",
    "LineCheck",
    "catalogue_counts",
    "check_counts",
    "check_line",
]


@dataclass(frozen=True, slots=True)
class BrokenRow:
    """Rows of the catalogue that are left out, for one reason."""

    reason: str
    column: str
    rows: int
    examples: tuple[str, ...]


@dataclass(frozen=True, slots=True, repr=False)
class LineCheck(Told):
    """What a line holds."""

    told_as = "line-check"
    told_by = "woold.line.rows:check_blocks"

    title: str
    carriages: tuple[str, ...]
    machine_models: tuple[str, ...]
    machines: tuple[str, ...]
    films: tuple[str, ...]
    recipes: tuple[str, ...]
    catalogue: str
    rows: int
    loads: int
    loads_per_year: float
    combinations: int
    broken: tuple[BrokenRow, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS


@dataclass(frozen=True, slots=True)
class CatalogueCounts:
    """What a check asks of a catalogue, or of a portion of one.

    Args:
        source: where it stands.
        rows, loads, loads_per_year: that were read, that can be used, and all of these a year.
        broken, broken_rows: rows that cannot be used, by reason and all of them.
        left_aside: loads that a sample leaves out.
        machines: names of machines that wrap loads.
        silent, silent_one: loads that ask for no containment force, and one of them.
        recipe_missing: what is said of a load without a recipe; "" where there is none.
    """

    source: str
    rows: int
    loads: int
    loads_per_year: float
    broken: tuple[BrokenRows, ...]
    broken_rows: int
    left_aside: int
    machines: frozenset[str]
    silent: int
    silent_one: str
    recipe_missing: str

    def joined(self, other: CatalogueCounts) -> CatalogueCounts:
        """With those of another portion.

        Args:
            other: of them.
        """
        return CatalogueCounts(
            source=self.source,
            rows=self.rows + other.rows,
            loads=self.loads + other.loads,
            loads_per_year=self.loads_per_year + other.loads_per_year,
            broken=joined_rows(self.broken, other.broken),
            broken_rows=self.broken_rows + other.broken_rows,
            left_aside=self.left_aside + other.left_aside,
            machines=self.machines | other.machines,
            silent=self.silent + other.silent,
            silent_one=self.silent_one or other.silent_one,
            recipe_missing=self.recipe_missing or other.recipe_missing,
        )


def catalogue_counts(line: LineFile, catalogue: Catalogue) -> CatalogueCounts:
    """What a check asks of a catalogue.

    Args:
        line: the line.
        catalogue: its loads, or a portion of them.
    """
    silent = [each.name for each in catalogue.loads if not each.hold.targets]
    return CatalogueCounts(
        source=catalogue.source,
        rows=catalogue.rows,
        loads=len(catalogue.loads),
        loads_per_year=float(catalogue.loads_per_year.sum()),
        broken=catalogue.broken,
        broken_rows=catalogue.broken_rows,
        left_aside=catalogue.left_aside,
        machines=frozenset(each.machine for each in catalogue.loads if each.machine),
        silent=len(silent),
        silent_one=silent[0] if silent else "",
        recipe_missing=_recipe_missing(line.things, catalogue),
    )


def check_line(line: LineFile, catalogue: Catalogue) -> LineCheck:
    """Everything that a line holds, with what is missing in it.

    Args:
        line: the line.
        catalogue: its loads.
    """
    return check_counts(line, catalogue_counts(line, catalogue))


def check_counts(line: LineFile, catalogue: CatalogueCounts) -> LineCheck:
    """The same of a catalogue that was counted already.

    Args:
        line: the line.
        catalogue: what a check asks of it.
    """
    things = line.things
    combinations = catalogue.loads
    for each in (things.candidates, things.models, things.films):
        combinations *= len(each)
    return LineCheck(
        title=line.line.title,
        carriages=tuple(each.name for each in things.candidates),
        machine_models=tuple(each.name for each in things.models),
        machines=tuple(each.name for each in things.machines),
        films=tuple(each.name for each in things.films),
        recipes=tuple(each.name for each in things.recipes),
        catalogue=catalogue.source,
        rows=catalogue.rows,
        loads=catalogue.loads,
        loads_per_year=catalogue.loads_per_year,
        combinations=combinations,
        broken=tuple(
            BrokenRow(
                each.reason(),
                f"catalogue.{each.column}",
                each.count,
                tuple(f"{row}: {given}" for row, given in each.examples),
            )
            for each in catalogue.broken
        ),
        findings=tuple(_findings(things, catalogue)),
    )


def _findings(things: LineThings, catalogue: CatalogueCounts) -> Iterator[Finding]:
    if catalogue.broken:
        yield Finding(
            "rows_left_out",
            Path(catalogue.source).name,
            say(
                "{count} of {rows} rows cannot be used and are left out. Mend them: what they"
                " stand for is missing everywhere below.",
                count=catalogue.broken_rows,
                rows=catalogue.rows,
            ),
        )
    if catalogue.left_aside:
        yield Finding(
            "only_a_sample",
            Path(catalogue.source).name,
            say(
                "Kinds of load that were looked at, evenly picked: {count}; and not: {rest}.",
                count=catalogue.loads,
                rest=catalogue.left_aside,
            ),
        )
    yield from _alike(things)
    for film in things.films:
        if film.rated_prestretch is None:
            yield Finding(
                "film_not_rated",
                "films.rated_prestretch",
                say(
                    "{film}: nobody says how far this film may be stretched. Ask its maker; until"
                    " then no place of the map is free of a finding.",
                    film=film.name,
                ),
            )
    for carriage in things.candidates:
        drive = carriage.drive
        if drive is None or drive.torque is None or drive.power is None:
            yield Finding(
                "drive_not_rated",
                "carriages.drive",
                say(
                    "{carriage}: torque or power of its drive is not stated, so whether the drive"
                    " is strong enough is not asked.",
                    carriage=carriage.name,
                ),
            )
        if carriage.dancer is None or not carriage.dancer.springs:
            yield Finding(
                "no_springs",
                "carriages.dancer",
                say(
                    "{carriage}: no spring of its dancer is listed, so whether one holds the film's"
                    " force is not asked.",
                    carriage=carriage.name,
                ),
            )
    unknown = sorted(each for each in catalogue.machines if things.fitted(each) is None)
    if unknown:
        yield Finding(
            "carriage_today_unknown",
            "machines.carriage",
            say(
                "{machines}: which carriage is fitted today is not stated, or not the same on all"
                " of them. Without it nothing can be compared with today.",
                machines=", ".join(unknown),
            ),
        )
    if catalogue.recipe_missing:
        yield Finding("recipe_missing", "recipes.program", catalogue.recipe_missing)
    if catalogue.silent:
        yield Finding(
            "nothing_to_hold",
            column_place(catalogue.source, "hold"),
            say(
                "{count} loads ask for no containment force, such as {load}: for them the map says"
                " nothing of hold.",
                count=catalogue.silent,
                load=catalogue.silent_one,
            ),
        )


def _alike(things: LineThings) -> Iterator[Finding]:
    """Names of a kind that differ in capitals or spaces alone."""
    for every in (things.films, things.candidates, things.models, things.machines):
        by_folded: dict[str, list[str]] = {}
        for each in every:
            by_folded.setdefault(folded(each.name), []).append(each.name)
        for names in by_folded.values():
            if len(names) > 1:
                yield Finding(
                    "names_alike",
                    "line",
                    say(
                        "Names that differ in capitals or spaces alone: {names}. If they are one"
                        " thing, leave one of them out: it counts as often as it is named.",
                        names=", ".join(names),
                    ),
                )


def _recipe_missing(things: LineThings, catalogue: Catalogue) -> str:
    """A load, film and machine for which no recipe is there: the first that is found."""
    named = any(each.loads for each in things.recipes)
    kinds = {(each.recipe, each.name if named else ""): each for each in catalogue.loads}
    for model, film in itertools.product(things.models, things.films):
        for load in kinds.values():
            try:
                recipe_for(things, model, film, load)
            except InputError as error:
                return str(error)
    return ""
