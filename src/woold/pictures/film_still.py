"""One frame of a film with what was followed in it; all else of the picture is cut off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from woold.filmed.reading import FilmReading
from woold.filmed.tags import ARM, FRAME, LOAD, ROLES
from woold.pictures.canvas import LIGHT, new_figure
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["still_figure"]

Floats = NDArray[np.float64]

_LARGEST = 900  # px across
_AROUND = 0.5  # of what is followed, left of the picture round it
_PAPER = "#ffd23f"


def still_figure(reading: FilmReading) -> Figure:
    """A frame with the tags, or the two points, marked; cut to what is round them.

    Args:
        reading: a film that was read.
    """
    shapes = _shapes(reading)
    places = np.concatenate(list(shapes.values()))
    left, top, right, bottom = _cut(places, reading.still.shape)
    part = reading.still[top:bottom, left:right]
    step = max(int(np.ceil(max(part.shape) / _LARGEST)), 1)
    figure = new_figure(7.2, 7.2 * part.shape[0] / part.shape[1])
    axes = figure.subplots()
    # Places are counted from the middle of the first pixel.
    extent = (left - 0.5, right - 0.5, bottom - 0.5, top - 0.5)
    axes.imshow(part[::step, ::step], cmap="gray", vmin=0, vmax=255, extent=extent)
    for name, corners in shapes.items():
        _mark(axes, name, corners)
    axes.set_axis_off()
    return figure


def _shapes(reading: FilmReading) -> dict[str, Floats]:
    if reading.picked is not None:
        pivot, arm = np.array(reading.picked.pivot), np.array(reading.picked.arm)
        return {say("pivot"): pivot[None], say("arm"): np.array([arm, pivot])}
    assert reading.tracks is not None
    at = reading.still_number
    return {
        say(ROLES[role]): reading.tracks.tags[role].corners[at]
        for role in (FRAME, ARM, LOAD)
        if reading.tracks.tags[role].seen[at]
    }


def _cut(places: Floats, shape: tuple[int, ...]) -> tuple[int, int, int, int]:
    low, high = places.min(axis=0), places.max(axis=0)
    wide = _AROUND * max(float((high - low).max()), 60.0)
    left, top = np.maximum(low - wide, 0).astype(int)
    right, bottom = np.minimum(high + wide, (shape[1], shape[0])).astype(int)
    return int(left), int(top), int(right), int(bottom)


def _mark(axes: Axes, name: str, corners: Floats) -> None:
    outline = np.concatenate([corners, corners[:1]])
    axes.plot(*outline.T, color=_PAPER, linewidth=1.6, marker="o", markersize=3)
    if len(corners) == 4:
        # The tag's own upward direction: what its angle is counted from.
        middle, up = corners.mean(axis=0), (corners[0] + corners[1]) / 2
        axes.plot(*np.array([middle, up]).T, color=_PAPER, linewidth=1.2)
    axes.annotate(
        name,
        (float(corners[:, 0].max()), float(corners[:, 1].min())),
        xytext=(4, 4),
        textcoords="offset points",
        color="black",
        fontsize=9,
        bbox={"facecolor": LIGHT, "edgecolor": "none", "pad": 1.5},
    )
