"""Running counters into amounts per load: resets, roll-overs, rows that are missing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Amounts", "amounts_of_counter"]

_ROLL_OVERS = tuple(
    [2**bits for bits in (15, 16, 31, 32)] + [10**digits for digits in range(4, 10)]
)
MOST_TIMES_USUAL = 3.0  # an amount above this many medians means that rows are missing


@dataclass(frozen=True, slots=True)
class Amounts:
    """What a running counter says of each load.

    Args:
        values: increase since the load before; NaN where it cannot be told.
        resets: times the counter started again.
        roll_overs: times it went over its largest figure (these loads keep their value).
        gaps: loads whose increase is too large for one load: rows are missing before them.
    """

    values: NDArray[np.float64]
    resets: int
    roll_overs: int
    gaps: int


def amounts_of_counter(counter: NDArray[np.float64], *, may_be_zero: bool = False) -> Amounts:
    """Amount per load from a running counter, in the order of the loads.

    A counter that falls was reset, and the load's amount is unknown: what was counted before the
    reset is lost. It has rolled over where the step over a usual largest figure is plausible.

    Args:
        counter: shape (loads,); NaN where not read.
        may_be_zero: breaks mostly do not change; film always does.
    """
    values = np.full(counter.size, np.nan)
    if counter.size < 2:
        return Amounts(values, 0, 0, 0)
    steps = np.diff(counter)
    rising = steps[steps >= 0.0] if may_be_zero else steps[steps > 0.0]
    usual = float(np.median(rising)) if rising.size else 0.0
    fell = steps < 0.0
    resets = roll_overs = 0
    for index in np.flatnonzero(fell):
        over = [
            counter[index + 1] + top - counter[index]
            for top in _ROLL_OVERS
            if 0.9 * top < counter[index] <= top
        ]
        most = max(MOST_TIMES_USUAL * usual, 1.0 if may_be_zero else 0.0)
        if over and over[0] <= most:
            steps[index] = over[0]
            roll_overs += 1
        else:
            steps[index] = np.nan
            resets += 1
    gaps = 0
    if not may_be_zero:
        large = steps > MOST_TIMES_USUAL * usual
        gaps = int(large.sum())
        steps[large] = np.nan
        steps[steps == 0.0] = np.nan
    values[1:] = steps
    return Amounts(values, resets, roll_overs, gaps)
