"""What a camera that reads its rows one after the other, and holds its shutter open, does to a tag.

Each row of a picture is a little later than the one before it. A tag that moves is seen sheared, in
step with its speed: how much tells the time from row to row, which takes the shear out again. While
the shutter is open, edges across the motion spread, in step with its speed: how much tells the
exposure.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.filmed.plane import SQUARE, aligned, applied, laid_flat
from woold.filmed.tag_tracks import TagTrack

__all__ = ["Timed", "corner_speeds", "deviations", "exposure", "in_one_instant", "row_delay"]

Floats = NDArray[np.float64]

_FEWEST = 30
_SURE = 3.0  # standard errors from none


class Timed(NamedTuple):
    """A time that was estimated, and its standard error [s]."""

    value: float
    error: float


def corner_speeds(time: Floats, corners: Floats) -> Floats:
    """Speeds of a tag's corners, from the frames beside each; zero where there are none.

    Args:
        time: of the frames [s], shape (n,).
        corners: NaN where not seen [px], shape (n, 4, 2).

    Returns:
        [px/s], shape (n, 4, 2).
    """
    speeds = np.zeros(corners.shape)
    if len(time) > 2:
        steps = (time[2:] - time[:-2])[:, None, None]
        speeds[1:-1] = np.nan_to_num((corners[2:] - corners[:-2]) / steps)
    return speeds


def in_one_instant(corners: Floats, speeds: Floats, delay: float, axis: int) -> Floats:
    """Corners as they would be had all rows of the tag been read at once.

    Args:
        corners: [px], shape (n, 4, 2).
        speeds: of them [px/s], shape (n, 4, 2).
        delay: from row to row, along the axis [s/px].
        axis: along which the rows follow each other: 0 x, 1 y.
    """
    rows = corners[..., axis] - corners[..., axis].mean(axis=1, keepdims=True)
    return np.asarray(corners - delay * rows[..., None] * speeds)


def deviations(maps: Floats, corners: Floats) -> Floats:
    """How far a tag's corners are from those of a square laid on them, in its own axes.

    Args:
        maps: of the picture onto the plane, shape (n, 3, 3).
        corners: [px], shape (n, 4, 2).

    Returns:
        In sides of the tag, shape (n, 4, 2).
    """
    flat = laid_flat(maps, corners)
    return np.asarray(applied(aligned(flat, SQUARE), flat) - SQUARE)


def row_delay(maps: Floats, corners: Floats, speeds: Floats, axis: int) -> Timed:
    """Delay from row to row by least squares, from how the tag's shape follows its speed.

    Args:
        maps, corners, speeds: of frames in which the tag was seen and moved freely.
        axis: along which the rows follow each other.

    Returns:
        [s/px]; none, with its error, where the shape says nothing.
    """
    trial = 1e-5
    still = deviations(maps, corners)
    moved = deviations(maps, in_one_instant(corners, speeds, trial, axis))
    change = (moved - still) / trial
    change = (change - change.mean(axis=0)).ravel()
    shape = (still - still.mean(axis=0)).ravel()
    square = float(change @ change)
    if len(corners) < _FEWEST or square < 1e-12:
        return Timed(0.0, float("inf"))
    delay = -float(shape @ change) / square
    rest = shape + delay * change
    # Four of a tag's eight numbers are its place, turn and size.
    freedom = max(len(rest) / 2 - 1, 1)
    return Timed(delay, float(np.sqrt(float(rest @ rest) / freedom / square)))


def exposure(track: TagTrack, speeds: Floats) -> Timed | None:
    """Time for which the shutter was open, from how edges spread with their speed across.

    var = w^2 + (v t)^2 / 12, with w the spread of a still edge, v its speed across, t the exposure.

    Args:
        track: of a tag that moves.
        speeds: of its corners [px/s], shape (n, 4, 2).

    Returns:
        The exposure; None where the edges say nothing of it.
    """
    sides = (speeds + np.roll(speeds, -1, axis=1)) / 2
    across = (sides * track.normals).sum(axis=2)
    good = np.isfinite(track.spread) & np.isfinite(across)
    if good.sum() < 4 * _FEWEST:
        return None
    squares, spreads = across[good] ** 2, track.spread[good]
    middle = squares - squares.mean()
    weight = float(middle @ middle)
    if weight < 1e-9:
        return None
    slope = float(middle @ spreads) / weight
    rest = spreads - spreads.mean() - slope * middle
    error = float(np.sqrt(float(rest @ rest) / max(len(rest) - 2, 1) / weight))
    top = np.sqrt(12 * max(slope, 0.0))
    # Of a square the root: its error grows without bound towards none.
    reach = np.sqrt(12 * (max(slope, 0.0) + 2 * error)) - top
    return (
        Timed(float(top), float(reach / 2))
        if slope > _SURE * error
        else Timed(0.0, float(np.sqrt(12 * (max(slope, 0.0) + 2 * error)) / 2))
    )
