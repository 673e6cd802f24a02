"""Control charts of values in order: the set-up phase, weighted means, cumulative sums, and the
stretches that they signal.

All are for whole arrays at once, so that a year of loads costs milliseconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.words import say

__all__ = [
    "MEAN_RANGE_OF_TWO",
    "Array",
    "Excursion",
    "Mask",
    "SetUp",
    "cumulative_sums",
    "moving_ranges",
    "set_up",
    "sum_excursions",
    "weighted_excursions",
    "weighted_means",
]

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MEAN_RANGE_OF_TWO = 2.0 / math.sqrt(math.pi)  # d2 for two normal values, 1.12838
LEAST_SET_UP = 20
_CHUNK = 4096


@dataclass(frozen=True, slots=True)
class SetUp:
    """What a set-up phase says about values in control.

    Args:
        centre: their mean.
        sigma: short-term standard deviation, mean moving range / 1.128.
        count: how many values.
        autocorrelation: between one value and the next.
        skewness: 0 where they spread evenly on both sides.
        excess_kurtosis: 0 for normal values, above where tails are long.
        is_normal: a test at 1 % does not object to their shape.
    """

    centre: float
    sigma: float
    count: int
    autocorrelation: float
    skewness: float
    excess_kurtosis: float
    is_normal: bool


@dataclass(frozen=True, slots=True)
class Excursion:
    """A stretch that a chart signals.

    Args:
        direction: of the values.
        first: index of the first value after the sum was last 0, or the mean at the centre.
        alarm: index of the value that passed the limit.
        last: index of the last value before the level was back; the last of all where it is not.
        is_open: it has not come back.
    """

    direction: Literal["up", "down"]
    first: int
    alarm: int
    last: int
    is_open: bool


def moving_ranges(values: Array) -> Array:
    """|x_i - x_(i-1)|, shape (values - 1,)."""
    return np.asarray(np.abs(np.diff(values)), float)


def set_up(values: Array, least: int = LEAST_SET_UP) -> SetUp:
    """Centre, spread and shape of a set-up phase.

    sigma = mean moving range / d2, d2 = 2/sqrt(pi).

    Args:
        values: in the order of the loads, all finite.
        least: values asked for.

    Raises:
        InputError: too few values, or values that never change.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2; D'Agostino & Pearson,
        Biometrika 60 (1973) 613 (the test of shape).
    """
    from scipy.stats import normaltest

    values = np.asarray(values, float)
    if values.size < least:
        raise InputError.one(
            "setup_loads",
            values.size,
            say("at least {least}", least=least),
            say("Wrap more loads before watching."),
        )
    sigma = float(moving_ranges(values).mean()) / MEAN_RANGE_OF_TWO
    if sigma <= 0.0:
        raise InputError.one(
            "setup_loads",
            say("{size} values that are all {values:g}", size=values.size, values=values[0]),
            say("values that were measured"),
            say("A figure that never changes is a setting, not a measurement."),
        )
    deviations = values - values.mean()
    squares = float((deviations**2).sum())
    scaled = deviations / math.sqrt(squares / values.size)
    return SetUp(
        centre=float(values.mean()),
        sigma=sigma,
        count=values.size,
        autocorrelation=float((deviations[1:] * deviations[:-1]).sum()) / squares,
        skewness=float((scaled**3).mean()),
        excess_kurtosis=float((scaled**4).mean()) - 3.0,
        is_normal=values.size < LEAST_SET_UP or float(normaltest(values).pvalue) >= 0.01,
    )


def weighted_means(values: Array, centre: float, weight: float = 0.2) -> Array:
    """z_i = weight x_i + (1 - weight) z_(i-1), z_0 = centre.

    Args:
        values: shape (loads,).
        centre: of the set-up phase.
        weight: of the newest value, above 0 and at most 1.

    Source: NIST/SEMATECH e-Handbook 6.3.2.4.
    """
    from scipy.signal import lfilter

    start = np.array([(1.0 - weight) * centre])
    return np.asarray(lfilter([weight], [1.0, weight - 1.0], values, zi=start)[0], float)


def cumulative_sums(values: Array, centre: float, slack: float) -> tuple[Array, Array]:
    """S+_i = max(0, S+_(i-1) + x_i - centre - slack), S-_i likewise downward.

    Written without a loop: the sum less its smallest value so far.

    Args:
        values: shape (loads,).
        centre: of the set-up phase.
        slack: half the shift to be found, in the values' unit.

    Returns:
        the sum above and the sum below, both >= 0.

    Source: NIST/SEMATECH e-Handbook 6.3.2.3; Page, Biometrika 41 (1954) 100.
    """
    values = np.asarray(values, float)
    return _sums(values - centre - slack), _sums(centre - values - slack)


def _sums(steps: Array, before: float = 0.0) -> Array:
    """max(0, sum so far) after each step, from ``before``."""
    total = before + np.cumsum(steps)
    return np.asarray(total - np.minimum(np.minimum.accumulate(total), 0.0), float)


def sum_excursions(scores: Array, slack: float, limit: float) -> list[Excursion]:
    """Where the cumulative sums of scores about 0 pass their limit, each until the level is back.

    The level is back where sums that run the other way pass the limit too: a level that stays is
    seldom taken for one that came back.

    Args:
        scores: shape (values,).
        slack: half the shift to be found.
        limit: that a sum must pass.
    """
    found: list[Excursion] = []
    for direction, steps in (("up", scores - slack), ("down", -scores - slack)):
        start = 0
        while (crossing := _first_above(steps, start, limit)) is not None:
            first, alarm = crossing
            back = _first_above(-steps, alarm + 1, limit)
            last = scores.size - 1 if back is None else max(back[0] - 1, alarm)
            side: Literal["up", "down"] = "up" if direction == "up" else "down"
            found.append(Excursion(side, first, alarm, last, back is None))
            if back is None:
                break
            start = back[0] if back[0] > alarm else alarm + 1
    return sorted(found, key=lambda each: each.alarm)


def _first_above(steps: Array, start: int, limit: float) -> tuple[int, int] | None:
    """First value after the sum was last 0, and the value where it passes the limit."""
    before, first = 0.0, start
    for low in range(start, steps.size, _CHUNK):
        sums = _sums(steps[low : low + _CHUNK], before)
        above = np.flatnonzero(sums > limit)
        end = int(above[0]) if above.size else sums.size - 1
        zeros = np.flatnonzero(sums[: end + 1] <= 0.0)
        if zeros.size:
            first = low + int(zeros[-1]) + 1
        if above.size:
            return first, low + end
        before = float(sums[-1])
    return None


def weighted_excursions(means: Array, limit: float) -> list[Excursion]:
    """Where weighted means about 0 pass ± limit, each until they are back at 0.

    Args:
        means: shape (values,).
        limit: in their unit.
    """
    found: list[Excursion] = []
    start = 0
    outside = np.flatnonzero(np.abs(means) > limit)
    while (place := int(np.searchsorted(outside, start))) < outside.size:
        alarm = int(outside[place])
        side: Literal["up", "down"] = "up" if means[alarm] > 0.0 else "down"
        own = means if side == "up" else -means
        other = np.flatnonzero(own[start:alarm] <= 0.0)
        back = np.flatnonzero(own[alarm:] <= 0.0)
        last = alarm + int(back[0]) - 1 if back.size else means.size - 1
        first = start + int(other[-1]) + 1 if other.size else start
        found.append(Excursion(side, first, alarm, last, not back.size))
        if not back.size:
            break
        start = last + 1
    return found
