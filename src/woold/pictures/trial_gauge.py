"""A gauge study: who read what, and where the spread comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.trial.gauge import GaugeStudy
from woold.trial.gauge_rows import COMPONENT_NAMES
from woold.trial.gauge_study import GaugeTable
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["gauge_figure"]

_MARKS = ("o", "s", "^", "D", "v", "P", "X", "*")


def gauge_figure(name: str, table: GaugeTable, study: GaugeStudy) -> Figure:
    """Readings by part and person, and the components' share of the study variation."""
    figure = new_figure(9.6, 4.8)
    left, right = figure.subplots(1, 2, width_ratios=[1.7, 1.0])
    count = len(table.people)
    places = np.arange(len(table.parts))
    for index, person in enumerate(table.people):
        shift = 0.55 * (index - (count - 1) / 2) / max(count, 1)
        x = np.repeat(places + shift, table.readings.shape[2])
        left.plot(
            x,
            table.readings[:, index, :].ravel(),
            linestyle="none",
            marker=_MARKS[index % len(_MARKS)],
            markersize=4,
            color=(INK, MIDDLE, "#8a8f94")[index % 3],
            fillstyle="none" if index % 2 else "full",
            label=person,
        )
    left.plot(places, table.readings.mean(axis=(1, 2)), color=LIGHT, linewidth=2, zorder=0)
    left.set_xticks(places, table.parts, rotation=60 if len(places) > 6 else 0, ha="right")
    left.set_ylabel(say("reading, {gauge}", gauge=name))
    left.legend(frameon=False, fontsize=8, ncols=4, title=say("read by"), loc="best")
    shown = [each for each in study.components if each.name != "total"]
    bars = right.barh(
        [say(COMPONENT_NAMES[each.name]) for each in shown],
        [100 * each.study_share for each in shown],
        color=[MIDDLE if each.name in ("gauge", "part") else LIGHT for each in shown],
        edgecolor=INK,
        linewidth=0.6,
    )
    right.bar_label(bars, fmt="%.0f %%", padding=3)
    right.invert_yaxis()
    right.set_xlim(0, 118)
    right.set_xlabel(say("share of study variation [%]"))
    title = (
        say("1 distinct category; the shares do not add up")
        if study.categories == 1
        else say("{count} distinct categories; the shares do not add up", count=study.categories)
    )
    right.set_title(title, fontsize=9)
    return figure
