"""Pictures of a recorded trace: over time, over one turn, and by orders."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.dancer.results import TraceStudy
from woold.physics.trace_analysis import TraceAnalysis
from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.units import KINDS, from_si
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["trace_figure"]

_MOST_POINTS = 6000
_MOST_TURNS = 40
_HIGHEST_ORDER = 48


def trace_figure(study: TraceStudy, analysis: TraceAnalysis) -> Figure:
    """The trace, every turn laid over the average one and the model's, and the order spectrum.

    Args:
        study: what was found.
        analysis: what it rests on.
    """
    unit = KINDS[study.position_kind].metric
    scale = from_si(1.0, study.position_kind, unit)
    label = {"deg": "°", "percent": "%"}.get(unit, unit)
    figure = new_figure(10.0, 7.2)
    grid = figure.add_gridspec(2, 2, height_ratios=[1.0, 1.25])
    _draw_time(figure.add_subplot(grid[0, :]), analysis, scale, label)
    _draw_turn(figure.add_subplot(grid[1, 0]), study, analysis, scale, label)
    _draw_orders(figure.add_subplot(grid[1, 1]), study, analysis, scale, label)
    figure.suptitle(f"{study.file}: {say(study.verdict)}", fontsize=11)
    return figure


def _draw_time(axes: Axes, analysis: TraceAnalysis, scale: float, label: str) -> None:
    samples = analysis.samples
    block = max(len(samples.position) // _MOST_POINTS, 1)
    whole = len(samples.position) // block * block
    parts = scale * samples.position[:whole].reshape(-1, block)
    time = samples.time[:whole].reshape(-1, block).mean(axis=1)
    if block > 1:
        axes.fill_between(time, parts.min(axis=1), parts.max(axis=1), color=MIDDLE, linewidth=0)
    else:
        axes.plot(time, parts[:, 0], color=INK, linewidth=0.7)
    axes.margins(x=0.0)
    axes.set_xlabel(say("time [s]"))
    axes.set_ylabel(say("dancer [{unit}]", unit=label))


def _draw_turn(
    axes: Axes, study: TraceStudy, analysis: TraceAnalysis, scale: float, label: str
) -> None:
    turns = analysis.turns
    degrees = 360.0 * np.arange(turns.shape[1]) / turns.shape[1]
    shown = np.linspace(0, len(turns) - 1, min(len(turns), _MOST_TURNS)).astype(int)
    for turn in turns[np.unique(shown)]:
        axes.plot(degrees, scale * turn, color=LIGHT, linewidth=0.7)
    every = say("{turns} turns, drift taken off", turns=len(turns))
    axes.plot([], [], color=LIGHT, label=every)
    mean = scale * turns.mean(axis=0)
    axes.plot(degrees, mean, color=INK, linewidth=1.6, label=say("average turn"))
    if study.simulated is not None:
        model = np.array(study.simulated.simulated_turn_rad)
        places = 360.0 * np.arange(len(model)) / len(model)
        name = say("model, fitted") if study.fit is not None else say("model")
        axes.plot(places, scale * model, color=MIDDLE, linestyle="--", linewidth=1.6, label=name)
    axes.set_xlim(0, 360)
    axes.set_xticks(range(0, 361, 90))
    axes.set_xlabel(say("turntable angle from an arbitrary start [°]"))
    axes.set_ylabel(say("dancer about its mean [{unit}]", unit=label))
    axes.legend(loc="best", frameon=False, fontsize=8)


def _draw_orders(
    axes: Axes, study: TraceStudy, analysis: TraceAnalysis, scale: float, label: str
) -> None:
    highest = _HIGHEST_ORDER
    if study.bounce is not None:
        highest = max(highest, int(1.4 * study.bounce.frequency_hz * study.turn_period_s))
    inside = (analysis.orders > 0) & (analysis.orders <= highest)
    orders, sizes = analysis.orders[inside], scale * analysis.amplitudes[inside]
    axes.semilogy(orders, sizes, color=MIDDLE, linewidth=0.7, label=say("all motion"))
    count = len(analysis.turns)
    corners = [order for order in study.corner_orders if order <= highest]
    axes.semilogy(
        corners,
        [scale * analysis.amplitudes[order * count] for order in corners],
        "o",
        color=INK,
        markersize=5,
        label=say("with the corners"),
    )
    if study.bounce is not None:
        at = study.bounce.frequency_hz * study.turn_period_s
        axes.axvline(at, color=INK, linewidth=1.0, linestyle=":")
        axes.annotate(
            say("ringing {frequency:.2f} Hz", frequency=study.bounce.frequency_hz),
            (at, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(3, -10),
            textcoords="offset points",
            fontsize=8,
        )
    axes.set_xlim(0, highest)
    axes.set_xlabel(say("order, times a turn"))
    axes.set_ylabel(say("amplitude [{unit}]", unit=label))
    axes.legend(loc="best", frameon=False, fontsize=8)
