"""Control charts of single values: individuals, exponentially weighted mean, cumulative sums.

A set-up phase gives centre and standard deviation; what comes after is judged by them. All charts
are for whole arrays at once, so that a year of loads costs milliseconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.words import say

__all__ = [
    "CusumChart",
    "EwmaChart",
    "IndividualsChart",
    "SetUp",
    "cusum_chart",
    "ewma_chart",
    "individuals_chart",
    "moving_ranges",
    "set_up",
]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MEAN_RANGE_OF_TWO = 2.0 / math.sqrt(math.pi)  # d2 for two normal values, 1.12838
LEAST_SET_UP = 20


@dataclass(frozen=True, slots=True)
class SetUp:
    """What a set-up phase says about values in control.

    Args:
        centre: their mean.
        sigma: short-term standard deviation, mean moving range / 1.128.
        count: how many values.
        overall_sigma: standard deviation of all of them together.
        autocorrelation: between one value and the next.
    """

    centre: float
    sigma: float
    count: int
    overall_sigma: float
    autocorrelation: float


@dataclass(frozen=True, slots=True)
class IndividualsChart:
    """Single values against centre ± width sigma."""

    values: Array
    centre: float
    low: float
    high: float
    signals: Mask


@dataclass(frozen=True, slots=True)
class EwmaChart:
    """Exponentially weighted means; the limits open up from the start, shape (loads,)."""

    values: Array
    centre: float
    low: Array
    high: Array
    signals: Mask


@dataclass(frozen=True, slots=True)
class CusumChart:
    """One-sided cumulative sums above and below, both >= 0, against one decision limit."""

    upper: Array
    lower: Array
    limit: float
    signals: Mask


def moving_ranges(values: Array) -> Array:
    """|x_i - x_(i-1)|, shape (values - 1,)."""
    return np.asarray(np.abs(np.diff(values)), float)


def set_up(values: Array, least: int = LEAST_SET_UP) -> SetUp:
    """Centre and spread of a set-up phase.

    sigma = mean moving range / d2, d2 = 2/sqrt(pi).

    Args:
        values: in the order of the loads, all finite.
        least: values asked for.

    Raises:
        InputError: too few values, or values that never change.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2.
    """
    values = np.asarray(values, float)
    if values.size < least:
        raise InputError.one(
            "setup_loads",
            values.size,
            say("at least {least}", least=least),
            say("Wrap more loads before watching."),
        )
    ranges = moving_ranges(values)
    sigma = float(ranges.mean()) / MEAN_RANGE_OF_TWO
    if sigma <= 0.0:
        raise InputError.one(
            "setup_loads",
            say("{size} values that are all {values:g}", size=values.size, values=values[0]),
            say("values that were measured"),
            say("A figure that never changes is a setting, not a measurement."),
        )
    deviations = values - values.mean()
    squares = float((deviations**2).sum())
    return SetUp(
        centre=float(values.mean()),
        sigma=sigma,
        count=values.size,
        overall_sigma=math.sqrt(squares / (values.size - 1)),
        autocorrelation=float((deviations[1:] * deviations[:-1]).sum()) / squares,
    )


def individuals_chart(
    values: Array, centre: float, sigma: float, width: float = 3.0
) -> IndividualsChart:
    """Values outside centre ± width sigma signal.

    Args:
        values: shape (loads,).
        centre, sigma: of the set-up phase.
        width: of the limits [sigma].

    Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    values = np.asarray(values, float)
    low, high = centre - width * sigma, centre + width * sigma
    return IndividualsChart(values, centre, low, high, (values < low) | (values > high))


def ewma_chart(
    values: Array,
    centre: float,
    sigma: float,
    weight: float = 0.2,
    width: float = 3.0,
    *,
    opening: bool = True,
) -> EwmaChart:
    """z_i = weight x_i + (1 - weight) z_(i-1), z_0 = centre; limits centre ± width sigma_z.

    sigma_z² = sigma² weight/(2 - weight) [1 - (1 - weight)^(2 i)], the bracket left out when
    ``opening`` is off.

    Args:
        values: shape (loads,).
        centre, sigma: of the set-up phase.
        weight: of the newest value, above 0 and at most 1.
        width: of the limits [sigma_z].
        opening: let the limits open from the first value on.

    Source: NIST/SEMATECH e-Handbook 6.3.2.4.
    """
    from scipy.signal import lfilter

    values = np.asarray(values, float)
    smoothed, _ = lfilter(
        [weight], [1.0, weight - 1.0], values, zi=np.array([(1.0 - weight) * centre])
    )
    reach = np.full(values.size, width * sigma * math.sqrt(weight / (2.0 - weight)))
    if opening:
        reach *= (
            np.sqrt(-np.expm1(2.0 * np.arange(1, values.size + 1) * math.log1p(-weight)))
            if weight < 1.0
            else 1.0
        )
    low, high = centre - reach, centre + reach
    return EwmaChart(smoothed, centre, low, high, (smoothed < low) | (smoothed > high))


def cusum_chart(values: Array, centre: float, slack: float, limit: float) -> CusumChart:
    """S+_i = max(0, S+_(i-1) + x_i - centre - slack), S-_i likewise downward.

    Written without a loop: the sum less its smallest value so far.

    Args:
        values: shape (loads,).
        centre: of the set-up phase.
        slack: half the shift to be found, in the values' unit.
        limit: that a sum must pass to signal, in the values' unit.

    Source: NIST/SEMATECH e-Handbook 6.3.2.3; Page, Biometrika 41 (1954) 100.
    """
    values = np.asarray(values, float)

    def one_sided(steps: Array) -> Array:
        total = np.concatenate([[0.0], np.cumsum(steps)])
        return np.asarray((total - np.minimum.accumulate(total))[1:], float)

    upper = one_sided(values - centre - slack)
    lower = one_sided(centre - values - slack)
    return CusumChart(upper, lower, limit, (upper > limit) | (lower > limit))
