"""Cover and felt hold of very many cycles at once: the counts of `woold.physics.felt_patch` and
`woold.physics.layer_count`, compiled.

Only what is least is kept, of a load and of the zones that are asked about; a test holds it against
the whole maps of single loads.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from woold.physics.compiled import compiled
from woold.physics.layer_kernel import cover_at

__all__ = [
    "HELD",
    "LANES",
    "PARTS",
    "begin_rows",
    "count_part",
    "felt_rows",
    "hold_cycles",
    "lacks_felt",
    "least_of_row",
    "mean_layers_near",
]

HELD: Final = (
    "layers_min",
    "layers_mean",
    "layers_most",
    "felt_later",
    "felt_height",
    "at_now",
    "at_later",
    "at_low",
    "at_high",
)
"""Columns of what is held; `at_` is the least film force at the height of the least patch [N]."""

_CELLS_HIGH = 5
LANES = 8
PARTS = 8
_ALIKE = 1e-10
_NONE_LACKS = 1e-7
"""Share of a need that may be rounding [-]."""

_FINEST_STEP = 0.01
_BESIDE_EDGE = 1e-6


@compiled(inline="always")
def begin_rows(rows, least):  # type: ignore[no-untyped-def]
    """Nothing is counted yet."""
    for row in range(rows):
        for lane in range(LANES):
            least[row, lane] = np.inf


@compiled(inline="always")
def count_part(part, legs, count, weights, size, room):  # type: ignore[no-untyped-def]
    """Take in some of the patches round the load: one in `PARTS`, spread over its whole girth."""
    laid, least = room
    height, high, around = size
    rows = high - _CELLS_HIGH + 1
    scale = high / height
    # Half of the patches begin where a cell does, half in the middle of one.
    shift, blocks = 0.5 * (part % 2), PARTS // 2
    for place in range(part // 2 * LANES, around, blocks * LANES):
        lanes = min(LANES, around - place)
        for row in range(high + 2):
            for lane in range(LANES):
                laid[row, lane] = 0.0
        for leg in range(count):
            first = legs[leg, 0] * around + shift
            last = legs[leg, 1] * around + shift
            travel = (legs[leg, 3] - legs[leg, 2]) / (legs[leg, 1] - legs[leg, 0]) / around
            base, width = legs[leg, 2] - travel * first, legs[leg, 4]
            begin, end = math.floor(first), math.ceil(last)
            for lane in range(lanes):
                column = begin + (place + lane - begin) % around
                while column < end:
                    start, stop = max(column, first), min(column + 1.0, last)
                    change = (stop - start) * weights[leg]
                    low = base + 0.5 * travel * (start + stop)
                    at = min(max(low * scale, 0.0), float(high))
                    row = int(at)
                    later = change * (at - row)
                    laid[row, lane] += change - later
                    laid[row + 1, lane] += later
                    at = min(max((low + width) * scale, 0.0), float(high))
                    row = int(at)
                    later = change * (at - row)
                    laid[row, lane] -= change - later
                    laid[row + 1, lane] -= later
                    column += around
        for lane in range(lanes, LANES):
            laid[0, lane] = np.inf
        for row in range(1, high):
            for lane in range(LANES):
                laid[row, lane] += laid[row - 1, lane]
        for row in range(rows):
            for lane in range(LANES):
                held = (
                    laid[row, lane]
                    + laid[row + 1, lane]
                    + laid[row + 2, lane]
                    + laid[row + 3, lane]
                    + laid[row + 4, lane]
                )
                least[row, lane] = min(least[row, lane], held)


@compiled(inline="always")
def least_of_row(least, row):  # type: ignore[no-untyped-def]
    """Least mean weight over the patches of a row that were counted."""
    smallest = least[row, 0]
    for lane in range(1, LANES):
        smallest = min(smallest, least[row, lane])
    return smallest / _CELLS_HIGH


@compiled(inline="always")
def felt_rows(legs, count, weights, size, room):  # type: ignore[no-untyped-def]
    """Least mean weight over the patches of each row; see `woold.physics.felt_patch`."""
    rows, least = size[1] - _CELLS_HIGH + 1, room[1]
    begin_rows(rows, least)
    for part in range(PARTS):
        count_part(part, legs, count, weights, size, room)
    for row in range(rows):
        least[row, 0] = least_of_row(least, row)
    return rows


@compiled()
def lacks_felt(legs, need, size):  # type: ignore[no-untyped-def]
    """Whether some patch has fewer mean layers than its row needs.

    Args:
        legs: first and last turn, first and last edge, width of each leg, shape (legs, 5).
        need: mean layers needed in each row, shape (rows,) [-].
        size: height of the load [m], cells up the side, patches round it.
    """
    rows, count, weights = need.shape[0], legs.shape[0], np.ones(legs.shape[0])
    laid, least = np.empty((size[1] + 2, LANES)), np.empty((size[1], LANES))
    begin_rows(rows, least)
    for part in range(PARTS):
        count_part(part, legs, count, weights, size, (laid, least))
        for row in range(rows):
            if least_of_row(least, row) < need[row] * (1.0 - _NONE_LACKS):
                return True
    return False


@compiled(inline="always")
def _heights_on_load(legs, count, load_height, heights):  # type: ignore[no-untyped-def]
    """Heights of the product at which film is counted, in order; their number."""
    steps = math.ceil(load_height / _FINEST_STEP)
    step = load_height / steps
    for at in range(steps):
        heights[at] = at * step
    heights[steps] = load_height
    found = steps + 1
    for leg in range(count):
        for edge in (legs[leg, 2], legs[leg, 2] + legs[leg, 4]):
            for side in (-_BESIDE_EDGE, _BESIDE_EDGE):
                height = edge + side
                if not 0.0 <= height <= load_height:
                    continue
                at = found
                while heights[at - 1] > height:
                    at -= 1
                if heights[at - 1] == height:
                    continue
                for other in range(found, at, -1):
                    heights[other] = heights[other - 1]
                heights[at] = height
                found += 1
    return found


@compiled(nogil=True, error_model="numpy")
def hold_cycles(sizes, legs, counts, weights, zones, room):  # type: ignore[no-untyped-def]
    """Layers and containment of many loads, each on a rigid load.

    Args:
        sizes: height of the load and perimeter of its outline [m], shape (cycles, 2).
        legs: as `woold.physics.cycle_kernel.lay_cycles` lays them.
        counts: of the legs; a cycle with none is passed over.
        weights: what a pass of each leg counts: layers, force now, later, later at the low and
            at the high end [N], shape (cycles, 5, legs).
        zones: low and high end over the deck of what is asked about [m], shape (cycles, zones, 2).
        room: what is held, shape (cycles, len(HELD)), and least felt later in each zone, shape
            (cycles, zones) [N].
    """
    held, in_zones = room
    most_high = 8
    most_heights = 8 + 4 * legs.shape[1]
    for cycle in range(sizes.shape[0]):
        most_high = max(most_high, int(sizes[cycle, 0] / 0.005) + 8)
        most_heights = max(
            most_heights, int(sizes[cycle, 0] / _FINEST_STEP) + 8 + 4 * legs.shape[1]
        )
    laid = np.empty((most_high + 2, LANES))
    least = np.empty((most_high, LANES))
    heights = np.empty(most_heights)
    arcs = np.empty((3, legs.shape[1]))
    for cycle in range(sizes.shape[0]):
        count = counts[cycle]
        if count <= 0:
            continue
        load_height, perimeter = sizes[cycle, 0], sizes[cycle, 1]
        high = max(int(np.rint(_CELLS_HIGH * load_height / 0.025)), _CELLS_HIGH)
        around = max(int(np.rint(perimeter / 0.05)), 1)
        rows = felt_rows(
            legs[cycle], count, weights[cycle, 2], (load_height, high, around), (laid, least)
        )
        step = load_height / high
        best = least[0, 0]
        for row in range(1, rows):
            best = min(best, least[row, 0])
        one = 0.0
        for leg in range(count):
            one = max(one, weights[cycle, 2, leg])
        at_row = 0
        while least[at_row, 0] > best + _ALIKE * one:
            at_row += 1
        middle = (at_row + 0.5 * _CELLS_HIGH) * step
        for zone in range(zones.shape[1]):
            begin, end = zones[cycle, zone, 0] / step, zones[cycle, zone, 1] / step
            low, top = math.ceil(begin - 1e-6), math.floor(end + 1e-6) - _CELLS_HIGH
            if top < low:  # lower than a patch
                low, top = math.floor(begin + 1e-6), math.ceil(end - 1e-6) - _CELLS_HIGH
                low, top = min(low, top), max(low, top)
            first, last = min(max(low, 0), rows - 1), min(max(top, 0), rows - 1)
            in_zone = least[first, 0]
            for row in range(first + 1, last + 1):
                in_zone = min(in_zone, least[row, 0])
            in_zones[cycle, zone] = in_zone
        found = _heights_on_load(legs[cycle], count, load_height, heights)
        fewest, area, most, near, before = np.inf, 0.0, 0.0, 0, 0.0
        for index in range(found):
            thinnest, mean = cover_at(legs[cycle], count, weights[cycle, 0], heights[index], arcs)
            fewest = min(fewest, thinnest)
            most = max(most, mean)
            if index > 0:
                area += 0.5 * (heights[index] - heights[index - 1]) * (mean + before)
            before = mean
            if abs(heights[index] - middle) < abs(heights[near] - middle):
                near = index
        held[cycle, 0], held[cycle, 1], held[cycle, 2] = fewest, area / load_height, most
        held[cycle, 3], held[cycle, 4] = best, middle
        for weighting in range(4):
            held[cycle, 5 + weighting], _ = cover_at(
                legs[cycle], count, weights[cycle, 1 + weighting], heights[near], arcs
            )


@compiled(nogil=True, error_model="numpy")
def mean_layers_near(sizes, legs, counts, weights, heights, mean):  # type: ignore[no-untyped-def]
    """Mean layers at the counted height that stands nearest to one of each load.

    Args:
        sizes, legs, counts: as for :func:`hold_cycles`.
        weights: layers that a pass of each leg counts, shape (cycles, legs).
        heights: that are asked about, over the deck [m], shape (cycles,).
        mean: layers, shape (cycles,).
    """
    most = 8 + 4 * legs.shape[1]
    for cycle in range(sizes.shape[0]):
        most = max(most, int(sizes[cycle, 0] / _FINEST_STEP) + 8 + 4 * legs.shape[1])
    counted, arcs = np.empty(most), np.empty((3, legs.shape[1]))
    for cycle in range(sizes.shape[0]):
        if counts[cycle] <= 0:
            continue
        known = _heights_on_load(legs[cycle], counts[cycle], sizes[cycle, 0], counted)
        near, asked = 0, heights[cycle]
        for index in range(1, known):
            if abs(counted[index] - asked) < abs(counted[near] - asked):
                near = index
        _, mean[cycle] = cover_at(legs[cycle], counts[cycle], weights[cycle], counted[near], arcs)
