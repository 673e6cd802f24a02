"""Slips of a simulated stack over time, and the stack where it stood furthest."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib import colormaps
from matplotlib.patches import Polygon

from woold.pictures.canvas import INK, LIGHT, SHADES, new_figure, trade_axis, wants_trade
from woold.transport.result import direction_name
from woold.transport.simulation import SimulatedWay, TransportSimulation
from woold.units import UnitSystem
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["stack_motion_figure"]


def stack_motion_figure(result: TransportSimulation, system: UnitSystem) -> Figure:
    """Slip of each tier over time, and the stack at its furthest, for the worst direction of all.

    Args:
        result: the simulation.
        system: units of the axes.
    """
    index = max(range(len(result.ways)), key=lambda each: _badness(result.ways[each]))
    way = result.ways[index]
    figure = new_figure(9.6, 5.0)
    left, right = figure.subplots(1, 2, width_ratios=[1.4, 1.0])
    _draw_slips(left, way)
    _draw_bodies(right, result, index)
    if wants_trade(system):
        trade_axis(left, "small_length", "in", say("slip over the one below [in]"))
    verdict = say("stays within the limits") if way.holds else say("breaks a limit")
    if way.holds is None:
        verdict = say("it cannot be said, shown as guessed")
    if way.fell_at_s is not None:
        verdict = say("falls after {time:.2f} s", time=way.fell_at_s)
    name = direction_name(way.direction) if way.profile else say("recorded")
    figure.suptitle(
        say(
            "{direction}, {acceleration:.3g} g: {verdict}\nSimulation; a physical test decides",
            direction=name,
            acceleration=way.acceleration_g,
            verdict=verdict,
        ),
        fontsize=10,
    )
    return figure


def _badness(way: SimulatedWay) -> tuple[bool, bool, float]:
    return way.holds is False, way.holds is None, way.top_travel_m


def _draw_slips(axes: Axes, way: SimulatedWay) -> None:
    slips = np.array(way.slips_m)
    bodies = slips.shape[1]
    for body in range(bodies):
        label = say("pallet on the vehicle") if body == 0 else say("tier {number}", number=body)
        axes.plot(
            way.times_s,
            slips[:, body],
            color=colormaps[SHADES](0.15 + 0.85 * body / bodies),
            linestyle=("-", "--", "-.", ":")[body % 4],
            label=label,
        )
    axes.set_xlabel(say("time [s]"))
    axes.set_ylabel(say("slip over the one below [m]"))
    axes.legend(fontsize=7, frameon=False, ncols=1 + bodies // 9)


def _draw_bodies(axes: Axes, result: TransportSimulation, index: int) -> None:
    way = result.ways[index]
    places = np.array(way.positions)
    # Where the top stands furthest from where it stood.
    sample = int(np.argmax(abs(places[:, -1, 0] - places[0, -1, 0])))
    for when, colour, line in ((0, "none", INK), (sample, LIGHT, INK)):
        for body, (x, y, turn) in enumerate(places[when]):
            corners = _corners(
                result.body_ahead_m[index][body],
                result.body_behind_m[index][body],
                result.body_heights_m[body],
            )
            rotation = np.array(
                [[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]
            )
            axes.add_patch(
                Polygon(
                    corners @ rotation + (x, y),
                    facecolor=colour,
                    edgecolor=line,
                    linestyle="-" if when else ":",
                    linewidth=0.9,
                )
            )
    axes.axhline(0.0, color=INK, linewidth=0.8)
    axes.set_aspect("equal")
    axes.autoscale_view()
    axes.set_xlabel(say("along the movement [m]"))
    axes.set_ylabel(say("height over the vehicle's floor [m]"))
    axes.set_title(say("at {time:.2f} s; dotted: before", time=way.times_s[sample]), fontsize=9)


def _corners(
    ahead: float, behind: float, height: float
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    half = 0.5 * height
    return np.array([[-behind, -half], [ahead, -half], [ahead, half], [-behind, half]])
