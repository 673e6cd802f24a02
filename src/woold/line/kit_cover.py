"""The fewest springs and holes that serve every need: a covering with two kinds of parts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.line.whole_numbers import SolvedChoices, WholeChoices

__all__ = ["Cover", "best_cover", "fewest_springs"]

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_NO_PAIR = -1


@dataclass(frozen=True, eq=False, slots=True)
class Cover:
    """Springs and holes, and which of them serves each need.

    Args:
        springs, holes: numbers of those in the kit, growing.
        spring_of, hole_of: of each need, shape (needs,); -1 where it is not served.
        weight_served: of the needs that are served, as a share of all.
        cost: weighted mean cost of the needs that are served; 0 where none is.
        is_exact: whether nothing better can exist.
    """

    springs: tuple[int, ...]
    holes: tuple[int, ...]
    spring_of: NDArray[np.int64]
    hole_of: NDArray[np.int64]
    weight_served: float
    cost: float
    is_exact: bool


class _Task:
    """Needs, springs and holes as choices: springs, then holes, then pairs that serve a need."""

    def __init__(self, serves: Bools, weights: Floats) -> None:
        self.serves, self.weights = serves, weights
        _, self.springs, self.holes = serves.shape
        self.need, self.spring, self.hole = np.nonzero(serves)
        self.parts = self.springs + self.holes
        self.count = self.parts + self.need.size
        self.pairs = np.arange(self.parts, self.count)

    def choices(self, most_springs: int | None, must_serve: Bools) -> WholeChoices:
        """Pairs only of springs and holes that are in the kit; one pair at most for a need."""
        choices = WholeChoices(self.count)
        for need in range(self.serves.shape[0]):
            own = self.pairs[self.need == need]
            if own.size:
                choices.limit(own, low=1.0 if must_serve[need] else 0.0, high=1.0)
            for kinds, offset, total in (
                (self.spring, 0, self.springs),
                (self.hole, self.springs, self.holes),
            ):
                for part in range(total):
                    served = self.pairs[(self.need == need) & (kinds == part)]
                    if served.size:
                        factors = np.append(np.ones(served.size), -1.0)
                        choices.limit(np.append(served, offset + part), factors, high=0.0)
        if most_springs is not None:
            choices.limit(np.arange(self.springs), high=float(most_springs))
        return choices

    def part_cost(self, spring: float, hole: float) -> Floats:
        """Cost of parts alone."""
        cost = np.zeros(self.count)
        cost[: self.springs] = spring
        cost[self.springs : self.parts] = hole
        return cost


def fewest_springs(serves: Bools) -> int | None:
    """How many springs serve every need that anything serves; None where nothing serves any.

    min Σ z_s, every such need with a spring and a hole that serve it.

    Args:
        serves: whether a spring in a hole serves a need, shape (needs, springs, holes).
    """
    can = np.asarray(serves.any(axis=(1, 2)))
    if not can.any():
        return None
    task = _Task(serves, np.ones(serves.shape[0]))
    found = task.choices(None, can).least(task.part_cost(1.0, 0.0))
    return None if found is None else round(found.value)


def best_cover(
    serves: Bools, cost: Floats, weights: Floats, most_springs: int, all_holes: bool = False
) -> Cover:
    """The best kit of at most so many springs: most served, fewest holes, then least cost.

    Three programs in whole numbers, one after the other: max Σ w_n x_np; at that, min Σ y_h; at
    both, min Σ w_n c_np x_np.

    Args:
        serves: whether a spring in a hole serves a need, shape (needs, springs, holes).
        cost: of serving it so, same shape; only its entries where it serves count.
        weights: of the needs, shape (needs,).
        most_springs: in the kit.
        all_holes: do not count holes: least cost with any of them.
    """
    task = _Task(serves, weights)
    nothing = np.zeros(serves.shape[0], bool)
    served_by = np.zeros(task.count)
    served_by[task.parts :] = -weights[task.need]
    first = task.choices(most_springs, nothing).least(served_by)
    exact = first is not None and first.is_exact
    can = np.asarray(serves.any(axis=(1, 2)))
    if first is None:
        return _cover(task, cost, None, False)
    served = -first.value
    if _served(task, first)[can].all():
        choices = task.choices(most_springs, can)
    else:
        choices = task.choices(most_springs, nothing)
        large = 1e4 / served if served > 0.0 else 0.0
        choices.limit(task.pairs, weights[task.need] * large, low=served * large * (1.0 - 1e-9))
    if not all_holes:
        fewest = choices.least(task.part_cost(0.0, 1.0))
        exact = exact and fewest is not None and fewest.is_exact
        if fewest is not None:
            choices.limit(np.arange(task.springs, task.parts), high=round(fewest.value))
    last = np.zeros(task.count)
    last[task.parts :] = (weights[:, None, None] * cost)[task.serves]
    found = choices.least(last)
    return _cover(task, cost, found, exact and found is not None and found.is_exact)


def _served(task: _Task, solved: SolvedChoices) -> Bools:
    served = np.zeros(task.serves.shape[0], bool)
    served[task.need[solved.chosen()[task.parts :]]] = True
    return served


def _cover(task: _Task, cost: Floats, solved: SolvedChoices | None, is_exact: bool) -> Cover:
    needs = task.serves.shape[0]
    spring_of = np.full(needs, _NO_PAIR, np.int64)
    hole_of = np.full(needs, _NO_PAIR, np.int64)
    if solved is not None:
        pairs = np.flatnonzero(solved.chosen()[task.parts :])
        spring_of[task.need[pairs]] = task.spring[pairs]
        hole_of[task.need[pairs]] = task.hole[pairs]
    served = np.flatnonzero(spring_of >= 0)
    weight = float(task.weights[served].sum())
    total = float(task.weights.sum())
    spent = float((task.weights[served] * cost[served, spring_of[served], hole_of[served]]).sum())
    return Cover(
        springs=tuple(int(each) for each in np.unique(spring_of[served])),
        holes=tuple(int(each) for each in np.unique(hole_of[served])),
        spring_of=spring_of,
        hole_of=hole_of,
        weight_served=weight / total if total > 0.0 else 0.0,
        cost=spent / weight if weight > 0.0 else 0.0,
        is_exact=is_exact,
    )
