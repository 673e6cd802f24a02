"""Film breaks: a chart of counts per group of loads, with limits from the counts' own law."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.watch.charts import Array, Mask

__all__ = ["BreaksChart", "breaks_chart", "group_counts", "poisson_limits"]

LEAST_EXPECTED = 4.0  # breaks per group, so that a group can say something


@dataclass(frozen=True, slots=True)
class BreaksChart:
    """Breaks per group of loads.

    Args:
        starts: index of each group's first load.
        loads: in each group.
        counts: breaks in each group.
        rate: breaks per load in the set-up phase.
        low, high: limits of the counts.
        signals: counts outside.
    """

    starts: NDArray[np.int64]
    loads: NDArray[np.int64]
    counts: NDArray[np.int64]
    rate: float
    low: Array
    high: Array
    signals: Mask


def poisson_limits(rate: float, loads: Array, false_alarm: float) -> tuple[Array, Array]:
    """Limits that a Poisson count passes with at most half ``false_alarm`` on either side.

    Args:
        rate: breaks per load.
        loads: in each group, shape (groups,).
        false_alarm: chance of a signal in control.

    Returns:
        lowest and highest count that is not a signal.
    """
    from scipy.stats import poisson

    expected = rate * np.asarray(loads, float)
    high = poisson.isf(0.5 * false_alarm, expected)
    low = poisson.ppf(0.5 * false_alarm, expected)
    # ppf is the first count whose chance from below reaches the tail; that count is in control.
    return np.asarray(low, float), np.asarray(high, float)


def group_counts(
    breaks: NDArray[np.int64], size: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """First load, loads and breaks of consecutive groups; a last group under half size is joined
    to the one before."""
    count = breaks.size
    starts = np.arange(0, count, size, dtype=np.int64)
    if starts.size > 1 and count - int(starts[-1]) < size / 2:
        starts = starts[:-1]
    sums = np.add.reduceat(breaks, starts).astype(np.int64)
    loads = np.diff(np.append(starts, count)).astype(np.int64)
    return starts, loads, sums


def breaks_chart(
    breaks: NDArray[np.int64], setup_loads: int, run_length_groups: float = 370.0
) -> BreaksChart | None:
    """Breaks per group against exact Poisson limits; None when the set-up phase had no break.

    Groups are as large as needed for four expected breaks.

    Args:
        breaks: of each load, shape (loads,), whole numbers >= 0.
        setup_loads: at the start, that give the rate.
        run_length_groups: groups between two false alarms.
    """
    in_setup = int(breaks[:setup_loads].sum())
    if in_setup == 0:
        return None
    rate = in_setup / setup_loads
    size = max(1, math.ceil(LEAST_EXPECTED / rate))
    starts, loads, counts = group_counts(breaks, size)
    low, high = poisson_limits(rate, loads.astype(float), 1.0 / run_length_groups)
    return BreaksChart(starts, loads, counts, rate, low, high, (counts < low) | (counts > high))
