"""A tag's corners to a small part of a pixel: its four border lines, found along many cuts."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.filmed.plane import plane_maps
from woold.filmed.tags import CELLS, side_length, tag_cells

__all__ = ["TagEdges", "reads_as", "refined"]

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]

_CUTS = 24  # along each side
_ENDS = 0.12  # of a side, left out near its corners
_STEPS = 17  # along a cut
_REACHES = (0.65, *(0.5,) * 5)  # of a cell each way, in the first round and the next ones
_SETTLED = 0.2  # px: a cut that is centred on its edge puts it where it is
_LEAST_CONTRAST = 12.0
_MOST_WRONG = 2  # cells of a tag that may read wrongly where it was seen a frame ago


class TagEdges(NamedTuple):
    """A tag's border as it was measured.

    Args:
        corners: shape (4, 2) [px].
        error: standard error of a corner each way [px].
        spread: variance of how far each side's edge is spread, seen across it [px^2], shape (4,).
        normals: unit vectors across the sides, outwards, shape (4, 2).
    """

    corners: Floats
    error: float
    spread: Floats
    normals: Floats


def refined(grey: Grey, corners: Floats) -> TagEdges | None:
    """The border's lines by least squares, and the corners where they meet.

    Each cut across a side goes from black to white; the edge stands where the brightness that is
    lacking from white, summed, puts it, which blur of either kind does not move.

    Args:
        grey: the picture.
        corners: about where they are, clockwise [px], shape (4, 2).

    Returns:
        The border; None where a side has no clear edge.
    """
    for reach in _REACHES:
        found = _measured(grey, corners, reach)
        if found is None:
            return None
        moved = float(np.abs(found.corners - corners).max())
        if moved > 0.25 * side_length(corners):
            return None
        corners = found.corners
        if reach == _REACHES[-1] and moved < _SETTLED:
            return found
    return None


def reads_as(grey: Grey, corners: Floats, role: int) -> bool:
    """Whether the cells inside a border are those of a tag.

    Args:
        grey: the picture.
        corners: of the border, clockwise from the tag's own top left one [px], shape (4, 2).
        role: number of the tag.
    """
    places = (np.arange(CELLS) + 0.5) / CELLS - 0.5
    inside = np.stack([*np.meshgrid(places, places), np.ones((CELLS, CELLS))], axis=-1)
    seen = inside @ np.linalg.inv(plane_maps(corners[None])[0]).T
    points = seen[..., :2] / seen[..., 2:]
    height, width = grey.shape
    if points.min() < 0 or points[..., 0].max() > width - 2 or points[..., 1].max() > height - 2:
        return False
    cells, shades = tag_cells(role), _brightness(grey, points)
    middle = (shades[cells].mean() + shades[~cells].mean()) / 2
    return int(((shades < middle) != cells).sum()) <= _MOST_WRONG


def _measured(grey: Grey, corners: Floats, reach: float) -> TagEdges | None:
    height, width = grey.shape
    half = max(reach * side_length(corners) / CELLS, 1.5)
    sides = np.roll(corners, -1, axis=0) - corners
    lengths = np.linalg.norm(sides, axis=1)
    if lengths.min() < CELLS:
        return None
    along = sides / lengths[:, None]
    # Corners run clockwise as seen, with y down: this points outwards.
    normals = np.column_stack([along[:, 1], -along[:, 0]])
    places = np.linspace(_ENDS, 1 - _ENDS, _CUTS)
    offsets = np.linspace(-half, half, _STEPS)
    feet = corners[:, None] + places[None, :, None] * sides[:, None]
    points = feet[:, :, None] + offsets[None, None, :, None] * normals[:, None, None]
    if points.min() < 0 or points[..., 0].max() > width - 2 or points[..., 1].max() > height - 2:
        return None
    profiles = _brightness(grey, points)
    black = profiles[:, :, :2].mean(axis=(1, 2))
    white = profiles[:, :, -2:].mean(axis=(1, 2))
    contrast = white - black
    if contrast.min() < _LEAST_CONTRAST:
        return None
    lacking = np.clip((white[:, None, None] - profiles) / contrast[:, None, None], -0.5, 1.5)
    step = offsets[1] - offsets[0]
    # From the middle of the first step to that of the last: a whole black one reaches half out.
    shifts = -half + step * (lacking.sum(axis=2) - 0.5)
    starts, slopes, errors = _lines(places * lengths[:, None], shifts)
    bases = corners + starts[:, None] * normals
    directions = along + slopes[:, None] * normals
    met = _meetings(bases, directions)
    if met is None:
        return None
    error = float(np.sqrt(errors.mean()))
    return TagEdges(met, error, _spread(lacking, offsets), normals)


def _brightness(grey: Grey, points: Floats) -> Floats:
    """Brightness between pixels, linear each way."""
    x, y = points[..., 0], points[..., 1]
    left, top = np.floor(x).astype(np.intp), np.floor(y).astype(np.intp)
    u, v = x - left, y - top
    corner = grey[top, left], grey[top, left + 1], grey[top + 1, left], grey[top + 1, left + 1]
    upper = corner[0] * (1 - u) + corner[1] * u
    lower = corner[2] * (1 - u) + corner[3] * u
    return np.asarray(upper * (1 - v) + lower * v)


def _lines(places: Floats, shifts: Floats) -> tuple[Floats, Floats, Floats]:
    """Starts, slopes and squared errors at their ends of lines through shifts, outliers left out.

    Args:
        places, shifts: of each side, shape (4, n).
    """
    away = np.abs(shifts - np.median(shifts, axis=1, keepdims=True))
    kept = (away <= 4 * np.median(away, axis=1, keepdims=True) + 0.1).astype(np.float64)
    count = kept.sum(axis=1)
    x0, y0 = (kept * places).sum(axis=1) / count, (kept * shifts).sum(axis=1) / count
    x, y = places - x0[:, None], shifts - y0[:, None]
    square = (kept * x**2).sum(axis=1)
    slope = (kept * x * y).sum(axis=1) / square
    rest = kept * (y - slope[:, None] * x)
    variance = (rest**2).sum(axis=1) / np.maximum(count - 2, 1)
    return y0 - slope * x0, slope, variance * (1 / count + x0**2 / square)


def _meetings(bases: Floats, directions: Floats) -> Floats | None:
    """Where each line meets the one before it: the corner at which its side begins."""
    before, towards = np.roll(bases, 1, axis=0), np.roll(directions, 1, axis=0)
    cross = towards[:, 0] * directions[:, 1] - towards[:, 1] * directions[:, 0]
    if np.abs(cross).min() < 0.2:
        return None
    gap = bases - before
    far = (gap[:, 0] * directions[:, 1] - gap[:, 1] * directions[:, 0]) / cross
    return np.asarray(before + far[:, None] * towards)


def _spread(lacking: Floats, offsets: Floats) -> Floats:
    """Variance of the steepness along each side's mean cut, its middle taken off."""
    cuts = lacking.mean(axis=1)
    steep = np.clip(cuts[:, :-1] - cuts[:, 1:], 0.0, None)
    at = (offsets[1:] + offsets[:-1]) / 2
    weight = np.maximum(steep.sum(axis=1), 1e-9)
    middle = steep @ at / weight
    return np.asarray(np.maximum(steep @ at**2 / weight - middle**2, 0.0))
