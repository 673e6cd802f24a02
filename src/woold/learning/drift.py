"""How far inputs are off what they share: at another site, at another time, after a change.

By site and time, of the carriage and film's grip x:

    ln x(site, t) = ln x + D (e(site) + w(t)) + W b t

e: each site's own, w: a random walk of a year's unit, b: steady wear, all standard normal; t is
counted in years from the first trial of the carriage and film. D is learnt, and W is not: how far
sites differ says nothing of how fast rubber wears. After changes, in normal scores s of a film or
carriage that has changed n times since it was first tried:

    s(n) = s + C (z_1 + ... + z_n)
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["CHANGED", "DRIFT", "SECONDS_A_YEAR", "SPREAD_OF_DRIFT", "Drift"]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

DRIFT = 0.05
"""D, best guess beforehand [-]: grip differs so much from site to site, and wanders so in a year.

Placeholder (engineering estimate): lognormal, nine in ten between 0.44 and 2.3 times it.
"""

WEAR = 0.1
"""W [1/year]: steady wear; a tenth of the grip in a year is nothing odd.

Placeholder (engineering estimate).
"""

SPREAD_OF_DRIFT = 0.5
"""Standard deviation of the logarithm of D [-]."""

CHANGED = 0.5
"""C [-]: new resin or worn rubber moves an input by half of the spread of its range.

Placeholder (engineering estimate); it is not learnt.
"""

SECONDS_A_YEAR = 365.25 * 86_400.0

_APART = 0.01
"""What two changes that came together leave apart [-]."""


@dataclass(frozen=True, slots=True)
class Drift:
    """Inputs that drift about one of the same name.

    Args:
        about: place of what they share among all unknowns.
        own: places of those that drift, in order.
        reached: of each its time [s], shape (own, 1), or the changes of film and of carriage,
            shape (own, 2).
        unit: scores that D = `DRIFT`, or C, stands for.
        is_learnt: by site and time, with a spread that is learnt; else after changes.
    """

    about: int
    own: Ints
    reached: Array
    unit: float
    is_learnt: bool

    @property
    def directions(self) -> Array:
        """Columns of a root of their covariance but for :meth:`sizes`, shape (own, own).

        The first is the steady wear, which many years tell far better than what two neighbours
        differ by; the others are the principal directions of what it leaves. A sampler with a step
        of its own for each number can follow these, and could not follow those of a triangular
        root.
        """
        years, square = self._years(self.reached), self._wear_told
        left = self._covariance(self.reached)
        if square:
            left -= np.outer(years, years) / square
        squares, principal = np.linalg.eigh(left)
        columns = principal * np.sqrt(np.maximum(squares, 0.0))
        if square:
            # What was taken away leaves nothing along one direction, and the least comes first.
            columns[:, 0] = years / math.sqrt(square)
        return np.asarray(columns, dtype=np.float64)

    @property
    def steady(self) -> float:
        """Square that steady wear adds to that of the first direction, over `DRIFT`."""
        return (WEAR / DRIFT) ** 2 * self._wear_told

    def sizes(self, spread: Array) -> Array:
        """Sizes of the directions, shape (..., own).

        Args:
            spread: D over `DRIFT`, or 1 after changes, shape (...).
        """
        found = spread[..., None] * np.ones(len(self.own))
        found[..., 0] = np.hypot(found[..., 0], math.sqrt(self.steady))
        return found

    def at(self, reached: tuple[float, ...], spread: Array) -> tuple[Array, Array]:
        """How much of each one's drift another shares, and the spread of the rest.

        Args:
            reached: its time [s], which counts from the first one's, or its changes.
            spread: D over `DRIFT`, or 1 after changes, shape (...).

        Returns:
            Factors, shape (..., own), and standard deviations over `DRIFT` or C, shape (...).
        """
        there = np.array([reached])
        whole, with_them = self._covariance(self.reached), self._shared(self.reached, there)[:, 0]
        alike = np.linalg.solve(whole, with_them)
        worn = np.linalg.solve(whole, self._years(self.reached))
        # How much farther it has worn than those alike would say.
        farther = float(self._years(there)[0] - with_them @ worn)
        squares = spread**2
        known = (WEAR / DRIFT) ** 2 / (squares + self.steady)
        factors = np.asarray(alike + (farther * known)[..., None] * worn, dtype=np.float64)
        own = float(self._covariance(there)[0, 0] - with_them @ alike)
        rest = squares * (max(own, 0.0) + farther**2 * known)
        return factors, np.asarray(np.sqrt(rest), dtype=np.float64)

    @property
    def _wear_told(self) -> float:
        """t A^-1 t, with A their covariance by sites and walk over D^2."""
        years = self._years(self.reached)
        return float(years @ np.linalg.solve(self._covariance(self.reached), years))

    def _covariance(self, reached: Array) -> Array:
        """Without steady wear, over D^2 or C^2, shape (reached, reached)."""
        alone = 1.0 if self.is_learnt else _APART
        return alone * np.eye(len(reached)) + self._shared(reached, reached)

    def _shared(self, one: Array, other: Array) -> Array:
        """min(t, u) of times in years, sum of min(n, m) of changes; shape (one, other)."""
        if not self.is_learnt:
            changes: Array = np.minimum(one[:, None], other).sum(axis=-1)
            return changes
        times: Array = np.minimum(self._years(one)[:, None], self._years(other))
        return times

    def _years(self, reached: Array) -> Array:
        """From the first trial on; changes do not wear."""
        if not self.is_learnt:
            return np.zeros(len(reached))
        years: Array = np.maximum(reached[:, 0] - self.reached[0, 0], 0.0) / SECONDS_A_YEAR
        return years
