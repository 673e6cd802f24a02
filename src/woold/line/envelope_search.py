"""The free dimensions of a carriage, searched: the largest share of the line's film served, then
the least film, in its room; and how far from the best that may be.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.things import CarriageThing
from woold.line.envelope_bound import EnvelopeBound, envelope_bound
from woold.line.free_carriage import FreeCarriage
from woold.line.line_file import LineFile
from woold.line.many_carriages import FilmOnCarriages, film_on_carriages
from woold.line.placed_rollers import PlacedRollers
from woold.line.width_tables import WidthGroup, WidthTables, width_tables
from woold.line.wrapped_film import LoadsWithMachine, WrappedFilm, wrapped_by
from woold.words import say

__all__ = [
    "MOST_SEARCHED",
    "EnvelopeBest",
    "ManyServe",
    "Step",
    "looked",
    "searched",
    "searched_name",
    "with_found",
]

Floats = NDArray[np.float64]
Step = Callable[[int], None]
MOST_SEARCHED = 20_000
"""Kinds of load for which free dimensions are searched."""
_SHARE_STEP = 1e-4
"""Shares closer than that count as equal, and the film decides."""
_FINALISTS = 8
_POPULATION = 48
_GENERATIONS = 100


@dataclass(frozen=True, eq=False)
class EnvelopeBest:
    """The best carriage that was found.

    Args:
        free: what was free.
        placed: its rollers; None where none was found that can be built.
        carriage: the same as a carriage of the line; the listed one where none was found.
        wrapped: the line's loads by it.
        bound: what no other can do better.
        tries: carriages that were looked at.
        lacking: of what the nearest to one that can be built breaks [m].
    """

    free: FreeCarriage
    placed: PlacedRollers | None
    carriage: CarriageThing
    wrapped: WrappedFilm
    bound: EnvelopeBound
    tries: int
    lacking: float


@dataclass(frozen=True, eq=False)
class ManyServe:
    """Many carriages on all loads, by the tables. Shapes (carriages, loads).

    Args:
        serves: the load is wrapped.
        mass: film on it [kg].
    """

    serves: NDArray[np.bool_]
    mass: Floats


_Best = tuple[tuple[float, float], PlacedRollers | None, CarriageThing, WrappedFilm]


def with_found(line: LineFile, found: Sequence[EnvelopeBest]) -> LineFile:
    """A line in which carriages that were found have the origins of those that are listed.

    Args:
        line: the line.
        found: the carriages.
    """
    things = line.things
    stated = dict(things.stated)
    for each in found:
        own = things.stated.get(("carriages", each.free.base.name), {})
        stated["carriages", each.carriage.name] = own
    return LineFile(line.line, replace(things, stated=stated), line.folder)


def searched_name(name: str) -> str:
    """What the carriage that was found is called.

    Args:
        name: of the carriage that is listed.
    """
    return say("{name}, searched", name=name[:60])


def searched(
    line: LineFile,
    free: FreeCarriage,
    loads: LoadsWithMachine,
    film: Floats,
    seed: int = 1,
    step: Step | None = None,
) -> EnvelopeBest:
    """The best choice of a carriage's free dimensions for a line.

    Differential evolution (Storn and Price 1997, by scipy) over places, diameters, teeth, covers
    and rollers left out, on tables of the loads; the best of them are wrapped anew, load by load.

    Args:
        line: the line.
        free: the carriage.
        loads: what is wrapped.
        film: of a year on each load, by which the share is counted [kg].
        seed: of the search.
        step: called with how much of a hundred is done.
    """
    tables = width_tables(line, free, loads)
    if step is not None:
        step(30)
    hunt = _Hunt(line, free, tables, (film, loads.per_year))
    finalists = hunt.best(seed, step)
    every = len(line.things.models)
    best: _Best | None = None
    name = searched_name(free.base.name)
    for each in finalists:
        carriage = free.carriage(each, name)
        wrapped = wrapped_by(line, [carriage] * every, loads)
        worth = _worth(wrapped.serves, wrapped.mass, film, loads.per_year)
        if best is None or worth < best[0]:
            best = worth, each, carriage, wrapped
    if best is None:
        wrapped = wrapped_by(line, [free.base] * every, loads)
        best = (0.0, 0.0), None, free.base, wrapped
    _, placed, carriage, wrapped = best
    taken = np.nan_to_num(wrapped.mass) * loads.per_year
    serves = wrapped.serves if placed is not None else np.zeros_like(wrapped.serves)
    bound = envelope_bound(free, tables, film, (serves, taken))
    return EnvelopeBest(free, placed, carriage, wrapped, bound, hunt.tries, hunt.lacking)


def _worth(
    serves: NDArray[np.bool_], mass: Floats, film: Floats, per_year: Floats
) -> tuple[float, float]:
    """The smaller the better: share that is not served, in steps; then film over the line's."""
    served = float(film[serves].sum())
    share = served / max(float(film.sum()), 1e-12)
    taken = float((mass * per_year)[serves].sum())
    return -round(share / _SHARE_STEP), taken / served if served > 0.0 else np.inf


