"""The fewest recipes that serve all loads within a stated loss of film."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.line.whole_numbers import WholeChoices

__all__ = ["RecipeCover", "fewest_recipes", "least_film_with"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_TOLERANCE = 1e-7
"""Share of the film by which a sum may pass its limit, for rounding."""
_ROUNDING = 1e-6


@dataclass(frozen=True, eq=False, slots=True)
class RecipeCover:
    """Programs chosen, and which of them each load gets.

    Args:
        programs: numbers of those chosen, growing.
        program_of: of each load, shape (loads,); -1 where nothing serves it.
        film: of all loads that are served.
        fewest: no set of fewer programs serves them within the loss.
    """

    programs: tuple[int, ...]
    program_of: NDArray[np.int64]
    film: float
    fewest: int

    @property
    def is_exact(self) -> bool:
        """Whether no smaller set exists."""
        return self.fewest >= len(self.programs)


def least_film(film: Floats, serves: Bools) -> Floats:
    """Film of each load by its own best program; 0 where nothing serves it.

    Args:
        film: of all loads of a kind by each program, shape (loads, programs).
        serves: whether a program serves a load, same shape.
    """
    best = np.where(serves, film, np.inf).min(axis=1, initial=np.inf)
    return np.where(np.isfinite(best), best, 0.0)


def fewest_recipes(film: Floats, serves: Bools, loss: float, seconds: float = 30.0) -> RecipeCover:
    """The fewest programs within a loss of film; with so many, the least film.

    min Σ y_p; each load one program that serves it; Σ film ≤ (1 + loss) Σ least film.

    Args:
        film: of all loads of a kind by each program, shape (loads, programs).
        serves: whether a program serves a load, same shape.
        loss: of all film together over each load by its own best program [-].
        seconds: for either of the two questions.
    """
    task = _Task(film, serves)
    limit = (1.0 + loss) * task.least * (1.0 + _TOLERANCE)
    # Loads by their own best programs are within any loss, so something is always found.
    found, fewest = task.fewest(limit, seconds)
    better = task.least_film(len(found), seconds)
    chosen = found if better is None or task.film_of(better) > limit else better
    return RecipeCover(
        programs=tuple(sorted(chosen)),
        program_of=task.program_of(chosen),
        film=task.film_of(chosen),
        fewest=fewest,
    )


def least_film_with(
    film: Floats, serves: Bools, count: int, seconds: float = 30.0
) -> tuple[int, ...] | None:
    """The programs, at most so many, with the least film; None where they cannot serve all.

    Args:
        film, serves: see :func:`fewest_recipes`.
        count: of programs, at most.
        seconds: for the search.
    """
    return _Task(film, serves).least_film(count, seconds)


class _Task:
    """Loads that anything serves, alike ones put together, and programs that none beats."""

    def __init__(self, film: Floats, serves: Bools) -> None:
        self.all_film = np.where(serves, film, np.inf)
        self.can = serves.any(axis=1)
        self.kept = _unbeaten(self.all_film[self.can])
        costs = self.all_film[self.can][:, self.kept]
        self.least = float(costs.min(axis=1, initial=np.inf).sum()) if costs.size else 0.0
        # Loads that rank the programs alike always get the same one: their costs add up.
        groups: dict[bytes, list[int]] = {}
        for index, row in enumerate(costs):
            order = np.argsort(row, kind="stable")
            order[int(np.isfinite(row).sum()) :] = -1
            groups.setdefault(order.tobytes(), []).append(index)
        self.costs = np.array([costs[each].sum(axis=0) for each in groups.values()]).reshape(
            len(groups), len(self.kept)
        )
        self.group, self.place = np.nonzero(np.isfinite(self.costs))

    def fewest(self, limit: float, seconds: float) -> tuple[tuple[int, ...], int]:
        """The fewest programs within a limit of film, and how few there can be at best."""
        own = np.unique(self.costs.argmin(axis=1)) if self.costs.size else np.zeros(0, int)
        choices = self._choices()
        self._limit_film(choices, limit)
        count = np.zeros(choices.count)
        count[: len(self.kept)] = 1.0
        solved = choices.least(count, seconds) if self.costs.size else None
        if solved is None:
            return tuple(int(self.kept[each]) for each in own), min(1, own.size)
        chosen = tuple(int(self.kept[each]) for each in self._opened(solved.taken))
        if self.film_of(chosen) > limit * (1.0 + _ROUNDING):
            chosen = tuple(int(self.kept[each]) for each in own)
        return chosen, int(np.ceil(solved.bound - 1e-6))

    def least_film(self, count: int, seconds: float) -> tuple[int, ...] | None:
        """The programs, at most so many, with the least film."""
        if not self.costs.size:
            return ()
        choices = self._choices()
        choices.limit(np.arange(len(self.kept)), high=float(count))
        cost = np.zeros(choices.count)
        cost[len(self.kept) :] = self.costs[self.group, self.place]
        solved = choices.least(cost, seconds)
        if solved is None:
            return None
        return tuple(int(self.kept[each]) for each in self._opened(solved.taken))

    def program_of(self, programs: tuple[int, ...]) -> NDArray[np.int64]:
        """The best of these programs for each load."""
        found = np.full(self.can.size, -1, np.int64)
        if programs:
            some = self.all_film[:, list(programs)]
            best = some.argmin(axis=1)
            found = np.where(np.isfinite(some.min(axis=1)), np.array(programs)[best], -1)
        return found

    def film_of(self, programs: tuple[int, ...]) -> float:
        """Film of the loads that anything serves, each by the best of these programs."""
        if not programs:
            return 0.0 if not self.can.any() else np.inf
        return float(self.all_film[self.can][:, list(programs)].min(axis=1).sum())

    def _choices(self) -> WholeChoices:
        """Programs, whole, and which each group gets, in part: the cheapest is best anyway."""
        programs = len(self.kept)
        choices = WholeChoices(programs + self.group.size, shared=self.group.size)
        pairs = programs + np.arange(self.group.size)
        for group in range(len(self.costs)):
            choices.limit(pairs[self.group == group], low=1.0, high=1.0)
        for pair, place in zip(pairs, self.place, strict=True):
            choices.limit([pair, place], [1.0, -1.0], high=0.0)
        return choices

    def _limit_film(self, choices: WholeChoices, limit: float) -> None:
        pairs = len(self.kept) + np.arange(self.group.size)
        each = self.costs[self.group, self.place] / max(limit, 1e-300)
        choices.limit(pairs, each, high=1.0)

    def _opened(self, taken: Floats) -> NDArray[np.intp]:
        return np.flatnonzero(taken[: len(self.kept)] > 0.5)


def _unbeaten(film: Floats) -> NDArray[np.intp]:
    """Programs of which no other serves at least the same loads with no more film."""
    kept: list[int] = []
    order = np.argsort(-np.isfinite(film).sum(axis=0), kind="stable")
    for each in order:
        column = film[:, each]
        if not np.isfinite(column).any():
            continue
        beaten = [np.all(film[:, other] <= column) for other in kept]
        if not any(beaten):
            kept = [other for other in kept if not np.all(column <= film[:, other])]
            kept.append(int(each))
    return np.array(sorted(kept), dtype=np.intp)
