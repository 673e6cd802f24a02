"""Film of a year of a line's loads, each on its own machine, with one carriage: which loads it
serves, how much film they take, and how far that may be off.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.things import CarriageThing
from woold.line.catalogue import Catalogue
from woold.line.limits import STATUSES
from woold.line.line_file import LineFile
from woold.line.map import cells_of, line_loads
from woold.line.things import LineChoice, LineLoad, case_of
from woold.prediction.block import film_lengths
from woold.prediction.film_on_load import lacing_of, lay_film
from woold.uncertainty.draws import Unknown, draw_unknowns
from woold.uncertainty.joint import NO_MATTER
from woold.uncertainty.spread import unknown_inputs

__all__ = [
    "DRAWS",
    "FilmDraws",
    "LoadsWithMachine",
    "WrappedFilm",
    "loads_with_machine",
    "wrapped_by",
]

Floats = NDArray[np.float64]
DRAWS = 1000
_NODES = 9
_FAILS = list(STATUSES).index("does_not")
_SECTIONS = ("film.", "carriage.")
_NO_MATTER = (*NO_MATTER, "film.force_loss_per_decade")
_OF_ALL = "film.neck_down_error"
"""The law of the film's width is off alike for every film and carriage."""


@dataclass(frozen=True, eq=False)
class LoadsWithMachine:
    """The loads of a catalogue whose machine and number are known.

    Args:
        loads: of them.
        models: number of each one's model of machine.
        per_year: loads a year of each.
        left_out: loads without a machine or a number.
    """

    loads: tuple[LineLoad, ...]
    models: NDArray[np.intp]
    per_year: Floats
    left_out: int

    def wrapped_in(self, film: str, model: int) -> tuple[NDArray[np.intp], tuple[LineLoad, ...]]:
        """Numbers of the loads that a model of machine may wrap in a film, and the loads.

        Args:
            film: its name.
            model: number of the model.
        """
        which = np.flatnonzero(
            (self.models == model)
            & np.array([each.film in ("", film) for each in self.loads], dtype=bool)
        )
        return which, tuple(self.loads[each] for each in which.tolist())


def loads_with_machine(line: LineFile, catalogue: Catalogue) -> LoadsWithMachine:
    """The loads whose machine and number are known; of one model all are its.

    Args:
        line, catalogue: what to look at.
    """
    things = line.things
    numbers = {each.name: at for at, each in enumerate(things.models)}
    kept: list[LineLoad] = []
    models: list[int] = []
    for load in catalogue.loads:
        if load.machine:
            model = numbers[things.model_of(load.machine).name]
        elif len(numbers) == 1:
            model = 0
        else:
            continue
        if load.loads_per_year is not None:
            kept.append(load)
            models.append(model)
    per_year = np.array([each.loads_per_year or 0.0 for each in kept])
    left = len(catalogue.loads) - len(kept)
    return LoadsWithMachine(tuple(kept), np.array(models, dtype=np.intp), per_year, left)


@dataclass(frozen=True, eq=False)
class WrappedFilm:
    """A carriage on every machine of the line, each load in its film. Shapes (loads,).

    Args:
        serves: the load is wrapped, with or without a finding.
        mass: film on a load; NaN where none gets there [kg].
        film: number of the film that it is wrapped in: today's, or of all that serve the one of
            which least is used.
        recipe: name of the recipe.
        limit: number of the limit that decides.
        share: of that limit, there over asked.
    """

    carriage: CarriageThing
    serves: NDArray[np.bool_]
    mass: Floats
    film: NDArray[np.intp]
    recipe: list[str]
    limit: NDArray[np.intp]
    share: Floats


def wrapped_by(
    line: LineFile, carriages: Sequence[CarriageThing | None], loads: LoadsWithMachine
) -> WrappedFilm:
    """The line's loads, each on its own machine, by a carriage for each model of machine.

    Args:
        line: the line.
        carriages: one for each model; none where it is not known.
        loads: what is wrapped.
    """
    things, count = line.things, len(loads.loads)
    found = WrappedFilm(
        carriage=next(each for each in carriages if each is not None),
        serves=np.zeros(count, dtype=bool),
        mass=np.full(count, np.nan),
        film=np.full(count, -1, dtype=np.intp),
        recipe=[""] * count,
        limit=np.full(count, -1, dtype=np.intp),
        share=np.full(count, np.nan),
    )
    for number, model in enumerate(things.models):
        carriage = carriages[number]
        if carriage is None:
            continue
        for at, film in enumerate(things.films):
            which, some = loads.wrapped_in(film.name, number)
            if not some:
                continue
            columns = line_loads(things, some)
            for recipe, inner, cells in cells_of(line, (carriage, model, film), some, columns):
                rows = which[inner]
                serves = cells.status != _FAILS
                mass = cells.film_mass_kg
                is_first = found.film[rows] < 0
                with np.errstate(invalid="ignore"):
                    better = (serves & ~found.serves[rows]) | (
                        (serves == found.serves[rows]) & (mass < found.mass[rows])
                    )
                take = is_first | better
                picked = rows[take]
                found.serves[picked] = serves[take]
                found.mass[picked] = mass[take]
                found.film[picked] = at
                found.limit[picked] = cells.limit[take]
                found.share[picked] = cells.share[take]
                for row in picked.tolist():
                    found.recipe[row] = recipe.name
    return found


