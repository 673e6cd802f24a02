"""A calibration: readings over their prediction, before and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.trial.calibrate import Calibration
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["calibration_figure"]


def calibration_figure(found: Calibration) -> Figure:
    """Predicted over measured, one row a reading, with the reading's 95 % error."""
    figure = new_figure(9.0, 1.4 + 0.3 * len(found.readings))
    axes = figure.subplots()
    rows = range(len(found.readings))
    for row, each in zip(rows, found.readings, strict=True):
        half = 196 * each.relative_error
        axes.plot([-half, half], [row, row], color=LIGHT, linewidth=7, solid_capstyle="butt")
    axes.plot(
        [100 * (each.before / each.measured - 1) for each in found.readings],
        rows,
        linestyle="none",
        marker="o",
        fillstyle="none",
        color=INK,
        label=say("before"),
    )
    axes.plot(
        [100 * (each.after / each.measured - 1) for each in found.readings],
        rows,
        linestyle="none",
        marker="^",
        color=MIDDLE,
        label=say("after"),
    )
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.set_yticks(rows, [f"{each.what}, {each.load_type}" for each in found.readings])
    axes.invert_yaxis()
    axes.set_xlabel(say("prediction off the measured average [%]; bars: 95 % error of the average"))
    axes.legend(frameon=False, fontsize=8, loc="best")
    figure.suptitle(
        say(
            "Calibration to {trial}, {treatment}",
            trial=found.trial,
            treatment=say(found.treatment),
        ),
        fontsize=10,
    )
    return figure
