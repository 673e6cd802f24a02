"""Cases of recipes: each on its hardest load, for the bench and for a set-up sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from woold.case.things import Recipe
from woold.line.case_table import case_table
from woold.line.catalogue import Catalogue
from woold.line.line_file import LineFile
from woold.line.recipe_result import LineRecipes
from woold.line.things import LineChoice
from woold.words import say

__all__ = ["recipe_cases"]

_NEW = "a new recipe@"
"""A name that no recipe of a line can have."""


def recipe_cases(
    line: LineFile, catalogue: Catalogue, result: LineRecipes
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Name of a file and the tables of a case, for each recipe.

    Args:
        line, catalogue: the line and its loads.
        result: recipes of these.
    """
    things = line.things
    loads = {(each.name, each.machine): each for each in catalogue.loads}
    for cell, programs in zip(result.machines, result.programs, strict=True):
        carriage = next(each for each in things.carriages if each.name == cell.carriage)
        film = next(each for each in things.films if each.name == cell.film)
        model = next(each for each in things.models if each.name == cell.machine)
        for number, (sheet, program) in enumerate(
            zip(cell.recipes, programs, strict=True), start=1
        ):
            # A load of a catalogue stands there once for each machine.
            load = next(
                each
                for (name, machine), each in loads.items()
                if name == sheet.hardest_load
                and (not machine or things.model_of(machine).name == cell.machine)
            )
            recipe = Recipe.model_construct(name=_NEW, program=program)
            table = case_table(things, LineChoice(carriage, model, film, recipe), load)
            table["title"] = say(
                "{machine}, {film}: {recipe} (hardest: {load})",
                machine=cell.machine,
                film=cell.film,
                recipe=sheet.recipe,
                load=load.name,
            )
            yield f"{_plain(cell.machine)}-{_plain(cell.film)}-{number}.toml", table


def _plain(name: str) -> str:
    """A name as a part of a file's."""
    return re.sub(r"[^\w]+", "-", name).strip("-").lower() or "x"
