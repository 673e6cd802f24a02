"""Alarms: stretches of loads that a chart signals after the set-up phase."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from woold.watch.breaks import BreaksChart
from woold.watch.charts import Mask
from woold.watch.quantity_charts import Charted

__all__ = ["Alarm", "alarms_of"]

MOST_BETWEEN = 50  # values between two signals of one alarm


@dataclass(frozen=True, slots=True)
class Alarm:
    """A stretch of loads that one chart signals.

    Args:
        quantity: film, prestretch, cycle_time or breaks.
        chart: individuals, ewma, cusum or counts.
        direction: ``"up"`` or ``"down"``.
        first, last: indices of the first and last load of it, in the order of wrapping.
        time, last_time: when these were wrapped.
        signals: loads, or groups of loads, that signal.
    """

    quantity: str
    chart: str
    direction: Literal["up", "down"]
    first: int
    last: int
    time: datetime.datetime
    last_time: datetime.datetime
    signals: int


def alarms_of(
    charted: Sequence[Charted],
    breaks: BreaksChart | None,
    times: NDArray[np.datetime64],
    setup_loads: int,
) -> list[Alarm]:
    """Alarms of all charts in the order of their first load."""
    alarms: list[Alarm] = []
    for each in charted:
        panel = each.charts
        start = panel.set_up.count
        single, weighted, sums = panel.individuals, panel.ewma, panel.cusum
        for chart, up, down in (
            ("individuals", single.values > single.high, single.values < single.low),
            ("ewma", weighted.values > weighted.high, weighted.values < weighted.low),
            ("cusum", sums.upper > sums.limit, sums.lower > sums.limit),
        ):
            alarms += _runs(each.quantity, chart, "up", up, each.loads, start, times)
            alarms += _runs(each.quantity, chart, "down", down, each.loads, start, times)
    if breaks is not None:
        lasts = breaks.starts + breaks.loads - 1
        start = int(np.searchsorted(lasts, setup_loads))
        above, below = breaks.counts > breaks.high, breaks.counts < breaks.low
        alarms += _runs("breaks", "counts", "up", above, lasts, start, times)
        alarms += _runs("breaks", "counts", "down", below, lasts, start, times)
    return sorted(alarms, key=lambda alarm: (alarm.first, alarm.quantity, alarm.chart))


def _runs(
    quantity: str,
    chart: str,
    direction: Literal["up", "down"],
    signals: Mask,
    loads: NDArray[np.int64],
    start: int,
    times: NDArray[np.datetime64],
) -> list[Alarm]:
    """Signals after the set-up phase; those less than fifty values apart make one alarm."""
    places = np.flatnonzero(signals[start:]) + start
    if places.size == 0:
        return []
    parts = np.split(places, np.flatnonzero(np.diff(places) > MOST_BETWEEN) + 1)
    return [
        Alarm(
            quantity=quantity,
            chart=chart,
            direction=direction,
            first=int(loads[part[0]]),
            last=int(loads[part[-1]]),
            time=times[loads[part[0]]].item(),
            last_time=times[loads[part[-1]]].item(),
            signals=int(part.size),
        )
        for part in parts
    ]