class _Hunt:
    """The search's aim, on many carriages at once; remembers what it saw."""

    def __init__(
        self,
        line: LineFile,
        free: FreeCarriage,
        tables: WidthTables,
        yearly: tuple[Floats, Floats],
    ) -> None:
        self.line, self.free, self.tables = line, free, tables
        self.film, self.per_year = yearly
        self.tries, self.lacking = 0, np.inf
        self._known: dict[tuple[float, ...], float] = {}
        self._seen: dict[tuple[float, ...], tuple[float, PlacedRollers]] = {}

    def best(self, seed: int, step: Step | None) -> list[PlacedRollers]:
        """The best that were seen, of different dimensions, the best first."""
        from scipy.optimize import differential_evolution

        ends = self.free.ends
        start = self.free.start()
        self.aim(np.array([start]).T)
        if ends:
            done = 0

            def after(_: object) -> None:
                nonlocal done
                done += 1
                if step is not None:
                    step(30 + round(60 * done / _GENERATIONS))

            # Of each dimension at least a few; scipy counts its population by dimensions.
            members = max(_POPULATION, 8 * len(ends))
            random = np.random.default_rng(seed)
            low, high = np.array(ends, dtype=float).T
            first = low + random.random((members, len(ends))) * (high - low)
            first[0] = start
            differential_evolution(
                self.aim,
                [(a, b if b > a else a + 1e-12) for a, b in ends],
                maxiter=_GENERATIONS,
                init=np.clip(first, low, np.maximum(high, low)),
                integrality=self.free.are_whole,
                mutation=(0.4, 0.9),
                recombination=0.8,
                rng=random,
                polish=False,
                tol=0.0,
                atol=1e-9,
                updating="deferred",
                vectorized=True,
                callback=lambda intermediate_result: after(intermediate_result),
            )
        ranked = sorted(self._seen.values(), key=lambda each: each[0])
        best = [placed for worth, placed in ranked[:_FINALISTS] if worth < _CANNOT_BE]
        # What stands there today is never given up for what tables between two widths say.
        listed = self.free.listed()
        return [*best, listed] if listed.can_be else best

    def aim(self, vectors: Floats) -> Floats:
        """What is to be least of many choices, shape (dimensions, choices)."""
        keys = [self.free.key(each) for each in np.atleast_2d(vectors.T).tolist()]
        new = {key: self.free.placed(key) for key in keys if key not in self._known}
        self.tries += len(new)
        for key, each in new.items():
            self._known[key] = _CANNOT_BE + each.lacking
            self.lacking = min(self.lacking, each.lacking)
        able = {key: each for key, each in new.items() if each.can_be}
        if able:
            found = looked(self.line, self.tables, list(able.values()))
            film = found.serves @ self.film
            share = film / max(float(self.film.sum()), 1e-12)
            taken = np.where(found.serves, found.mass, 0.0) @ self.per_year
            with np.errstate(divide="ignore", invalid="ignore"):
                ratio = np.where(film > 0.0, taken / film, 10.0)
            # Shares in steps; within one, film decides, and cannot outweigh it.
            steps = np.rint(share / _SHARE_STEP) * _SHARE_STEP
            worths = 1.0 - steps + 0.5 * _SHARE_STEP * np.minimum(ratio, 1.9)
            for (key, each), worth in zip(able.items(), worths.tolist(), strict=True):
                self._known[key] = worth
                self._seen[_dimensions(each)] = worth, each
        return np.array([self._known[key] for key in keys])


_CANNOT_BE = 10.0
"""Above all that can be built."""


def _dimensions(placed: PlacedRollers) -> tuple[float, ...]:
    return tuple(
        value
        for each in placed.rollers
        for value in (each.x, each.y, each.diameter, each.teeth or 0, each.friction or 0.0)
    )


def looked(line: LineFile, tables: WidthTables, placed: Sequence[PlacedRollers]) -> ManyServe:
    """Many carriages on all loads of a line, by the tables.

    Args:
        line: the line.
        tables: the loads, judged at some widths.
        placed: the carriages, on all of which film can run.
    """
    shape = len(placed), tables.count
    serves, mass = np.zeros(shape, dtype=bool), np.full(shape, np.nan)
    is_first = np.ones(tables.count, dtype=bool)
    films = [
        film_on_carriages(each.case, placed, line.line.corner_tension) if each.can_serve else None
        for each in tables.cases
    ]
    for group in tables.groups:
        film = films[group.film_case]
        if film is None:
            continue
        mine, taken = _on_group(group, film)
        rows = group.rows
        with np.errstate(invalid="ignore"):
            better = (mine & ~serves[:, rows]) | (
                (mine == serves[:, rows]) & (taken < mass[:, rows])
            )
        better |= is_first[rows][None, :]
        serves[:, rows] = np.where(better, mine, serves[:, rows])
        mass[:, rows] = np.where(better, taken, mass[:, rows])
        is_first[rows] = False
    return ManyServe(serves, mass)


def _on_group(group: WidthGroup, film: FilmOnCarriages) -> tuple[NDArray[np.bool_], Floats]:
    """Whether each carriage serves each load of a group, and the film it takes."""
    last = group.widths.size - 1
    above = np.clip(np.searchsorted(group.widths, film.width), min(1, last), last)
    below = np.maximum(above - 1, 0)
    span = np.maximum(group.widths[above] - group.widths[below], 1e-12)
    part = np.clip((film.width - group.widths[below]) / span, 0.0, 1.0)
    nearest = np.where(part < 0.5, below, above)
    serves = (
        group.holds[nearest] & ~(film.fails | (film.torque > group.torque * (1.0 + 1e-9)))[:, None]
    )
    serves &= film.power[:, None] * group.fastest <= group.power * (1.0 + 1e-9)
    serves &= film.film_speed[:, None] * group.fastest <= group.film_speed * (1.0 + 1e-9)
    lengths = (1.0 - part)[:, None] * group.lengths[below] + part[:, None] * group.lengths[above]
    return serves, lengths * film.mass_per_metre[:, None]
