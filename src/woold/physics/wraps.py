"""Wraps to add to a helix so that every height has the layers that it needs.

Whole turns with the carriage standing still add whole layers over one film width, everywhere round
the perimeter, and leave the helix where it is. So for each helix the fewest wraps follow from the
bottom up: whatever is lacking at a height is laid at the bottom, at the top, or at a stop between.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["VARIANTS", "AddedWraps", "HelixLayers", "WrapLimits", "fewest_wraps"]

VARIANTS: Final = 3
"""Ways to lay what bottom wraps and something else can both lay: 0 bottom wraps first, 1 top wraps
first, 2 stops first."""


@njit(cache=True, inline="always")
def _covers(edge, film_width, height):  # type: ignore[no-untyped-def]
    """Whether film with its lower edge there covers a height; its edges count as covered."""
    return edge <= height + 1e-9 and height <= edge + film_width + 1e-9


class HelixLayers(NamedTuple):
    """Layers that each of many helices lays by itself.

    Args:
        heights: heights over the deck, rising, shape (heights,) [m].
        least: least layers round the perimeter, shape (programs, heights) [-].
        mean: its mean layers, likewise.
    """

    heights: NDArray[np.float64]
    least: NDArray[np.int16]
    mean: NDArray[np.float64]


class WrapLimits(NamedTuple):
    """Where whole wraps can be laid, and how many.

    Args:
        film_width: film width on the load [m].
        lowest_edge, highest_edge: lower edge of bottom and of top wraps [m].
        bottom_wraps, top_wraps: wraps that are made there in any case [-].
        bottom_room, top_room: most wraps to add there [-].
        height_step: step of the heights of stops [m].
    """

    film_width: float
    lowest_edge: float
    highest_edge: float
    bottom_wraps: float
    top_wraps: float
    bottom_room: float
    top_room: float
    height_step: float


class AddedWraps(NamedTuple):
    """Wraps that :func:`fewest_wraps` adds to each helix; it fills these arrays.

    Args:
        bottom_added, top_added: wraps added, shape (programs,) [-].
        band_edges, band_wraps: stops and the wraps made there, 0 where there is none,
            shape (programs, most stops) [m, -].
        most_mean: largest mean layers on the load, for its hoop tension, shape (programs,) [-].
        possible: whether the need can be met, shape (programs,).
    """

    bottom_added: NDArray[np.float64]
    top_added: NDArray[np.float64]
    band_edges: NDArray[np.float64]
    band_wraps: NDArray[np.float64]
    most_mean: NDArray[np.float64]
    possible: NDArray[np.bool_]

    @classmethod
    def of_size(cls, programs: int, most_stops: int) -> AddedWraps:
        """Arrays for so many programs and stops."""
        one, many = (programs,), (programs, most_stops)
        return cls(
            bottom_added=np.zeros(one),
            top_added=np.zeros(one),
            band_edges=np.zeros(many),
            band_wraps=np.zeros(many),
            most_mean=np.zeros(one),
            possible=np.zeros(one, dtype=np.bool_),
        )


@njit(cache=True, inline="always")
def _whole_wraps_at(height, low, high, stops, limits, band_edges, band_wraps):  # type: ignore[no-untyped-def]
    """Layers of whole wraps over a height, of those made in any case and those added so far."""
    laid = 0.0
    if _covers(limits.lowest_edge, limits.film_width, height):
        laid += limits.bottom_wraps + low
    if _covers(limits.highest_edge, limits.film_width, height):
        laid += limits.top_wraps + high
    for stop in range(stops):
        if _covers(band_edges[stop], limits.film_width, height):
            laid += band_wraps[stop]
    return laid


@njit(cache=True)
def _add_wraps(need, heights, least, limits, variant, band_edges, band_wraps):  # type: ignore[no-untyped-def]
    """Wraps added at bottom and top of one helix, stops used, and whether the need can be met."""
    low = 0.0
    high = 0.0
    used = 0
    for index in range(heights.shape[0]):
        height = heights[index]
        laid = least[index] + _whole_wraps_at(
            height, low, high, used, limits, band_edges, band_wraps
        )
        lacking = math.ceil(need[index] - laid - 1e-7)
        if lacking <= 0.0:
            continue
        by_bottom = _covers(limits.lowest_edge, limits.film_width, height)
        by_top = _covers(limits.highest_edge, limits.film_width, height)
        steps = math.floor((height - limits.lowest_edge) / limits.height_step + 1e-6)
        edge = limits.lowest_edge + steps * limits.height_step
        is_between = limits.lowest_edge + 1e-9 < edge < limits.highest_edge - 1e-9
        may_stop = used < band_edges.shape[0] and is_between
        if by_top and (variant == 1 or not by_bottom):
            high += lacking
        elif by_bottom and not (variant == 2 and may_stop):
            low += lacking
        elif may_stop:
            band_edges[used] = edge
            band_wraps[used] = lacking
            used += 1
        else:
            return low, high, used, False
    return low, high, used, low <= limits.bottom_room and high <= limits.top_room


@njit(cache=True)
def fewest_wraps(need, helices, limits, variant, added):  # type: ignore[no-untyped-def]
    """Fewest whole wraps for each of many helices under one need.

    Args:
        need: layers needed at each height, shape (heights,) [-].
        helices: what each helix lays by itself, a `HelixLayers`.
        limits: where wraps can be laid, a `WrapLimits`.
        variant: what lays a layer that several could lay, see `VARIANTS`.
        added: result, an `AddedWraps`.

    Source: derived here; tests hold it against trying every number of wraps.
    """
    heights = helices.heights
    for program in range(helices.least.shape[0]):
        edges, wraps = added.band_edges[program], added.band_wraps[program]
        edges[:] = 0.0
        wraps[:] = 0.0
        low, high, used, possible = _add_wraps(
            need, heights, helices.least[program], limits, variant, edges, wraps
        )
        added.bottom_added[program] = low
        added.top_added[program] = high
        added.possible[program] = possible
        # Only now is it known what lies over the lower heights as well.
        largest = 0.0
        if possible:
            for index in range(heights.shape[0]):
                if heights[index] >= 0.0:
                    laid = helices.mean[program, index] + _whole_wraps_at(
                        heights[index], low, high, used, limits, edges, wraps
                    )
                    largest = max(largest, laid)
        added.most_mean[program] = largest
