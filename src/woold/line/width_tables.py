"""What a line's loads ask of the film's width: whether each is held, and how much film it takes.

The free dimensions of a carriage reach a load through the film alone: its width and its mass per
metre, and what the drive is asked for. So each load is judged once at some widths, and many
carriages are looked up in between.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.things import DriveRating
from woold.line.cells import Cells, judged_cells, lowest_rating
from woold.line.choice import ChosenFilm, DriveAsked, asks_spring
from woold.line.free_carriage import FreeCarriage
from woold.line.limits import STATUSES
from woold.line.line_file import CornerTension, LineFile
from woold.line.map import LineLoads, line_loads, recipe_groups
from woold.line.things import LineChoice, case_of
from woold.line.width_range import WidthRange, width_range
from woold.line.wrapped_film import LoadsWithMachine
from woold.prediction.result import FilmOnLoad

__all__ = ["FilmByRecipe", "WidthGroup", "WidthTables", "width_tables"]

Floats = NDArray[np.float64]
_FEWEST_WIDTHS, _MOST_WIDTHS, _LOADS_TIMES_WIDTHS = 33, 129, 160_000
"""Widths at which each load is judged: the more, the fewer the loads are."""
_FAILS = list(STATUSES).index("does_not")
_PER_METRE = DriveAsked(0.0, 0.0, 1.0)


@dataclass(frozen=True, eq=False)
class FilmByRecipe:
    """A film by a recipe, whatever machine it runs on.

    Args:
        case: of it; its load and machine do not count.
        can_serve: no limit that is the same for all choices keeps it off the carriage.
        widths: between which all choices lay it; None where no film gets to the load.
        judged_at: widths at which its loads are judged.
    """

    case: Case
    can_serve: bool
    widths: WidthRange | None
    judged_at: int


@dataclass(frozen=True, eq=False)
class WidthGroup:
    """Loads of a machine in a film by a recipe, judged at some widths.

    Args:
        film_case: number of the film by the recipe.
        film: number of the film.
        rows: numbers of the loads.
        widths: of the film, rising, shape (widths,) [m].
        holds: the load is wrapped at that width, shape (widths, loads).
        lengths: film on the load, likewise [m].
        fastest: film speed that the load asks for, shape (loads,) [m/s].
        has_bound: film is known to be the less the wider it is, shape (loads,).
        torque, power, film_speed: the most that the drive may give; infinite if nobody says.
    """

    film_case: int
    film: int
    rows: NDArray[np.intp]
    widths: Floats
    holds: NDArray[np.bool_]
    lengths: Floats
    fastest: Floats
    has_bound: NDArray[np.bool_]
    torque: float
    power: float
    film_speed: float


@dataclass(frozen=True, eq=False)
class WidthTables:
    """All loads of a line, judged at some widths.

    Args:
        cases: films by recipes.
        groups: loads by machine, film and recipe, films in the line's order.
        per_year: of each load.
    """

    cases: tuple[FilmByRecipe, ...]
    groups: tuple[WidthGroup, ...]
    per_year: Floats

    @property
    def count(self) -> int:
        """Loads."""
        return int(self.per_year.size)

    def step(self) -> float:
        """Largest distance of the widths at which loads are judged [m]."""
        steps = [np.diff(each.widths).max() for each in self.groups if each.widths.size > 1]
        return float(max(steps, default=0.0))


def width_tables(
    line: LineFile,
    free: FreeCarriage,
    loads: LoadsWithMachine,
    progress: Callable[[], None] | None = None,
) -> WidthTables:
    """A line's loads, each on its own machine, judged at the widths that free dimensions give.

    Args:
        line: the line.
        free: the carriage.
        loads: what is wrapped.
        progress: called after each group of loads.
    """
    things = line.things
    most = int(np.clip(_LOADS_TIMES_WIDTHS // len(loads.loads), _FEWEST_WIDTHS, _MOST_WIDTHS))
    cases: list[FilmByRecipe] = []
    numbers: dict[tuple[int, str], int] = {}
    jobs: list[Callable[[], WidthGroup]] = []
    for film_at, film in enumerate(things.films):
        for model_at, model in enumerate(things.models):
            which, some = loads.wrapped_in(film.name, model_at)
            if not some:
                continue
            columns = line_loads(things, some)
            for recipe, inner in recipe_groups(things, model, film, some):
                choice = LineChoice(free.base, model, film, recipe)
                case = case_of(things, choice, some[inner[0]])
                key = film_at, recipe.name
                if key not in numbers:
                    numbers[key] = len(cases)
                    cases.append(_film_case(case, (free, most), line.line.corner_tension))
                at = numbers[key]
                ratings = (free.base.drive, model.drive)
                jobs.append(
                    _group_job(case, cases[at], (at, film_at), which[inner],
                               columns, inner, ratings)
                )  # fmt: skip
    groups = []
    with ThreadPoolExecutor(2) as pool:
        for group in pool.map(lambda job: job(), jobs):
            groups.append(group)
            if progress is not None:
                progress()
    return WidthTables(tuple(cases), tuple(groups), loads.per_year)


def _film_case(case: Case, asked: tuple[FreeCarriage, int], tension: CornerTension) -> FilmByRecipe:
    """A film by a recipe, with what no free dimension changes."""
    free, most = asked
    film, carriage = case.film, free.base.carriage
    shares: dict[str, float] = {}
    fails: list[str] = []
    asks_spring(case, shares, fails)
    fits = carriage.widest_roll is None or film.roll_width <= carriage.widest_roll * (1.0 + 1e-9)
    widths = width_range(case, free, tension)
    return FilmByRecipe(case, fits and not fails and widths is not None, widths, most)


def _group_job(
    case: Case,
    film_case: FilmByRecipe,
    numbers: tuple[int, int],
    rows: NDArray[np.intp],
    columns: LineLoads,
    inner: NDArray[np.intp],
    ratings: Sequence[DriveRating | None],
) -> Callable[[], WidthGroup]:
    """What judges the loads of a group."""

    def job() -> WidthGroup:
        return _group(case, film_case, numbers, rows, (columns, inner), ratings)

    return job


def _group(
    case: Case,
    film_case: FilmByRecipe,
    numbers: tuple[int, int],
    rows: NDArray[np.intp],
    columns: tuple[LineLoads, NDArray[np.intp]],
    ratings: Sequence[DriveRating | None],
) -> WidthGroup:
    all_columns, inner = columns
    some, frictions = all_columns.columns.some(inner), all_columns.frictions[inner]
    found = film_case.widths
    if found is None or not film_case.can_serve:
        nothing = np.zeros((1, rows.size))
        return WidthGroup(
            *numbers, rows, np.ones(1), nothing.astype(bool), nothing + np.nan,
            np.ones(rows.size), nothing[0].astype(bool), *_ratings(ratings),
        )  # fmt: skip
    widths = np.unique(np.linspace(found.least, found.most, film_case.judged_at))
    judged = [_judged_at(case, found.sheet, each, some, frictions) for each in widths.tolist()]
    lengths = np.stack([each.film_length_m for each in judged])
    torque, power, film_speed = _ratings(ratings)
    plain = not case.program.ropes and not case.program.bands
    with np.errstate(invalid="ignore"):
        falls = (np.diff(lengths, axis=0) <= 1e-9 * lengths[1:]).all(axis=0)
    return WidthGroup(
        film_case=numbers[0],
        film=numbers[1],
        rows=rows,
        widths=widths,
        holds=np.stack([each.status != _FAILS for each in judged]),
        lengths=lengths,
        fastest=judged[0].film_speed_m_per_s,
        has_bound=falls & ~some.is_soft & (plain and found.has_bound),
        torque=torque,
        power=power,
        film_speed=film_speed,
    )


def _judged_at(
    case: Case, sheet: FilmOnLoad, width: float, some: object, frictions: Floats
) -> Cells:
    chosen = ChosenFilm(case, replace(sheet, width=width), drive=_PER_METRE)
    return judged_cells(chosen, some, frictions, ())  # type: ignore[arg-type]


def _ratings(ratings: Sequence[DriveRating | None]) -> tuple[float, float, float]:
    """The most that a drive may give: the lower of carriage and machine."""
    torque, power, speed = (
        lowest_rating(ratings, each) for each in ("torque", "power", "film_speed")
    )
    return torque, power, speed
