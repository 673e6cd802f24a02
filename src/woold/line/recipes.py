"""Recipes: for each machine and film the fewest programs that serve its loads.

Every program is judged on every load as the line's map judges it: what the load must hold, the
drive, the film, the carriage on its mast. A load of which nobody says what it must hold is held no
less than it is today.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from woold.case.program import Program
from woold.case.things import CarriageThing, MachineModel, Recipe, ShelfFilm
from woold.errors import InputError
from woold.line.catalogue import Catalogue
from woold.line.cells import Cells, judged_cells
from woold.line.choice import ChosenFilm, chosen_film
from woold.line.limits import LIMITS, STATUSES
from woold.line.line_file import LineFile
from woold.line.map import LineLoads, line_loads
from woold.line.recipe_cover import RecipeCover, fewest_recipes, least_film, least_film_with
from woold.line.recipe_programs import TriedProgram, tried_programs
from woold.line.recipe_result import (
    LineRecipes,
    MachineRecipes,
    PanelLabel,
    RecipeCount,
    RecipeSheet,
    UnservedLoad,
)
from woold.line.things import LineChoice, LineLoad, LineThings, recipe_for
from woold.prediction.result import Finding
from woold.words import say

__all__ = ["RecipesAsked", "line_recipes"]

Floats = NDArray[np.float64]

_DOES_NOT = list(STATUSES).index("does_not")
_ON_SHEET = ("force to load", "rise per turn", "bottom wraps", "top wraps")
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class RecipesAsked:
    """What recipes are asked for.

    Args:
        loss: of film that fewer recipes may cost [-].
        margin: of hold over what is asked, by each recipe on each of its loads [-].
        carriage: on all machines; the one that is fitted today if not given.
        machine: that model alone.
        film: that film alone.
        forces: to load that may be set [N]; a grid about today's if not given.
    """

    loss: float = 0.03
    margin: float = 0.05
    carriage: str | None = None
    machine: str | None = None
    film: str | None = None
    forces: tuple[float, ...] = ()


def line_recipes(
    line: LineFile,
    catalogue: Catalogue,
    asked: RecipesAsked = RecipesAsked(),
    progress: Callable[[], None] | None = None,
) -> LineRecipes:
    """The fewest recipes for each machine and film within a loss of film.

    Loads of which the catalogue names a film are asked in that film alone.

    Args:
        line, catalogue: the line and its loads.
        asked: what is asked for.
        progress: called after each machine and film.

    Raises:
        InputError: a name that the line does not have, or a machine of which nobody says which
            carriage is fitted.
    """
    things = line.things
    models = _named(things.models, asked.machine, "--machine")
    films = _named(things.films, asked.film, "--film")
    found: list[MachineRecipes] = []
    without: list[str] = []
    for model in models:
        here = [each for each in catalogue.loads if _model_of(things, each) == model.name]
        carriage = _carriage(things, model, asked.carriage) if here else None
        if here and carriage is None:
            without.append(model.name)
            continue
        for film in films:
            loads = tuple(each for each in here if each.film in ("", film.name))
            if loads and carriage is not None:
                found.append(_Cell(line, (carriage, model, film), loads, asked).recipes())
                if progress is not None:
                    progress()
    if without and not found:
        raise InputError.one(
            "machines",
            say("no carriage is stated for {machines}", machines=", ".join(without)),
            say("the carriage that is fitted to each machine"),
            say("State it in [[machines]], or name one: --carriage NAME."),
        )
    return LineRecipes(
        title=line.line.title,
        allowed_loss=asked.loss,
        margin=asked.margin,
        machines=tuple(found),
        findings=tuple(_findings(found, without)),
    )


AnyNamed = TypeVar("AnyNamed", CarriageThing, MachineModel, ShelfFilm)


def _named(things: Sequence[AnyNamed], name: str | None, option: str) -> list[AnyNamed]:
    if name is None:
        return list(things)
    found = [each for each in things if each.name == name.removeprefix("@")]
    if not found:
        names = ", ".join(f'"{each.name}"' for each in things)
        raise InputError.one(option, repr(name), names, say("Name one that the line has."))
    return found


def _model_of(things: LineThings, load: LineLoad) -> str:
    return things.model_of(load.machine).name if load.machine else things.models[0].name


def _carriage(things: LineThings, model: MachineModel, name: str | None) -> CarriageThing | None:
    if name is None:
        return things.fitted(model.name)
    (found,) = _named(things.carriages, name, "--carriage")
    return found


def _findings(found: Sequence[MachineRecipes], without: Sequence[str]) -> Iterable[Finding]:
    if without:
        yield Finding(
            "carriage_today_unknown",
            "machines",
            say(
                "Which carriage is fitted is not stated, or not the same, on {machines}: no recipe"
                " is said for them.",
                machines=", ".join(without),
            ),
        )
    unserved = sum(len(each.unserved) for each in found)
    if unserved:
        yield Finding(
            "loads_without_recipe",
            "catalogue",
            say(
                "Loads that no program tried serves: {count} kinds. They are named below, with what"
                " limits them; do not wrap them by another's recipe.",
                count=unserved,
            ),
        )
    at_end = [f"{each.machine}, {each.film}" for each in found if each.at_end_of_tried]
    if at_end:
        yield Finding(
            "best_at_the_end",
            "programs",
            say(
                "The largest force or the least overlap tried is among the recipes of {count}"
                " machines with a film, such as {example}. More of it may save more film, and asks"
                " more of film and load: try it on one load before it is set.",
                count=len(at_end),
                example=at_end[0],
            ),
        )
    fails = sum(each.today_fails for each in found)
    if fails:
        yield Finding(
            "today_does_not_work",
            "recipes",
            say(
                "Kinds of load that do not work by today's recipe, as predicted: {count}. Look at"
                " them first: woold line map.",
                count=fails,
            ),
        )


class _Cell:
    """A carriage on a machine with a film, its loads, and programs tried on them."""

    def __init__(
        self,
        line: LineFile,
        things: tuple[CarriageThing, MachineModel, ShelfFilm],
        loads: tuple[LineLoad, ...],
        asked: RecipesAsked,
    ) -> None:
        self.line, self.loads, self.asked = line, loads, asked
        self.carriage, self.model, self.film = things
        self.columns: LineLoads = line_loads(line.things, loads)
        self.yearly = np.array([each.loads_per_year or 1.0 for each in loads])
        self.recipe_of = [recipe_for(line.things, self.model, self.film, each) for each in loads]
        self.programs = tried_programs(self._in_use(), asked.forces)
        self._films: dict[float, ChosenFilm] = {}

    def recipes(self) -> MachineRecipes:
        """The fewest programs, and what they come to."""
        cells = [self._judged(each.program) for each in self.programs]
        today = self._today(cells)
        serves, hold = self._serves(cells, today)
        film = np.array([each.film_mass_kg for each in cells]).T * self.yearly[:, None]
        film = np.where(serves, film, np.inf)
        cover = fewest_recipes(film, serves, self.asked.loss)
        best = least_film(film, serves)
        total = float(best.sum())
        worked = today.status != _DOES_NOT
        return MachineRecipes(
            machine=self.model.name,
            film=self.film.name,
            carriage=self.carriage.name,
            loads=len(self.loads),
            programs_tried=len(self.programs),
            recipes=tuple(self._sheets(cover, film, best, hold)),
            fewest=cover.fewest,
            is_exact=cover.is_exact,
            loss=cover.film / total - 1.0 if total > 0.0 else 0.0,
            film_mass_per_year_kg=cover.film,
            film_mass_least_kg=total,
            film_mass_today_kg=float((today.film_mass_kg * self.yearly).sum())
            if worked.all()
            else None,
            today_fails=int((~worked).sum()),
            recipes_today=len({each.name for each in self.recipe_of}),
            at_end_of_tried=self._at_end(cover.programs),
            panel=tuple(
                PanelLabel(each.setting, each.label)
                for each in self.model.machine.panel
                if each.setting in _ON_SHEET
            ),
            counts=tuple(self._counts(film, serves, len(cover.programs), total)),
            unserved=tuple(self._unserved(cells, serves)),
        )

    def _in_use(self) -> list[tuple[str, Program]]:
        """The line's recipes that serve these loads, the most used first."""
        used: dict[str, float] = {}
        by_name: dict[str, Recipe] = {}
        for recipe, yearly in zip(self.recipe_of, self.yearly, strict=True):
            used[recipe.name] = used.get(recipe.name, 0.0) + float(yearly)
            by_name[recipe.name] = recipe
        return [
            (name, by_name[name].program) for name in sorted(used, key=lambda each: -used[each])
        ]

    def _judged(self, program: Program) -> Cells:
        """A program on all loads."""
        force = program.force_to_load
        if force not in self._films:
            recipe = Recipe(name="tried", program=program)
            choice = LineChoice(self.carriage, self.model, self.film, recipe)
            self._films[force] = chosen_film(
                self.line.things, choice, self.loads[0], self.line.line.corner_tension
            )
        chosen = self._films[force]
        # The film on the load rests on the force alone; the rest of the program is the case's.
        chosen = replace(chosen, case=chosen.case.model_copy(update={"program": program}))
        ratings = (self.carriage.drive, self.model.drive)
        return judged_cells(chosen, self.columns.columns, self.columns.frictions, ratings)

    def _today(self, cells: Sequence[Cells]) -> Cells:
        """Each load by its recipe of today."""
        names = {each.in_use: at for at, each in enumerate(self.programs) if each.in_use}
        place = np.array([self._place(each, names) for each in self.recipe_of])
        rows = np.arange(len(self.loads))
        return Cells(
            **{
                name: np.array([getattr(each, name) for each in cells])[place, rows]
                for name in Cells.__dataclass_fields__
            }
        )

    def _place(self, recipe: Recipe, names: dict[str, int]) -> int:
        if recipe.name in names:
            return names[recipe.name]
        same = recipe.program.model_dump_json()
        return next(
            at for at, each in enumerate(self.programs) if each.program.model_dump_json() == same
        )

    def _serves(self, cells: Sequence[Cells], today: Cells) -> tuple[NDArray[np.bool_], Floats]:
        """Whether each program serves each load, and its hold over what is asked."""
        works = np.array([each.status != _DOES_NOT for each in cells]).T
        layers = np.array([each.layers_min for each in cells]).T
        hold = np.array([each.hold_share for each in cells]).T
        later = np.array([each.containment_later_low_n for each in cells]).T
        asks = np.array([bool(each.hold.targets) for each in self.loads])
        with np.errstate(divide="ignore", invalid="ignore"):
            of_today = later / today.containment_later_low_n[:, None]
            hold = np.where(asks[:, None], hold, of_today)
            # Of what is asked there is some to spare; today's hold is matched.
            least = np.where(asks, 1.0 + self.asked.margin, 1.0)[:, None]
            enough = hold >= least * (1.0 - _ROUNDING)
            covered = layers >= np.fmin(1.0, today.layers_min)[:, None] - _ROUNDING
        return works & enough & covered, hold

    def _sheets(
        self, cover: RecipeCover, film: Floats, best: Floats, hold: Floats
    ) -> Iterable[RecipeSheet]:
        used: dict[str, int] = {}
        for at in sorted(
            cover.programs, key=lambda each: -float(self.yearly[cover.program_of == each].sum())
        ):
            which = np.flatnonzero(cover.program_of == at)
            if not which.size:
                continue
            tried = self.programs[at]
            spent = float(film[which, at].sum())
            hardest = which[
                np.nanargmin(np.where(np.isnan(hold[which, at]), np.inf, hold[which, at]))
            ]
            heights = [self.loads[each].load.height for each in which]
            yield RecipeSheet(
                recipe=_name(tried, used),
                is_in_use=bool(tried.in_use),
                force_n=tried.program.force_to_load,
                overlap=tried.program.overlap,
                rise_per_turn_m=tried.program.rise_per_turn,
                bottom_wraps=tried.program.bottom_wraps,
                top_wraps=tried.program.top_wraps,
                loads=which.size,
                names=tuple(self.loads[each].name for each in which),
                shortest_m=min(heights),
                tallest_m=max(heights),
                loads_per_year=float(self.yearly[which].sum()),
                film_mass_per_year_kg=spent,
                loss=spent / float(best[which].sum()) - 1.0,
                hold_share=float(hold[hardest, at]),
                hardest_load=self.loads[hardest].name,
            )

    def _at_end(self, chosen: Sequence[int]) -> bool:
        """Whether a new recipe sets the largest force or the least overlap that was tried."""
        new = [self.programs[each].program for each in chosen if not self.programs[each].in_use]
        all_tried = [each.program for each in self.programs]
        most = max(each.force_to_load for each in all_tried)
        thinnest = max(_pitch(each) for each in all_tried)
        return any(each.force_to_load == most or _pitch(each) == thinnest for each in new)

    def _counts(
        self, film: Floats, serves: NDArray[np.bool_], count: int, total: float
    ) -> Iterable[RecipeCount]:
        """The least film with fewer recipes, with so many, and with one more."""
        for most in range(1, count + 2) if count else ():
            chosen = least_film_with(film, serves, most)
            if chosen is None:
                yield RecipeCount(most, None, None)
                continue
            can = serves.any(axis=1)
            spent = float(film[can][:, list(chosen)].min(axis=1).sum())
            yield RecipeCount(most, spent / total - 1.0, spent)

    def _unserved(
        self, cells: Sequence[Cells], serves: NDArray[np.bool_]
    ) -> Iterable[UnservedLoad]:
        shares = np.array([each.share for each in cells]).T
        limits = np.array([each.limit for each in cells]).T
        codes = list(LIMITS)
        for at in np.flatnonzero(~serves.any(axis=1)):
            row = np.where(np.isnan(shares[at]), -np.inf, shares[at])
            limit = int(limits[at, int(row.argmax())])
            yield UnservedLoad(self.loads[at].name, codes[limit] if limit >= 0 else "hold")


def _pitch(program: Program) -> float:
    """Grows with the rise of a turn, in whichever way the program states it."""
    if program.overlap is not None:
        return 1.0 - program.overlap
    return program.rise_per_turn or 0.0


def _name(tried: TriedProgram, used: dict[str, int]) -> str:
    """A recipe in use keeps its name; a new one is called by what is set."""
    if tried.in_use:
        return tried.in_use
    program = tried.program
    pitch = (
        say("{share} overlap", share=f"{100.0 * program.overlap:.0f} %")
        if program.overlap is not None
        else say("{rise} mm a turn", rise=f"{1000.0 * (program.rise_per_turn or 0.0):.0f}")
    )
    name = f"{program.force_to_load:g} N, {pitch}, {program.bottom_wraps:g} + {program.top_wraps:g}"
    used[name] = used.get(name, 0) + 1
    return name if used[name] == 1 else f"{name} ({used[name]})"
