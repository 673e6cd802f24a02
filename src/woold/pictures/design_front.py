"""The front of film, containment and time, with today's program, the chosen one and the bound."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.design.result import DesignResult, ProgramResult
from woold.pictures.canvas import INK, LIGHT, MIDDLE, SHADES, new_figure, trade_axis, wants_trade
from woold.units import UnitSystem
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["design_front_figure"]


def design_front_figure(result: DesignResult, system: UnitSystem) -> Figure:
    """Film against what is held, cycle time as shades and sizes.

    Args:
        result: a design, with its front.
        system: units of the axes.
    """
    figure = new_figure(9.0, 5.6)
    axes = figure.subplots()
    _draw_front(figure, axes, result)
    programs = [(say("today"), result.today, "s"), (say("chosen"), result.chosen, "D")]
    if result.profiled is not None:
        programs.append((say("rise varies with height"), result.profiled.program, "^"))
    for label, program, marker in programs:
        if program is not None:
            _draw_program(axes, program, label, marker)
    if result.film_bound_kg is not None:
        axes.axvline(
            result.film_bound_kg,
            color=MIDDLE,
            linestyle="--",
            label=say("bound: every program that holds needs more"),
        )
    axes.axhline(1.0, color=INK, linewidth=0.8)
    axes.axhspan(0.0, 1.0, color=LIGHT, alpha=0.35, linewidth=0, label=say("misses a target"))
    asked = result.today.verdict.asked
    axes.set_ylabel(
        say("share of what is asked, at the worst place [-]")
        if asked
        else say("share of what today's program holds [-]")
    )
    axes.set_xlabel(say("film per load [kg]"))
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    if wants_trade(system):
        trade_axis(axes, "small_mass", "oz", say("film per load [oz]"), axis="x")
    axes.legend(loc="lower right", fontsize=8, framealpha=0.9)
    figure.suptitle(
        f"{result.title or say('Design')}\n"
        + say("Engineering estimate; test wraps and a transport test decide"),
        fontsize=10,
    )
    return figure


def _draw_front(figure: Figure, axes: Axes, result: DesignResult) -> None:
    if not result.front:
        return
    film = np.array([each.film_mass_kg for each in result.front])
    time = np.array([each.cycle_time_s for each in result.front])
    held = np.array([each.share_of_targets for each in result.front])
    span = max(float(np.ptp(time)), 1e-9)
    # Time also as size, so that it can be read in grey.
    sizes = 25.0 + 110.0 * (time - time.min()) / span
    points = axes.scatter(
        film,
        held,
        c=time,
        s=sizes,
        cmap=SHADES,
        edgecolor=INK,
        linewidth=0.6,
        zorder=3,
        label=say("on the front"),
    )
    label = say("cycle time [s] (larger dots take longer)")
    figure.colorbar(points, ax=axes, label=label, pad=0.02)


def _draw_program(axes: Axes, program: ProgramResult, label: str, marker: str) -> None:
    axes.plot(
        [program.film_mass_kg],
        [program.share_of_targets],
        marker=marker,
        markersize=9,
        color="white",
        markeredgecolor=INK,
        markeredgewidth=1.6,
        linestyle="none",
        zorder=4,
        label=f"{label}: {program.cycle_time_s:.0f} s",
    )
