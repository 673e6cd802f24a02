"""What the phone should see: where the tags belong, not to scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["set_up_figure"]


def set_up_figure() -> Figure:
    """Carriage plate with pivot and arm, turntable with its load, in the frame of a picture."""
    from matplotlib.patches import Circle, Polygon, Rectangle

    figure = new_figure(7.2, 3.3)
    axes = figure.subplots()
    axes.add_patch(Circle((7.6, 2.0), 1.7, facecolor="white", edgecolor=INK))
    axes.add_patch(Rectangle((6.6, 1.1), 2.0, 1.8, facecolor=LIGHT, edgecolor=INK))
    axes.add_patch(Rectangle((2.2, 0.9), 2.4, 2.2, facecolor="white", edgecolor=INK))
    arm = np.array([[2.9, 2.25], [4.45, 1.45], [4.35, 1.2], [2.8, 2.0]])
    axes.add_patch(Polygon(arm, facecolor=LIGHT, edgecolor=INK))
    axes.add_patch(Circle((2.87, 2.12), 0.1, color=INK))
    axes.add_patch(Circle((4.42, 1.32), 0.16, facecolor="white", edgecolor=INK))
    for corner in ((2.35, 2.5), (3.5, 1.62), (6.35, 0.55)):
        _draw_tag(axes, corner)
    for place, words in (
        ((2.35, 3.35), say("1 frame's tag, on what stands still beside the pivot")),
        ((3.0, 0.45), say("2 arm's tag, flat on the arm")),
        ((5.4, 0.1), say("3 load's tag, on the turntable's rim")),
    ):
        axes.text(*place, words, fontsize=8)
    axes.add_patch(Rectangle((1.5, -0.3), 8.1, 4.5, facecolor="none", edgecolor=INK, linewidth=2.5))
    axes.set_xlim(1.4, 9.7)
    axes.set_ylim(-0.4, 4.3)
    axes.set_aspect("equal")
    axes.set_axis_off()
    return figure


def _draw_tag(axes: Axes, corner: tuple[float, float]) -> None:
    from matplotlib.patches import Rectangle

    x, y = corner
    axes.add_patch(Rectangle((x - 0.06, y - 0.06), 0.52, 0.52, facecolor="white", edgecolor=MIDDLE))
    axes.add_patch(Rectangle((x, y), 0.4, 0.4, facecolor=INK))
    axes.add_patch(Rectangle((x + 0.12, y + 0.14), 0.1, 0.16, facecolor="white"))
