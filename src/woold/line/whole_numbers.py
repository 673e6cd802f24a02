"""Least sums over choices that are made or not, solved exactly, with a bound that is proven."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["SolvedChoices", "WholeChoices"]

Floats = NDArray[np.float64]

_EXACT = 1e-9
"""What a bound may differ by from a sum that is proven to be least, as a share of it."""

_LARGE = 1e4
"""Of the largest cost that the solver sees; it stops within 1e-6 of its bound."""


@dataclass(frozen=True, eq=False, slots=True)
class SolvedChoices:
    """The best choices found.

    Args:
        taken: 1 where a choice is made, shape (choices,); shares for those that may be shared.
        value: the least sum found.
        bound: no choices have a smaller sum than this.
    """

    taken: Floats
    value: float
    bound: float

    @property
    def is_exact(self) -> bool:
        """Whether nothing better can exist."""
        return self.value - self.bound <= _EXACT * max(1.0, abs(self.value))

    def chosen(self) -> NDArray[np.bool_]:
        """Whether each choice is made."""
        return self.taken > 0.5


class WholeChoices:
    """WholeChoices between 0 and 1, and sums of them that have limits.

    Args:
        count: how many choices there are.
        shared: how many of them, the last ones, may be made in part.

    Source: branch and bound of the HiGHS library through scipy.optimize.milp; Huangfu & Hall,
        Math. Prog. Comp. 10 (2018) 119.
    """

    def __init__(self, count: int, shared: int = 0) -> None:
        self.count, self.shared = count, shared
        self._rows: list[NDArray[np.int64]] = []
        self._columns: list[NDArray[np.int64]] = []
        self._factors: list[Floats] = []
        self._low: list[float] = []
        self._high: list[float] = []

    def limit(
        self,
        choices: ArrayLike,
        factors: ArrayLike = 1.0,
        low: float = -np.inf,
        high: float = np.inf,
    ) -> None:
        """A sum of choices, each times its factor, from low to high.

        Args:
            choices: numbers of the choices, shape (n,).
            factors: one for each, or one for all.
            low, high: of the sum.
        """
        places = np.asarray(choices, dtype=np.int64).ravel()
        self._rows.append(np.full(places.size, len(self._low), dtype=np.int64))
        self._columns.append(places)
        self._factors.append(np.broadcast_to(np.asarray(factors, float), places.shape).ravel())
        self._low.append(low)
        self._high.append(high)

    def least(self, cost: ArrayLike, seconds: float = 60.0) -> SolvedChoices | None:
        """The choices with the least sum of costs.

        Args:
            cost: of each choice, shape (choices,).
            seconds: after which the best found so far is returned, with its bound.

        Returns:
            The choices; None where none can keep the limits, or none was found in time.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_matrix

        cost = np.asarray(cost, float)
        if not cost.size:
            return SolvedChoices(cost, 0.0, 0.0)
        matrix = csr_matrix(
            (
                np.concatenate([*self._factors, np.zeros(0)]),
                (
                    np.concatenate([*self._rows, np.zeros(0, np.int64)]),
                    np.concatenate([*self._columns, np.zeros(0, np.int64)]),
                ),
            ),
            shape=(len(self._low), self.count),
        )
        # The library also stops at a fixed distance of the bound: costs are large beside it.
        scale = _LARGE / max(float(np.abs(cost).max(initial=0.0)), 1e-300)
        with _quiet_output():
            found = milp(
                cost * scale,
                integrality=np.arange(self.count) < self.count - self.shared,
                bounds=Bounds(0.0, 1.0),
                constraints=LinearConstraint(matrix, self._low, self._high) if self._low else None,
                options={"mip_rel_gap": 0.0, "time_limit": seconds},
            )
        if found.x is None:
            return None
        taken = np.asarray(found.x, float)
        whole = self.count - self.shared
        taken[:whole] = np.round(taken[:whole])
        value = float(cost @ taken)
        bound = value if found.status == 0 else float(found.mip_dual_bound) / scale
        return SolvedChoices(taken, value, bound)


@contextlib.contextmanager
def _quiet_output() -> Iterator[None]:
    """What the solver's library writes to standard output by itself goes nowhere."""
    try:
        sys.stdout.flush()
        kept = os.dup(1)
    except (OSError, ValueError, AttributeError):
        yield
        return
    away = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(away, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(away)
