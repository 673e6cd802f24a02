"""The order of one machine's loads: late rows, clocks set back, doubles; counters into amounts.

A machine wraps one load at a time. Rows that come late therefore fill a stretch of time in which
no other row lies; a clock that was set back goes again through a stretch that is already full.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Amounts", "Ordering", "amounts_of_counter", "order_of_loads"]

_ROLL_OVERS = tuple(
    [2**bits for bits in (15, 16, 31, 32)] + [10**digits for digits in range(4, 10)]
)
MOST_TIMES_USUAL = 3.0  # an amount above this many medians means that rows are missing


@dataclass(frozen=True, slots=True)
class Ordering:
    """How to sort the rows of a machine.

    Args:
        order: indices of the rows in the order in which the loads were wrapped, doubles left out.
        late: rows that were put back into their place.
        doubles: rows left out, as another has the same time and the same figures.
        conflicts: rows kept although another has the same time and other figures.
        set_back: (index of the first row after it, seconds) for each time the clock was set back.
    """

    order: NDArray[np.int64]
    late: int
    doubles: int
    conflicts: int
    set_back: tuple[tuple[int, float], ...]


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


def order_of_loads(
    seconds: NDArray[np.float64], fingerprints_of: Callable[[NDArray[np.int64]], NDArray[np.uint64]]
) -> Ordering:
    """The order in which the loads were wrapped.

    Args:
        seconds: the rows' times, in the order of the file, shape (rows,).
        fingerprints_of: of some rows, equal where all figures of two rows are equal; asked only of
            rows that share a time.
    """
    rows = seconds.size
    keep = _without_doubles(seconds, fingerprints_of)
    index = np.flatnonzero(keep)
    times = seconds[index]
    highest = np.maximum.accumulate(times)
    behind = times < highest
    if not behind.any():
        return Ordering(index.astype(np.int64), 0, rows - index.size, _equal(times), ())
    # Runs of rows behind the latest time so far.
    starts = np.flatnonzero(behind & ~np.concatenate([[False], behind[:-1]]))
    ends = np.flatnonzero(behind & ~np.concatenate([behind[1:], [False]])) + 1
    on_time = np.sort(times[~behind])
    corrected = times.copy()
    late = 0
    set_back: list[tuple[int, float]] = []
    for start, end in zip(starts, ends, strict=True):
        following = times[end] if end < times.size else None
        if _repeats(times[start:end], on_time, following):
            # The load before it took about as long as those after it.
            step = float(highest[start] - times[start] + np.median(np.diff(times[start:end])))
            set_back.append((int(index[start]), step))
            corrected[start:] += step
        else:
            late += int(end - start)
    order = index[np.argsort(corrected, kind="stable")]
    return Ordering(
        order.astype(np.int64), late, rows - index.size, _equal(np.sort(corrected)), tuple(set_back)
    )


def _repeats(
    run: NDArray[np.float64], on_time: NDArray[np.float64], following: float | None
) -> bool:
    """Whether a run of rows behind the time goes again through a stretch that is already full.

    It then rises, holds about as many rows as lie there already, and passes without a jump into the
    rows that have caught up.
    """
    steps = np.diff(run)
    if run.size < 3 or np.any(steps < 0.0):
        return False
    inside = int(np.searchsorted(on_time, run[-1], "left") - np.searchsorted(on_time, run[0]))
    if not 0.5 * run.size <= inside <= 2.0 * run.size + 2:
        return False
    return following is None or following - run[-1] <= 5.0 * float(np.median(steps)) + 1.0


def _equal(times: NDArray[np.float64]) -> int:
    """Rows with the same time as the one before."""
    return int((np.diff(times) == 0.0).sum())


def _without_doubles(
    seconds: NDArray[np.float64], fingerprints_of: Callable[[NDArray[np.int64]], NDArray[np.uint64]]
) -> NDArray[np.bool_]:
    """The first of all rows with the same time and the same figures."""
    keep = np.ones(seconds.size, dtype=bool)
    order = np.argsort(seconds, kind="stable")
    same_time = np.diff(seconds[order]) == 0.0
    if not same_time.any():
        return keep
    in_group = np.concatenate([[False], same_time]) | np.concatenate([same_time, [False]])
    rows = np.sort(order[in_group])
    fingerprints = fingerprints_of(rows)
    by_figures = np.lexsort((fingerprints, seconds[rows]))
    twice = (np.diff(seconds[rows][by_figures]) == 0.0) & (np.diff(fingerprints[by_figures]) == 0)
    keep[rows[by_figures[1:][twice]]] = False
    return keep


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
