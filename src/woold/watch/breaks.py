"""Film breaks: a chart of the loads between two breaks, which needs no rate to be known before.

Breaks are rare: five in a thousand loads. Counts of groups say little until days have passed; the
gaps between breaks say something at each break. A gap is held against all loads and breaks before
it, so that a short set-up phase, or one without a break, makes the chart blunt but not false.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.watch.charts import Array, Excursion
from woold.watch.level_steps import PLACE_QUANTILE, LevelStep
from woold.watch.run_length import gap_limit_for

__all__ = ["BreaksChart", "breaks_chart", "place_of_rate_change", "standard_gap"]

RATIO = 2.0  # change of the rate that the sums are set for, up and down
_SLACK_UP = math.log(RATIO) / (RATIO - 1.0)
_SLACK_DOWN = RATIO * math.log(RATIO) / (RATIO - 1.0)


@dataclass(frozen=True, slots=True)
class BreaksChart:
    """Gaps between breaks on their chart.

    Args:
        loads: in all.
        at: index of the load of each break, twice where a load has two.
        set_up_breaks, set_up_loads: in the set-up phase.
        upper, lower: cumulative sums of gaps at each break, for breaks that come quicker, slower.
        limit_up, limit_down: of the sums, in mean gaps.
        excursions: stretches that signal; their indices are of loads.
        steps: where the rate of each changed, in breaks per load.
    """

    loads: int
    at: NDArray[np.int64]
    set_up_breaks: int
    set_up_loads: int
    upper: Array
    lower: Array
    limit_up: float
    limit_down: float
    excursions: tuple[Excursion, ...]
    steps: tuple[LevelStep, ...]

    @property
    def rate(self) -> float:
        """Breaks per load over all loads."""
        return self.at.size / self.loads


def standard_gap(gap: float, breaks: int, loads: float) -> float:
    """A gap freed from the unknown rate: B ln(1 + G/T), after B breaks in T loads.

    Where the rate does not change such gaps are independent and exponential with mean 1, whatever
    the rate is: (T/(T + G))^B is uniform.

    Args:
        gap: loads since the break before.
        breaks, loads: so far, the last load being one with a break.

    Source: Quesenberry, J. Quality Technology 23 (1991) 296 and 27 (1995) 184 (charts of gaps whose
        rate is not known).
    """
    return breaks * math.log1p(gap / loads)


class _Sums:
    """The chart's state, from break to break."""

    def __init__(self, limit_up: float, limit_down: float) -> None:
        self.limits = {"up": limit_up, "down": limit_down}
        self.sums = {"up": 0.0, "down": 0.0}
        self.first = {"up": 0, "down": 0}
        self.side = ""
        self.alarm = self.turned = 0
        self.back = 0.0

    def add(self, index: int, gap: float) -> tuple[int, int, int, str] | None:
        """One more gap; the excursion that it ends: first, alarm and last break, and side."""
        steps = {"up": _SLACK_UP - gap, "down": gap - _SLACK_DOWN}
        for side, step in steps.items():
            if self.sums[side] <= 0.0:
                self.first[side] = index
            self.sums[side] = max(0.0, self.sums[side] + step)
        if not self.side:
            for side in ("up", "down"):
                if self.sums[side] > self.limits[side]:
                    self.side, self.alarm, self.back, self.turned = side, index, 0.0, index
            return None
        if self.back <= 0.0:
            self.turned = index
        self.back = max(0.0, self.back - steps[self.side])
        if self.back <= self.limits[self.side]:
            return None
        ended = (self.first[self.side], self.alarm, max(self.turned - 1, self.alarm), self.side)
        self.side, self.sums = "", {"up": 0.0, "down": 0.0}
        return ended


