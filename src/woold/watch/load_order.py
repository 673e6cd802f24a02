"""The order of one machine's loads: late rows, clocks set back, doubles.

A machine wraps one load at a time. Rows that come late therefore fill a stretch of time in which
no other row lies; a clock that was set back goes again through a stretch that is already full.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Ordering", "order_of_loads"]


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
