"""Wraps to add to a helix so that every patch that a hand can feel has the layers that it needs.

A patch that a film edge crosses has a part of that layer. Whole wraps lie over the same part of
every patch round the load, so that the fewest follow from the barest patch of each height.
"""

from __future__ import annotations

import math

import numpy as np

from woold.physics.compiled import compiled
from woold.physics.felt_kernel import LANES, PARTS, begin_rows, count_part, least_of_row
from woold.physics.wraps import largest_mean

__all__ = ["add_felt_wraps", "band_over_rows", "fewest_two_bands"]

_ROUNDING = 1e-7
_MOST_ADDED = 400.0


@compiled(inline="always")
def band_over_rows(low, high, bottom, patch):  # type: ignore[no-untyped-def]
    """Part of a patch over which film from one height to another lies."""
    return max(min(high, bottom + patch) - max(low, bottom), 0.0) / patch


@compiled()
def fewest_two_bands(lacking, by_bottom, by_top, film):  # type: ignore[no-untyped-def]
    """Whole wraps at the bottom and the top that fill what is lacking, with the least film.

    Args:
        lacking: layers lacking in each row of patches, shape (rows,) [-].
        by_bottom, by_top: part of its patches that a wrap at either end lies over, likewise [-].
        film: film of a wrap at the bottom and at the top, most of either, and most film in all [m],
            [m], [-], [-], [m].

    Returns:
        Wraps at the bottom and at the top; -1 at both where none will do.
    """
    rows = lacking.shape[0]
    least_low, least_high = 0.0, 0.0
    for row in range(rows):
        if lacking[row] <= _ROUNDING:
            continue
        if by_bottom[row] <= 0.0:
            if by_top[row] <= 0.0:
                return -1.0, -1.0
            least_high = max(least_high, math.ceil(lacking[row] / by_top[row] - _ROUNDING))
        elif by_top[row] <= 0.0:
            least_low = max(least_low, math.ceil(lacking[row] / by_bottom[row] - _ROUNDING))
    best, best_low, best_high = film[4], -1.0, -1.0
    high = least_high
    while high <= min(film[3], _MOST_ADDED) and high * film[1] + least_low * film[0] < best:
        low = least_low
        for row in range(rows):
            left = lacking[row] - high * by_top[row]
            if left > _ROUNDING and by_bottom[row] > 0.0:
                low = max(low, math.ceil(left / by_bottom[row] - _ROUNDING))
            elif left > _ROUNDING:
                low = np.inf
                break
        cost = low * film[0] + high * film[1]
        if low <= film[2] and cost < best:
            best, best_low, best_high = cost, low, high
        high += 1.0
    return best_low, best_high


@compiled()
def add_felt_wraps(need, grid, tables, helices, limits, film, added):  # type: ignore[no-untyped-def]
    """Add whole wraps at bottom and top until no patch lacks what is needed.

    Args:
        need: mean layers needed in each row of patches, shape (rows,) [-]; and what each helix
            needs over that, as a factor, shape (programs,) [-].
        grid: height of the load [m], cells up the side, patches round it.
        tables: legs of each helix, as `woold.physics.layer_kernel.leg_table` makes them, shape
            (programs, legs, 6).
        helices: what each helix lays at points, a `HelixLayers`.
        limits: where wraps can be laid, a `WrapLimits`.
        film: film of a wrap at the bottom and at the top, and most that may be added to each
            helix [m], [m], shape (programs,) [m].
        added: wraps that are there already, an `AddedWraps`; it is changed.
    """
    layers, factor = need
    height, high, around = grid
    by_low, by_high, room = film
    rows, patch = layers.shape[0], 5.0 * height / high
    by_bottom, by_top, lacking = np.empty(rows), np.empty(rows), np.empty(rows)
    for row in range(rows):
        bottom = row * height / high
        width, lowest, highest = limits.film_width, limits.lowest_edge, limits.highest_edge
        by_bottom[row] = band_over_rows(lowest, lowest + width, bottom, patch)
        by_top[row] = band_over_rows(highest, highest + width, bottom, patch)
    laid, least = np.empty((high + 2, LANES)), np.empty((high, LANES))
    legs, weights = np.empty((tables.shape[1], 5)), np.ones(tables.shape[1])
    for program in range(tables.shape[0]):
        if not added.possible[program] or room[program] < 0.0:
            added.possible[program] = False
            continue
        count = 0
        for leg in range(tables.shape[1]):
            if tables[program, leg, 1] > tables[program, leg, 0]:
                legs[count] = tables[program, leg, :5]
                count += 1
        low = added.bottom_added[program] + limits.bottom_wraps
        top = added.top_added[program] + limits.top_wraps
        begin_rows(rows, least)
        more_low, more_high = -1.0, -1.0
        for part in range(PARTS):
            # Where some of the patches lack too much, there is no need to look at the others.
            count_part(part, legs, count, weights, (height, high, around), (laid, least))
            for row in range(rows):
                lacking[row] = factor[program] * layers[row] * (1.0 - _ROUNDING)
                lacking[row] -= least_of_row(least, row) + low * by_bottom[row] + top * by_top[row]
            more_low, more_high = fewest_two_bands(
                lacking,
                by_bottom,
                by_top,
                (
                    by_low,
                    by_high,
                    limits.bottom_room - added.bottom_added[program],
                    limits.top_room - added.top_added[program],
                    room[program] + 1e-9,
                ),
            )
            if more_low < 0.0:
                break
        if more_low < 0.0:
            added.possible[program] = False
            continue
        added.bottom_added[program] += more_low
        added.top_added[program] += more_high
        added.most_mean[program] = largest_mean(
            helices.heights,
            helices.mean[program],
            limits,
            added.bottom_added[program],
            added.top_added[program],
            added.band_edges[program],
            added.band_wraps[program],
        )
