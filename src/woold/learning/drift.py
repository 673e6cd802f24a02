"""How far inputs are off what they share: at another site, at another time, after a change.

By site and time, of the carriage and film's grip x:

    ln x(site, t) = ln x + D (e(site) + w(t) + W b t)

e: each site's own, w: a random walk of a year's unit, b: steady wear, all standard normal; t is
counted in years from the first trial of the carriage and film. D is learnt. After changes, in
normal scores s of a film or carriage that has changed n times since it was first tried:

    s(n) = s + C (z_1 + ... + z_n)
"""

from __future__ import annotations

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

WEAR = 2.0
"""W [-]: steady wear of a year, over D; a tenth of the grip in a year is nothing odd.

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
    def root(self) -> Array:
        """Root of their covariance by its principal directions, shape (own, own).

        Trials tell each of these directions by itself, the steady wear of many years far better
        than what two neighbours differ by: so a sampler with a step of its own for each number can
        follow them, and could not follow those of a triangular root.
        """
        squares, directions = np.linalg.eigh(self._whole())
        return np.asarray(directions * np.sqrt(squares), dtype=np.float64)

    def at(self, reached: tuple[float, ...]) -> tuple[Array, float]:
        """How much of each one's drift another shares, and the spread of the rest.

        Args:
            reached: its time [s], which counts from the first one's, or its changes.

        Returns:
            Factors, shape (own,), and a standard deviation over D or C.
        """
        there = np.array([reached])
        with_them = self._covariance(self.reached, there)[:, 0]
        factors = np.asarray(np.linalg.solve(self._whole(), with_them), dtype=np.float64)
        own = self._alone() + float(self._covariance(there, there)[0, 0])
        return factors, max(own - float(with_them @ factors), 0.0) ** 0.5

    def _whole(self) -> Array:
        return self._alone() * np.eye(len(self.own)) + self._covariance(self.reached, self.reached)

    def _alone(self) -> float:
        return 1.0 if self.is_learnt else _APART

    def _covariance(self, one: Array, other: Array) -> Array:
        """min(t, u) + W^2 t u of times, sum of min(n, m) of changes; shape (one, other)."""
        if not self.is_learnt:
            changes: Array = np.minimum(one[:, None], other).sum(axis=-1)
            return changes
        first = self.reached[0, 0]
        t, u = (np.maximum(each[:, 0] - first, 0.0) / SECONDS_A_YEAR for each in (one, other))
        times: Array = np.minimum(t[:, None], u) + WEAR**2 * t[:, None] * u
        return times
