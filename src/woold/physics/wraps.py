"""Wraps to add to a helix so that every height has the layers that it needs.

Whole turns with the carriage standing still add whole layers over one film width, everywhere round
the perimeter, and leave the helix where it is. So for each helix the fewest wraps follow from the
bottom up: whatever is lacking at a height is laid at the bottom, at the top, or at a stop between.
"""

from __future__ import annotations

import math
from typing import Final

from numba import njit

__all__ = ["VARIANTS", "fewest_wraps"]

VARIANTS: Final = 3
"""Ways to lay what bottom wraps and something else can both lay: 0 bottom wraps first, 1 top wraps
first, 2 stops first."""


@njit(cache=True, inline="always")
def _covers(edge, film_width, height):  # type: ignore[no-untyped-def]
    """Whether film with its lower edge there covers a height; its edges count as covered."""
    return edge <= height + 1e-9 and height <= edge + film_width + 1e-9


@njit(cache=True)
def fewest_wraps(  # type: ignore[no-untyped-def]
    need,
    helix,
    mean,
    heights,
    film_width,
    lowest_edge,
    highest_edge,
    bottom_wraps,
    top_wraps,
    bottom_room,
    top_room,
    height_step,
    variant,
    bottom_added,
    top_added,
    band_edges,
    band_wraps,
    most_mean,
    possible,
):
    """Fewest whole wraps for each of many helices under one need.

    Args:
        need: layers needed at each height, shape (heights,) [-].
        helix: least layers of each helix, shape (programs, heights) [-].
        mean: its mean layers, likewise.
        heights: heights over the deck, rising, shape (heights,) [m].
        film_width: film width on the load [m].
        lowest_edge, highest_edge: lower edge of bottom and of top wraps [m].
        bottom_wraps, top_wraps: wraps that are made there in any case [-].
        bottom_room, top_room: most wraps to add there [-].
        height_step: step of the heights of stops [m].
        variant: what lays a layer that several could lay, see `VARIANTS`.
        bottom_added, top_added: results, shape (programs,) [-].
        band_edges, band_wraps: results: stops and the wraps made there, 0 where there is none,
            shape (programs, most stops) [m, -].
        most_mean: result: largest mean layers on the load, for its hoop tension, (programs,) [-].
        possible: result: whether the need can be met, (programs,).

    Source: derived here; tests hold it against trying every number of wraps.
    """
    stops = band_edges.shape[1]
    for program in range(helix.shape[0]):
        low = 0.0
        high = 0.0
        used = 0
        good = True
        for stop in range(stops):
            band_wraps[program, stop] = 0.0
            band_edges[program, stop] = 0.0
        for index in range(heights.shape[0]):
            height = heights[index]
            by_bottom = _covers(lowest_edge, film_width, height)
            by_top = _covers(highest_edge, film_width, height)
            laid = helix[program, index]
            if by_bottom:
                laid += bottom_wraps + low
            if by_top:
                laid += top_wraps + high
            for stop in range(used):
                if _covers(band_edges[program, stop], film_width, height):
                    laid += band_wraps[program, stop]
            lacking = math.ceil(need[index] - laid - 1e-7)
            if lacking <= 0.0:
                continue
            steps = math.floor((height - lowest_edge) / height_step + 1e-6)
            edge = lowest_edge + steps * height_step
            may_stop = used < stops and lowest_edge + 1e-9 < edge < highest_edge - 1e-9
            if by_top and (variant == 1 or not by_bottom):
                high += lacking
            elif by_bottom and not (variant == 2 and may_stop):
                low += lacking
            elif may_stop:
                band_edges[program, used] = edge
                band_wraps[program, used] = lacking
                used += 1
            else:
                good = False
                break
        bottom_added[program] = low
        top_added[program] = high
        possible[program] = good and low <= bottom_room and high <= top_room
        # Only now is it known what lies over the lower heights as well.
        largest = 0.0
        if possible[program]:
            for index in range(heights.shape[0]):
                height = heights[index]
                if height < 0.0:
                    continue
                laid = mean[program, index]
                if _covers(lowest_edge, film_width, height):
                    laid += bottom_wraps + low
                if _covers(highest_edge, film_width, height):
                    laid += top_wraps + high
                for stop in range(used):
                    if _covers(band_edges[program, stop], film_width, height):
                        laid += band_wraps[program, stop]
                largest = max(largest, laid)
        most_mean[program] = largest
