"""Wraps to add to a helix so that every height has the layers that it needs.

Whole turns with the carriage standing still add whole layers over one film width, everywhere round
the perimeter, and leave the helix where it is. So for each helix the fewest wraps follow from the
bottom up: whatever is lacking at a height is laid at the bottom, at the top, or at a stop between.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.physics.compiled import compiled

__all__ = ["VARIANTS", "AddedWraps", "HelixLayers", "WrapLimits", "fewest_wraps"]

VARIANTS: Final = 3
"""Ways to lay what bottom wraps and something else can both lay: 0 bottom wraps first, 1 top wraps
first, 2 stops first."""


@compiled(inline="always")
def covers(edge, film_width, height):  # type: ignore[no-untyped-def]
    """Whether film with its lower edge there covers a height; its edges count as covered."""
    return edge <= height + 1e-9 and height <= edge + film_width + 1e-9


class HelixLayers(NamedTuple):
    """Layers that each of many helices lays by itself.

    Args:
        heights: heights over the deck, rising, shape (heights,) [m].
        least: least layers round the perimeter, shape (programs, heights) [-].
        mean: its mean layers, likewise.
        most_wraps: with more wraps than this the program is of no interest, shape (programs,) [-].
    """

    heights: NDArray[np.float64]
    least: NDArray[np.int16]
    mean: NDArray[np.float64]
    most_wraps: NDArray[np.float64]


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


@compiled(inline="always")
def laid_at_stops(height, film_width, used, edges, wraps):  # type: ignore[no-untyped-def]
    """Layers over a height of the wraps at stops on the way."""
    laid = 0.0
    for stop in range(used):
        if covers(edges[stop], film_width, height):
            laid += wraps[stop]
    return laid


@compiled()
def _add_wraps(need, helices, program, limits, variant, edges, wraps):  # type: ignore[no-untyped-def]
    """Wraps added at bottom and top of one helix, and whether the need can be met."""
    width, lowest, highest = limits.film_width, limits.lowest_edge, limits.highest_edge
    step, stops = limits.height_step, edges.shape[0]
    low, high = 0.0, 0.0
    heights, least = helices.heights, helices.least[program]
    used, left = 0, helices.most_wraps[program]
    for index in range(heights.shape[0]):
        if need[index] <= least[index]:
            continue
        height = heights[index]
        by_bottom = covers(lowest, width, height)
        by_top = covers(highest, width, height)
        laid = least[index] + laid_at_stops(height, width, used, edges, wraps)
        if by_bottom:
            laid += limits.bottom_wraps + low
        if by_top:
            laid += limits.top_wraps + high
        lacking = math.ceil(need[index] - laid - 1e-7)
        if lacking <= 0.0:
            continue
        left -= lacking
        if left < 0.0:
            return low, high, False
        # Where more is needed from between two heights on, a stop begins at the lower one.
        is_rising = index > 0 and need[index] > need[index - 1]
        begin = heights[index - 1] if is_rising else height
        for stop in range(used):
            # Film of a stop that ends between two heights leaves no gap below the next stop.
            end = edges[stop] + width
            if end < height and (index == 0 or end > heights[index - 1]):
                begin = min(begin, end)
        edge = lowest + math.floor((begin - lowest) / step + 1e-6) * step
        may_stop = used < stops and lowest + 1e-9 < edge < highest - 1e-9
        if by_top and (variant == 1 or not by_bottom):
            high += lacking
        elif by_bottom and not (variant == 2 and may_stop):
            low += lacking
        elif may_stop:
            edges[used] = edge
            wraps[used] = lacking
            used += 1
        else:
            return low, high, False
    return low, high, low <= limits.bottom_room and high <= limits.top_room


@compiled()
def largest_mean(heights, mean, limits, low, high, edges, wraps):  # type: ignore[no-untyped-def]
    """Largest mean layers over the load, with wraps added at bottom and top and stops."""
    width, largest = limits.film_width, 0.0
    for index in range(heights.shape[0]):
        height = heights[index]
        if height < 0.0:
            continue
        # Where there is no stop there are no wraps either.
        laid = mean[index] + laid_at_stops(height, width, edges.shape[0], edges, wraps)
        if covers(limits.lowest_edge, width, height):
            laid += limits.bottom_wraps + low
        if covers(limits.highest_edge, width, height):
            laid += limits.top_wraps + high
        largest = max(largest, laid)
    return largest


@compiled()
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
        low, high, possible = _add_wraps(need, helices, program, limits, variant, edges, wraps)
        added.bottom_added[program] = low
        added.top_added[program] = high
        added.possible[program] = possible
        # Only now is it known what lies over the lower heights as well.
        added.most_mean[program] = (
            largest_mean(heights, helices.mean[program], limits, low, high, edges, wraps)
            if possible
            else 0.0
        )