def breaks_chart(
    breaks: NDArray[np.int64], setup_loads: int, every: float = 20_000.0
) -> BreaksChart | None:
    """The chart of gaps; None where there are fewer than two breaks.

    Loads of a stretch that signals do not count as what gaps are held against.

    Args:
        breaks: of each load, shape (loads,), whole numbers >= 0.
        setup_loads: at the start, which do not signal.
        every: loads between two false alarms, both directions together.
    """
    at = np.repeat(np.arange(breaks.size), breaks).astype(np.int64)
    if at.size < 2:
        return None
    setup = min(setup_loads, breaks.size)
    in_setup = int(np.searchsorted(at, setup))
    wanted = max(2.0, 2.0 * every * (in_setup + 0.5) / setup)
    sums = _Sums(gap_limit_for(wanted, _SLACK_UP), gap_limit_for(wanted, _SLACK_DOWN, longer=True))
    upper, lower = np.zeros(at.size), np.zeros(at.size)
    found: list[tuple[int, int, int, str]] = []
    exposure, count = 0.0, 0  # loads and breaks that gaps are held against
    before = -1.0
    for index, load in enumerate(at):
        gap = max(float(load) - before, 1e-6)
        before = float(load)
        if index >= max(in_setup, 1):
            ended = sums.add(index, standard_gap(gap, count, exposure))
            upper[index], lower[index] = sums.sums["up"], sums.sums["down"]
            if ended is not None:
                found.append(ended)
        if not sums.side:
            exposure, count = exposure + gap, count + 1
    if sums.side:
        found.append((sums.first[sums.side], sums.alarm, -1, sums.side))
    excursions, steps = _told(found, at, breaks.size)
    return BreaksChart(
        loads=int(breaks.size),
        at=at,
        set_up_breaks=in_setup,
        set_up_loads=setup,
        upper=upper,
        lower=lower,
        limit_up=sums.limits["up"],
        limit_down=sums.limits["down"],
        excursions=tuple(excursions),
        steps=tuple(steps),
    )


def _told(
    found: list[tuple[int, int, int, str]], at: NDArray[np.int64], loads: int
) -> tuple[list[Excursion], list[LevelStep]]:
    """Excursions in loads, each with the place where its rate changed."""
    excursions: list[Excursion] = []
    steps: list[LevelStep] = []
    start = 0
    for first, alarm, last, side in found:
        end = loads if last < 0 else int(at[last]) + 1
        own = at[(at >= start) & (at < end)] - start
        index, low, high = place_of_rate_change(own, end - start)
        before, after = int((own < index).sum()), int((own >= index).sum())
        steps.append(
            LevelStep(
                index=start + index,
                low=start + low,
                high=start + high,
                before=before / index,
                after=after / (end - start - index),
                before_count=index,
                after_count=end - start - index,
            )
        )
        excursions.append(
            Excursion(
                direction="up" if side == "up" else "down",
                first=int(at[first]),
                alarm=int(at[alarm]),
                last=end - 1,
                is_open=last < 0,
            )
        )
        start = end
    return excursions, steps


def place_of_rate_change(at: NDArray[np.int64], loads: int) -> tuple[int, int, int]:
    """Most likely first load of another rate, and the range that the breaks do not rule out (95 %).

    The place maximises n1 ln(n1/t) + n2 ln(n2/(loads - t)), n1 breaks in the t loads before it.

    Args:
        at: loads of the breaks, 0 to loads - 1.
        loads: at least 2.
    """
    from scipy.special import xlogy

    places = np.arange(1, loads)
    before = np.searchsorted(at, places, "left").astype(float)
    after = at.size - before
    likely = xlogy(before, before / places) + xlogy(after, after / (loads - places))
    best = int(np.argmax(likely))
    # With few breaks on one side the law of the ratio is wider than its limit for many.
    few = 1.0 + float(min(before[best], after[best]))
    near = np.flatnonzero(likely >= likely[best] - 0.5 * PLACE_QUANTILE * (1.0 + 1.0 / few))
    return int(places[best]), int(places[near[0]]), int(places[near[-1]])
