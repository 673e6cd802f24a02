"""Looking at a trial before it is full: how far a result must stand out at each look.

A statistic Z that is looked at more than once leaves its limits by chance more often than one that
is looked at once. Its error is therefore spent over the looks. On the scale S = Z sqrt(t), with t
the share of the planned information, S is a random walk with independent normal steps: at a drift
d (the mean of Z at t = 1) a step from t to t' has mean d (t' - t) and variance t' - t. The walk is
followed by numerical integration over the region in which the trial goes on.

Source: P. Armitage, C. K. McPherson, B. C. Rowe, J. R. Stat. Soc. A 132 (1969) 235 (recursion);
    K. K. G. Lan, D. L. DeMets, Biometrika 70 (1983) 659 (error spending); C. Jennison,
    B. W. Turnbull, Group Sequential Methods (2000), chapters 7, 8 and 19.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from woold.trial.power import noncentral_tail
from woold.trial.ratio import student_quantile

__all__ = [
    "LookLimits",
    "PlannedLook",
    "Spending",
    "exit_probabilities",
    "interval_after_looks",
    "look_limits",
    "normal_score",
    "spent_error",
]

Floats = NDArray[np.float64]

Spending = Literal["late", "even"]
"""How the error is spent: little at early looks (O'Brien-Fleming like), or evenly (Pocock like)."""

_NODES = 160
"""Points of Gauss-Legendre integration over the region in which a trial goes on."""

_FARTHEST = 9.0
"""Limit of a look that spends nothing that a double could tell from 0."""


@dataclass(frozen=True, slots=True)
class LookLimits:
    """Limits of the looks of a trial.

    Args:
        times: share of the planned information at each look; the last is 1.
        limits: |Z| beyond which each look decides.
        alpha: one-sided error over all looks.
    """

    times: tuple[float, ...]
    limits: tuple[float, ...]
    alpha: float

    def nominal(self, look: int) -> float:
        """One-sided p value below which a look (from 0) decides."""
        from scipy import special

        return float(special.ndtr(-self.limits[look]))


@dataclass(frozen=True, slots=True)
class PlannedLook:
    """A point at which the records are judged.

    Args:
        number: from 1.
        loads: number of the last load that it judges, both treatments together.
        share: of the planned loads.
        limit: how many standard errors a result must stand out (of a normal distribution).
        p: the same as a one-sided p value.
    """

    number: int
    loads: int
    share: float
    limit: float
    p: float


def spent_error(share: float, alpha: float, spending: Spending = "late") -> float:
    """One-sided error that may be spent up to a share of the information.

    late: 2 (1 - Phi(z_(1 - alpha/2) / sqrt t)); even: alpha ln(1 + (e - 1) t)

    Args:
        share: of the planned information, above 0; beyond 1 all is spent.
        alpha: one-sided error over all looks.
        spending: how it is spent.

    Source: K. K. G. Lan, D. L. DeMets, Biometrika 70 (1983) 659.
    """
    from scipy import special

    share = min(share, 1.0)
    if spending == "even":
        return alpha * math.log1p((math.e - 1.0) * share)
    return float(2.0 * special.ndtr(special.ndtri(alpha / 2.0) / math.sqrt(share)))


@functools.lru_cache(maxsize=256)
def look_limits(
    times: tuple[float, ...], alpha: float = 0.025, spending: Spending = "late"
) -> LookLimits:
    """Symmetric limits of looks at these shares of the planned information.

    Args:
        times: shares, rising; the last is 1.
        alpha: one-sided error over all looks.
        spending: how it is spent.
    """
    from scipy import optimize

    limits: list[float] = []
    before = 0.0
    for place, time in enumerate(times):
        spend = spent_error(time, alpha, spending) - before
        walk = _Walk(times[:place], tuple(limits), 0.0)

        def excess(
            limit: float, walk: _Walk = walk, time: float = time, spend: float = spend
        ) -> float:
            return walk.above(limit, time) - spend

        found = _FARTHEST
        if spend > 0.0 and excess(_FARTHEST) < 0.0:
            found = float(optimize.brentq(excess, 0.0, _FARTHEST, xtol=1e-10))
        limits.append(found)
        before += max(spend, 0.0)
    return LookLimits(tuple(times), tuple(limits), alpha)


def exit_probabilities(
    times: Sequence[float], limits: Sequence[float], drift: float = 0.0
) -> tuple[Floats, Floats]:
    """Chance that each look is the first to lie above its limit, and the same below.

    Args:
        times: shares of the information.
        limits: |Z| beyond which each look decides.
        drift: mean of Z at a share of 1.
    """
    above, below = np.zeros(len(times)), np.zeros(len(times))
    for place, time in enumerate(times):
        walk = _Walk(tuple(times[:place]), tuple(limits[:place]), drift)
        above[place] = walk.above(limits[place], time)
        below[place] = walk.below(-limits[place], time)
    return above, below


def normal_score(statistic: float, df: float) -> float:
    """The normal quantile with the tail of a t statistic: what its limit is compared with."""
    from scipy import special

    tail = float(special.stdtr(df, -abs(statistic)))
    score = -float(special.ndtri(tail)) if tail > 0.0 else 38.0
    return math.copysign(score, statistic)


def interval_after_looks(
    found: tuple[float, float, float],
    limits: LookLimits,
    look: int,
    earlier_df: Sequence[float] = (),
    level: float = 0.95,
) -> tuple[float, float, float]:
    """Median-unbiased estimate and interval of an effect after looks that did not decide.

    An outcome counts as farther out the earlier its look decided, and at one look the larger its
    Z (stagewise ordering). With a single look it is Student's interval. Early looks with few
    degrees of freedom decide more seldom than a normal walk would; each limit is moved to where
    the walk leaves it as often as the noncentral t does.

    Args:
        found: estimate of the effect at the look that decided (or the last), its standard error,
            and the degrees of freedom of that error.
        limits: of all looks.
        look: the look that the estimate is of, from 0.
        earlier_df: degrees of freedom at the looks before; infinite if not given.
        level: of the interval.

    Returns:
        Low, middle and high.

    Source: A. A. Tsiatis, G. L. Rosner, C. R. Mehta, Biometrics 40 (1984) 797.
    """
    from scipy import optimize, special

    estimate, error, df = found
    if not error > 0.0:
        return estimate, estimate, estimate
    times, time = limits.times[:look], limits.times[look]

    def tail(effect: float) -> float:
        """Chance of an outcome as far up as this one, were this the effect."""
        drift = effect / (error * math.sqrt(time))
        at = effect / error + normal_score((estimate - effect) / error, df)
        if not times:
            return float(special.ndtr(effect / error - at))
        moved = _moved_limits(limits, look, drift, earlier_df)
        up = float(exit_probabilities(times, moved, drift)[0].sum())
        return up + _Walk(times, moved, drift).above(at, time)

    reach = 4.0 * abs(float(special.stdtrit(df, (1.0 - level) / 2.0))) * error
    ends = []
    for wanted in ((1.0 - level) / 2.0, 0.5, 0.5 + level / 2.0):
        low, high = estimate - reach, estimate + reach
        while tail(low) > wanted:
            low -= reach
        while tail(high) < wanted:
            high += reach
        ends.append(float(optimize.brentq(lambda x, w=wanted: tail(x) - w, low, high, xtol=1e-10)))
    return ends[0], ends[1], ends[2]


def _moved_limits(
    limits: LookLimits, look: int, drift: float, earlier_df: Sequence[float]
) -> tuple[float, ...]:
    """Limits that a normal walk of this drift leaves as often as Student's t leaves its own."""
    from scipy import special

    if abs(drift) <= 0.5 or len(earlier_df) < look:
        return limits.limits[:look]
    moved = []
    for place in range(look):
        # Only the side that the walk drifts to matters; the other is hardly ever reached.
        centre = abs(drift) * math.sqrt(limits.times[place])
        own = student_quantile(1.0 - limits.nominal(place), earlier_df[place])
        chance = min(max(noncentral_tail(own, earlier_df[place], centre), 1e-12), 1.0 - 1e-12)
        moved.append(max(centre - float(special.ndtri(chance)), limits.limits[place]))
    return tuple(moved)


class _Walk:
    """Density of the walk after some looks that did not decide, at points of integration.

    Args:
        times: of those looks.
        limits: of those looks.
        drift: of the walk.
    """

    def __init__(self, times: tuple[float, ...], limits: tuple[float, ...], drift: float) -> None:
        self.drift, self.time = drift, 0.0
        # Before the first look the walk stands at 0 for certain.
        self.points, self.mass = np.zeros(1), np.ones(1)
        nodes, weights = _rule()
        for time, limit in zip(times, limits, strict=True):
            edge = limit * math.sqrt(time)
            step = time - self.time
            points = edge * nodes
            moved = points[:, None] - self.points[None, :] - drift * step
            density = np.exp(-0.5 * moved**2 / step) / math.sqrt(2.0 * math.pi * step)
            self.mass = edge * weights * (density @ self.mass)
            self.points, self.time = points, time

    def above(self, z: float, time: float) -> float:
        """Chance of going on until now and then lying above a Z at a later look."""
        return self._beyond(z, time, 1.0)

    def below(self, z: float, time: float) -> float:
        """Chance of going on until now and then lying below a Z at a later look."""
        return self._beyond(z, time, -1.0)

    def _beyond(self, z: float, time: float, side: float) -> float:
        from scipy import special

        step = time - self.time
        short = z * math.sqrt(time) - self.points - self.drift * step
        return float(special.ndtr(-side * short / math.sqrt(step)) @ self.mass)


@functools.cache
def _rule() -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return nodes, weights
