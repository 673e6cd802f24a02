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

_MOST_POINTS = 1500
_MOST_DOTS = 60_000
_ALARM = "#b3261e"


def machine_figure(machine: MachineWatch, quantity: str = "film") -> Figure:
    """Charts of one quantity of one machine, the set-up phase shaded, signals marked.

    Args:
        machine: what was found.
        quantity: film, prestretch or cycle_time; it must have been charted.
    """
    charted = next(each for each in machine.charted if each.quantity == quantity)
    with_breaks = machine.breaks is not None and quantity == "film"
    rows = 4 if with_breaks else 3
    figure = new_figure(9.6, 2.1 * rows)
    all_axes = figure.subplots(rows, 1, sharex=True, height_ratios=[1.4, 1.0, 1.0, 0.8][:rows])
    loads = charted.loads + 1
    setup = loads[min(charted.charts.set_up.count, loads.size) - 1]
    _draw_values(all_axes[0], charted, loads)
    _draw_weighted(all_axes[1], charted, loads)
    _draw_sums(all_axes[2], charted, loads)
    if with_breaks:
        _draw_breaks(all_axes[3], machine)
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
    chart = charted.charts.individuals
    step = max(1, loads.size // _MOST_DOTS)
    axes.plot(
        loads[::step],
        100 * chart.values[::step],
        ".",
        color=MIDDLE,
        markersize=3.5 if loads.size < 10_000 else 1.5,
        markeredgewidth=0,
        rasterized=loads.size > _MOST_POINTS,  # thousands of dots are smaller as an image
    )
    out = np.flatnonzero(chart.signals)
    out = out[:: max(1, out.size // _MOST_POINTS)]
    axes.plot(loads[out], 100 * chart.values[out], "x", color=_ALARM, markersize=5)
    _limits(axes, 100 * chart.low, 100 * chart.centre, 100 * chart.high)
    edges = [0, *(step_of_level.index for step_of_level in charted.charts.steps), loads.size]
    for start, end in pairwise(edges):
        mean = 100 * float(chart.values[start:end].mean())
        axes.plot([loads[start], loads[end - 1]], [mean, mean], color=INK, linewidth=2)
    for step_of_level in charted.charts.steps:
        axes.axvspan(
            loads[step_of_level.low],
            loads[step_of_level.high],
            color=_ALARM,
            alpha=0.25,
            linewidth=0,
        )
    axes.set_ylabel(say("single loads [%]"))


def _draw_weighted(axes: Axes, charted: Charted, loads: NDArray[np.int64]) -> None:
    chart = charted.charts.ewma
    shown = _thinned(chart.values, chart.signals)
    out = chart.signals[shown]
    axes.plot(loads[shown], 100 * chart.values[shown], color=MIDDLE, linewidth=1)
    axes.plot(loads[shown][out], 100 * chart.values[shown][out], ".", color=_ALARM, markersize=4)
    _limits(axes, 100 * chart.low[-1], 100 * chart.centre, 100 * chart.high[-1])
    axes.set_ylabel(say("weighted\nmean [%]"))


def _draw_sums(axes: Axes, charted: Charted, loads: NDArray[np.int64]) -> None:
    chart, sigma = charted.charts.cusum, charted.charts.set_up.sigma
    limit = chart.limit / sigma
    # A lasting shift makes the sums run away: beyond four limits they say nothing more.
    top = 4.0 * limit
    for values, sign, style in ((chart.upper, 1.0, "-"), (chart.lower, -1.0, "--")):
        shown = _thinned(values, values > chart.limit)
        sums = sign * np.minimum(values[shown] / sigma, top)
        axes.plot(loads[shown], sums, style, color=MIDDLE, linewidth=1)
        out = values[shown] > chart.limit
        axes.plot(loads[shown][out], sums[out], ".", color=_ALARM, markersize=3)
    _limits(axes, -limit, 0.0, limit)
    axes.set_ylabel(say("cumulative\nsums [sigma]"))


def _draw_breaks(axes: Axes, machine: MachineWatch) -> None:
    chart = machine.breaks
    assert chart is not None
    starts = chart.starts + 1
    edges = np.append(starts, starts[-1] + chart.loads[-1])
    axes.stairs(chart.counts, edges, color=MIDDLE, linewidth=1.2, baseline=None)
    axes.stairs(chart.high, edges, color=INK, linewidth=0.8, linestyle="--", baseline=None)
    axes.stairs(chart.low, edges, color=INK, linewidth=0.8, linestyle="--", baseline=None)
    middle = 0.5 * (edges[:-1] + edges[1:])
    axes.plot(middle[chart.signals], chart.counts[chart.signals], "x", color=_ALARM, markersize=6)
    axes.set_ylim(bottom=-0.5)
    axes.set_ylabel(say("breaks in\n{loads} loads", loads=int(chart.loads[0])))


def _limits(axes: Axes, low: float, centre: float, high: float) -> None:
    for value, style, width in ((low, "--", 0.8), (centre, "-", 0.6), (high, "--", 0.8)):
        axes.axhline(value, color=INK, linestyle=style, linewidth=width)