@dataclass(frozen=True, eq=False)
class _Laid:
    """A carriage's film by a recipe: widths, masses per metre, and whether it slips, by draw."""

    case: Case
    widths: Floats
    masses: Floats
    slips: NDArray[np.bool_]
    width: float
    mass: float


class FilmDraws:
    """Draws of what nobody knows exactly about films and carriages, and film a year in each.

    Args:
        line: the line.
        loads: its loads with their machines.
        draws, seed: how many, and of which sequence.
    """

    def __init__(
        self, line: LineFile, loads: LoadsWithMachine, draws: int = DRAWS, seed: int = 1
    ) -> None:
        self.line, self.loads = line, loads
        self.draws, self.seed = draws, seed
        self._laid: dict[tuple[str, int, str], _Laid] = {}
        self._drawn: dict[str, Floats] = {}

    def film(
        self,
        wrapped: WrappedFilm,
        carriages: Sequence[CarriageThing | None],
        where: NDArray[np.bool_],
    ) -> Floats:
        """Film of a year on some loads, in every draw, shape (draws,) [kg].

        Args:
            wrapped: the loads, by their carriages.
            carriages: one for each model of machine.
            where: which of the loads.
        """
        things, total = self.line.things, np.zeros(self.draws)
        for laid, model, rows in self._groups(wrapped, carriages, where):
            case = laid.case.with_values({"machine": things.models[model].machine})
            some = tuple(self.loads.loads[row] for row in rows)
            columns = line_loads(things, some).columns
            base = film_lengths(case, laid.width, columns)
            yearly = self.loads.per_year[rows] * wrapped.mass[rows]
            low = min(float(laid.widths.min()), laid.width)
            nodes = np.unique(np.linspace(low, max(float(laid.widths.max()), laid.width), _NODES))
            lengths = np.stack([film_lengths(case, each, columns) for each in nodes.tolist()])
            # A width at which a program cannot be run takes what the case itself does.
            ratio = np.where(np.isnan(lengths), 1.0, lengths / base)
            total += np.interp(laid.widths, nodes, ratio @ yearly) * laid.masses / laid.mass
        return total

    def slips(
        self,
        wrapped: WrappedFilm,
        carriages: Sequence[CarriageThing | None],
        where: NDArray[np.bool_],
    ) -> float:
        """Share of the film of a year, over all draws, where a roller does not hold it [-].

        Args:
            wrapped, carriages, where: as for :func:`film`.
        """
        slipping = whole = 0.0
        for laid, _, rows in self._groups(wrapped, carriages, where):
            yearly = float((self.loads.per_year[rows] * wrapped.mass[rows]).sum())
            slipping += yearly * float(laid.slips.mean())
            whole += yearly
        return slipping / whole if whole > 0.0 else 0.0

    def _groups(
        self,
        wrapped: WrappedFilm,
        carriages: Sequence[CarriageThing | None],
        where: NDArray[np.bool_],
    ) -> Iterator[tuple[_Laid, int, list[int]]]:
        """The loads by machine, film and recipe, with the film as their carriage lays it."""
        groups: dict[tuple[int, int, str], list[int]] = {}
        for row in np.flatnonzero(where).tolist():
            key = int(self.loads.models[row]), int(wrapped.film[row]), wrapped.recipe[row]
            groups.setdefault(key, []).append(row)
        for (model, film, recipe), rows in groups.items():
            carriage = carriages[model]
            assert carriage is not None
            yield self._film_laid(carriage, film, recipe, rows[0]), model, rows

    def _film_laid(self, carriage: CarriageThing, film: int, recipe: str, row: int) -> _Laid:
        """A case of the choice, widths and masses per metre in every draw, and without one."""
        key = carriage.name, film, recipe
        if key not in self._laid:
            things = self.line.things
            by = next(each for each in things.recipes if each.name == recipe)
            choice = LineChoice(carriage, things.models[0], things.films[film], by)
            case = case_of(things, choice, self.loads.loads[row])
            values = {}
            for each in unknown_inputs(case, _SECTIONS, _NO_MATTER):
                values[each.name] = self._draw(each, carriage, things.films[film].name)
            lacing = lacing_of(case)
            laid, sure = lay_film(case, lacing, values), lay_film(case, lacing)
            widths, masses = (
                np.broadcast_to(np.asarray(each, dtype=float), self.draws)
                for each in (laid.width, laid.mass_per_metre)
            )
            self._laid[key] = _Laid(
                case=case,
                widths=widths,
                masses=masses,
                slips=np.broadcast_to(laid.delivered.governs != 0, self.draws),
                width=float(np.asarray(sure.width)),
                mass=float(np.asarray(sure.mass_per_metre)),
            )
        return self._laid[key]

    def _draw(self, unknown: Unknown, carriage: CarriageThing, film: str) -> Floats:
        """Draws of one input: a film's are alike on every carriage, the law's alike everywhere.

        A carriage's placeholder that others have with the same value and range is one unknown.
        """
        if unknown.name == _OF_ALL:
            name = unknown.name
        elif unknown.name.startswith("film."):
            name = f"{film}: {unknown.name}"
        else:
            stated = self.line.things.stated.get(("carriages", carriage.name), {})
            own = carriage.name if unknown.name in stated else "any"
            name = f"{own}: {unknown.name} {unknown.value} {unknown.low} {unknown.high}"
        if name not in self._drawn:
            random = np.random.default_rng(self.seed)
            one = replace(unknown, name=name)
            self._drawn[name] = draw_unknowns([one], self.draws, random)[name]
        return self._drawn[name]
