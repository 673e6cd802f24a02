"""What noise alone does: the best of several results from sites that all save the same."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.sites.between_sites import Array

__all__ = ["LargestByChance", "chance_that_largest_reaches", "largest_by_chance"]


@dataclass(frozen=True, slots=True)
class LargestByChance:
    """The largest of several noisy results when every site truly has the same effect.

    Args:
        mean: expected largest.
        low, high: limits that it keeps within with the asked confidence.
    """

    mean: float
    low: float
    high: float


def _log_chance_below(value: float, effect: float, standard_errors: Array) -> float:
    from scipy.special import log_ndtr

    return float(log_ndtr((value - effect) / standard_errors).sum())


def chance_that_largest_reaches(value: float, effect: float, standard_errors: Array) -> float:
    """Chance that at least one result reaches ``value``: 1 - Π Phi((value - effect)/se_i).

    Args:
        value: result to be reached [-].
        effect: true effect of every site [-].
        standard_errors: of the results [-], shape (sites,).
    """
    return -math.expm1(_log_chance_below(value, effect, np.asarray(standard_errors, float)))


def largest_by_chance(
    effect: float, standard_errors: Array, confidence: float = 0.90
) -> LargestByChance:
    """The largest of n results with these standard errors, all sites being equal.

    mean = effect + ∫ (1 - F) over the positive side - ∫ F over the negative one,
    F(x) = Π Phi(x/se_i).

    Args:
        effect: true effect of every site [-].
        standard_errors: of the results [-], shape (sites,), above 0.
        confidence: of the limits.
    """
    from scipy.integrate import quad
    from scipy.optimize import brentq

    errors = np.asarray(standard_errors, float)
    largest = float(errors.max())
    reach = 10.0 * largest + largest * math.sqrt(2.0 * math.log(max(errors.size, 2)))

    def below(offset: float) -> float:
        return math.exp(_log_chance_below(offset, 0.0, errors))

    # Small errors make the functions steep near 0: their scales are given as break points.
    marks = sorted({float(value) for value in np.quantile(errors, [0.0, 0.5, 1.0])})
    above_area = quad(lambda x: 1.0 - below(x), 0.0, reach, points=marks, limit=400)[0]
    below_area = quad(lambda x: below(-x), 0.0, reach, points=marks, limit=400)[0]
    tail = (1.0 - confidence) / 2.0
    limits = [
        float(brentq(lambda x, wanted=wanted: below(x) - wanted, -reach, reach, xtol=1e-14))
        for wanted in (tail, 1.0 - tail)
    ]
    return LargestByChance(effect + above_area - below_area, effect + limits[0], effect + limits[1])
