"""The charts of one machine: values, weighted mean, cumulative sums, breaks, savings by month."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.watch.machine import MachineWatch
from woold.watch.quantity_charts import QUANTITIES, Charted
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["machine_figure"]

_MOST_POINTS = 600
_MOST_DOTS = 60_000
_MOST_MARKS = 100
"""More of them are smaller as an image."""

_ALARM = "#b3261e"


def machine_figure(machine: MachineWatch, quantity: str = "film") -> Figure:
    """The chart of one quantity of one machine, the set-up phase shaded, events marked.

    Args:
        machine: what was found.
        quantity: film, prestretch or cycle_time; it must have been charted.
    """
    charted = next(each for each in machine.charted if each.quantity == quantity)
    with_breaks = machine.breaks is not None and quantity == "film"
    rows = 3 if with_breaks else 2
    figure = new_figure(9.6, 2.3 * rows)
    all_axes = figure.subplots(rows, 1, sharex=True, height_ratios=[1.4, 1.0, 0.8][:rows])
    loads = charted.loads + 1
    setup = loads[min(charted.chart.set_up.count, loads.size) - 1]
    _draw_values(all_axes[0], charted, loads)
    _draw_sums(all_axes[1], charted, loads)
    if with_breaks:
        _draw_breaks(all_axes[2], machine)
    for axes in all_axes:
        axes.axvspan(loads[0], setup, color=LIGHT, alpha=0.5, linewidth=0, zorder=0)
        axes.margins(x=0.01)
    all_axes[0].annotate(
        say("set-up phase"),
        (loads[0], 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(3, -3),
        textcoords="offset points",
        va="top",
        fontsize=8,
    )
    all_axes[-1].set_xlabel(say("load, in the order of wrapping"))
    figure.suptitle(
        say(
            "{machine}: {quantity}, 100 % is the mean of the set-up phase",
            machine=machine.machine,
            quantity=say(QUANTITIES[quantity]),
        ),
        fontsize=11,
        parse_math=False,
    )
    return figure


def _thinned(values: NDArray[np.float64], keep: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Indices to draw: all of a short series; of a long one the least and the largest of each
    stretch, and some of what must be seen."""
    count = values.size
    if count <= 2 * _MOST_POINTS:
        return np.arange(count)
    block = -(-count // _MOST_POINTS)
    whole = count // block * block
    parts = values[:whole].reshape(-1, block)
    starts = np.arange(0, whole, block)
    marked = np.flatnonzero(keep)
    marked = marked[:: max(1, marked.size // _MOST_POINTS)]
    picked = (starts + parts.argmin(axis=1), starts + parts.argmax(axis=1), marked, [count - 1])
    return np.unique(np.concatenate(picked)).astype(np.int64)


def _draw_values(axes: Axes, charted: Charted, loads: NDArray[np.int64]) -> None:
    """Single values as dots, their weighted mean, and the steps of the level."""
    chart = charted.chart
    every = max(1, loads.size // _MOST_DOTS)
    axes.plot(
        loads[::every],
        100 * chart.values[::every],
        ".",
        color=LIGHT,
        markersize=3.5 if loads.size < 10_000 else 1.5,
        markeredgewidth=0,
        rasterized=loads.size > _MOST_POINTS,  # thousands of dots are smaller as an image
    )
    shown = _thinned(chart.means, np.zeros(loads.size, dtype=bool))
    axes.plot(loads[shown], 100 * chart.means[shown], color=MIDDLE, linewidth=0.8)
    axes.axhline(100 * chart.set_up.centre, color=INK, linewidth=0.6)
    edges = [0, *(step.index for step in chart.steps), loads.size]
    for start, end in pairwise(edges):
        mean = 100 * float(chart.values[start:end].mean())
        axes.plot([loads[start], loads[end - 1]], [mean, mean], color=INK, linewidth=2)
    for each in chart.excursions:
        axes.axvspan(loads[each.first], loads[each.last], color=_ALARM, alpha=0.12, linewidth=0)
    axes.set_ylabel(say("loads, and their\nweighted mean [%]"))


def _draw_sums(axes: Axes, charted: Charted, loads: NDArray[np.int64]) -> None:
    """What is held against the limit; a lasting shift makes sums run away, so they end at two and a
    half limits, beyond which they say nothing more."""
    chart = charted.chart
    top = 2.5 * chart.limit
    for values, sign, style in ((chart.upper, 1.0, "-"), (chart.lower, -1.0, "--")):
        shown = _thinned(values, values > chart.limit)
        sums = sign * np.clip(values[shown], 0.0, top)
        axes.plot(loads[shown], sums, style, color=MIDDLE, linewidth=1)
        out = values[shown] > chart.limit
        axes.plot(
            loads[shown][out],
            sums[out],
            ".",
            color=_ALARM,
            markersize=3,
            rasterized=out.sum() > _MOST_MARKS,
        )
    _limits(axes, -chart.limit, 0.0, chart.limit)
    axes.set_ylabel(say("scores against\ntheir limits"))


def _draw_breaks(axes: Axes, machine: MachineWatch) -> None:
    """Sums of gaps between breaks in shares of their limits, quicker above, slower below."""
    chart = machine.breaks
    assert chart is not None
    loads = chart.at + 1
    for sums, limit, sign, style in (
        (chart.upper, chart.limit_up, 1.0, "-"),
        (chart.lower, chart.limit_down, -1.0, "--"),
    ):
        shares = sign * np.clip(sums / limit, 0.0, 2.5)
        axes.step(loads, shares, style, where="post", color=MIDDLE, linewidth=1)
        out = sums > limit
        axes.plot(
            loads[out],
            shares[out],
            ".",
            color=_ALARM,
            markersize=4,
            rasterized=out.sum() > _MOST_MARKS,
        )
    axes.plot(
        loads,
        np.zeros(loads.size),
        "|",
        color=INK,
        markersize=5,
        rasterized=loads.size > _MOST_MARKS,
    )
    _limits(axes, -1.0, 0.0, 1.0)
    axes.set_ylabel(say("breaks,\nshare of limit"))


def _limits(axes: Axes, low: float, centre: float, high: float) -> None:
    for value, style, width in ((low, "--", 0.8), (centre, "-", 0.6), (high, "--", 0.8)):
        axes.axhline(value, color=INK, linestyle=style, linewidth=width)
