"""How an interval came to be: what was predicted of each reading, before and now, and measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from woold.learning.learned import LearnedReading
from woold.pictures.canvas import INK, MIDDLE, new_figure
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["learned_readings_figure"]

_MOST_ROWS = 24


def learned_readings_figure(readings: tuple[LearnedReading, ...]) -> Figure:
    """Middle 90 % of each reading's average over what was measured: wide before, narrow now.

    Args:
        readings: what was learnt from; the first ones where there are many.
    """
    shown = readings[:_MOST_ROWS]
    # Two lines each: the name of a reading is long, and the picture is read on a phone too.
    names = [
        f"{each.trial}, {say(each.treatment)}, {each.load_type}\n{each.what}" for each in shown
    ]
    figure = new_figure(7.4, 1.2 + 0.46 * len(shown))
    axes = figure.add_subplot()
    for row, each in enumerate(shown):
        for found, color, width in ((each.before, MIDDLE, 7.0), (each.after, INK, 2.5)):
            ends = [100.0 * end / each.measured for end in (found.low, found.high)]
            axes.plot(ends, [row, row], color=color, linewidth=width, solid_capstyle="butt")
    axes.axvline(100.0, color=INK, linewidth=0.8, linestyle=(0, (4, 3)))
    axes.set_yticks(range(len(shown)))
    axes.set_yticklabels(names, parse_math=False)
    axes.set_ylim(len(shown) - 0.4, -0.6)
    axes.set_xlabel(say("predicted, % of what was measured; broad: before, dark: now"))
    return figure
