"""Recipes of a line. Field names are the JSON document's keys."""

from __future__ import annotations

from dataclasses import dataclass

from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told

__all__ = [
    "LineRecipes",
    "MachineRecipes",
    "PanelLabel",
    "RecipeCount",
    "RecipeSheet",
    "UnservedLoad",
]


@dataclass(frozen=True, slots=True)
class RecipeSheet:
    """What an operator sets for a group of loads.

    Args:
        recipe: its name.
        is_in_use: the line has a recipe of this program already.
        overlap, rise_per_turn_m: one of the two, as the machine's recipes state it.
        loads: kinds of load that get it.
        names: of these.
        tallest_m, shortest_m: of them.
        film_mass_per_year_kg: of all of them; per load where nobody said how many there are.
        loss: of film over each load by its own best program [-].
        hold_share: least over what is asked, or over the hold of today where nothing is; 1 or more
            holds [-].
        hardest_load: that it belongs to.
    """

    recipe: str
    is_in_use: bool
    force_n: float
    overlap: float | None
    rise_per_turn_m: float | None
    bottom_wraps: float
    top_wraps: float
    loads: int
    names: tuple[str, ...]
    shortest_m: float
    tallest_m: float
    loads_per_year: float
    film_mass_per_year_kg: float
    loss: float
    hold_share: float
    hardest_load: str


@dataclass(frozen=True, slots=True)
class RecipeCount:
    """The least film with at most so many recipes; null where they cannot serve all loads."""

    recipes: int
    loss: float | None
    film_mass_per_year_kg: float | None


@dataclass(frozen=True, slots=True)
class UnservedLoad:
    """A load that no program tried serves, with the limit that fails by the nearest one."""

    load: str
    limit: str


@dataclass(frozen=True, slots=True)
class PanelLabel:
    """What the machine's panel calls a setting of a recipe."""

    setting: str
    label: str


@dataclass(frozen=True, slots=True)
class MachineRecipes:
    """A machine model with a film and the carriage on it.

    Args:
        programs_tried: of force, overlap and wraps, today's recipes among them.
        recipes: fewest that serve the loads within the loss.
        fewest: no set of fewer serves them so.
        at_end_of_tried: a new recipe sets the largest force or the least overlap tried.
        panel: what the machine's panel calls what a recipe sets.
        counts: the least film with fewer recipes, and with one more.
        film_mass_today_kg: in a year by today's recipes; null where one of the loads does not work
            by them.
        today_fails: loads that do not work by today's recipes.
        recipes_today: how many of today's recipes they run on.
    """

    machine: str
    film: str
    carriage: str
    loads: int
    programs_tried: int
    recipes: tuple[RecipeSheet, ...]
    fewest: int
    is_exact: bool
    loss: float
    film_mass_per_year_kg: float
    film_mass_least_kg: float
    film_mass_today_kg: float | None
    today_fails: int
    recipes_today: int
    at_end_of_tried: bool
    panel: tuple[PanelLabel, ...]
    counts: tuple[RecipeCount, ...]
    unserved: tuple[UnservedLoad, ...]


@dataclass(frozen=True, slots=True, repr=False)
class LineRecipes(Told):
    """The fewest recipes for each machine and film.

    Args:
        allowed_loss: of film that fewer recipes may cost [-].
        margin: of hold over what is asked [-].
    """

    told_as = "line-recipes"
    told_by = "woold.line.recipe_rows:recipe_blocks"

    title: str
    allowed_loss: float
    margin: float
    machines: tuple[MachineRecipes, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
