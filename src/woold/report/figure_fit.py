"""A figure as it stands on paper: letters large enough to read, and nothing that runs off it."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from woold.rows.tied import tied

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

__all__ = ["fit_to_paper"]

_LEAST_TYPE = 7.1
"""Smallest letters of a printed figure [pt]."""


def fit_to_paper(figure: Figure, printed: float) -> None:
    """Make a figure smaller, letters aside, until these are large enough in print.

    Titles and labels that then have no room in a line take two.

    Args:
        figure: drawn.
        printed: width at which it is printed [in].
    """
    from matplotlib.text import Text

    figure.draw_without_rendering()
    shown = (each for each in figure.findobj(Text) if each.get_visible() and each.get_text())
    least = min((float(each.get_fontsize()) for each in shown), default=_LEAST_TYPE)
    wide, high = figure.get_size_inches()
    share = printed * least / (_LEAST_TYPE * wide)
    if share >= 1.0:
        return
    # Not so much lower as it is narrower: what stands below one another needs its room.
    figure.set_size_inches(wide * share, high * math.sqrt(share))
    said: dict[Text, str] = {}  # before it was broken
    for _ in range(3):  # what takes a second line moves the rest
        figure.draw_without_rendering()
        changed = [
            _wrapped(text, said.setdefault(text, text.get_text()), room)
            for text, room in _labels(figure)
        ]
        if not any(changed):
            return


def _labels(figure: Figure) -> Iterator[tuple[Text, float]]:
    """Titles and labels, and the length that each has room for [dots]."""
    wide, high = figure.bbox.width, figure.bbox.height
    for title in figure.texts:
        yield title, wide
    for axes in figure.axes:
        across, down = _shares(axes)
        for each in (axes, *axes.child_axes):
            yield each.title, across * wide
            yield each.xaxis.label, across * wide
            yield each.yaxis.label, down * high


def _shares(axes: Axes) -> tuple[float, float]:
    """Shares of the figure's width and height that axes have for themselves."""
    place = axes.get_subplotspec()
    if place is None:
        return 1.0, 1.0
    grid = place.get_gridspec()
    across = _share(grid.get_width_ratios(), grid.ncols, place.colspan)
    down = _share(grid.get_height_ratios(), grid.nrows, place.rowspan)
    return 0.97 * across, 0.9 * down


def _share(ratios: Any, count: int, own: range) -> float:
    """Share of all columns, or rows, that one has which may span several."""
    parts = np.ones(count) if ratios is None else np.asarray(ratios, dtype=float)
    return float(parts[own.start : own.stop].sum() / parts.sum())


def _wrapped(text: Text, said: str, room: float) -> bool:
    """Break what a text says into lines that there is room for, up to the figure's edge."""
    words, box = text.get_text(), text.get_window_extent()
    if not words or text.figure is None:
        return False
    is_upright = text.get_rotation() % 180.0 == 90.0
    taken = box.height if is_upright else box.width
    middle = (box.y0 + box.y1) / 2.0 if is_upright else (box.x0 + box.x1) / 2.0
    whole = text.figure.bbox.height if is_upright else text.figure.bbox.width
    room = min(room, 2.0 * min(middle, whole - middle))
    if taken <= room:
        return False
    longest = max(map(len, words.splitlines()))
    letters = max(12, int(longest * room / taken))
    lines = (textwrap.fill(tied(line), letters) for line in said.splitlines())
    # A figure's letters need no joiner: their lines are set.
    new = "\n".join(lines).replace("\N{NO-BREAK SPACE}", " ").replace("\N{WORD JOINER}", "")
    text.set_text(new)
    return new != words
