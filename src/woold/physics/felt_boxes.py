"""Most that any helix of a box of rises and falls lays over the barest patch of each height.

As in `woold.physics.helix_boxes` passes are counted from the top. A patch holds a part of a pass
whose edge crosses it; over a box that part is as large as with any helix of the box. The barest
patches lie just beside the ends of what a way lays, so that a few places are looked at: the least
over some of the places is no less than the least over all.
"""

from __future__ import annotations

import math

import numpy as np

from woold.physics.compiled import compiled
from woold.physics.felt_wraps import band_over_rows, fewest_two_bands

__all__ = ["felt_layers_of_boxes", "felt_wraps_of_boxes"]

_PLACES = 7
_ROUNDING = 1e-7
_MOST = 1e6


@compiled(inline="always")
def _over_patch(low, high, bottom, patch):  # type: ignore[no-untyped-def]
    """Largest part of a patch under film whose edges may lie as far as these."""
    return max(min(1.0, (high - bottom) / patch, (bottom + patch - low) / patch), 0.0)


@compiled(inline="always")
def _one_way(first, ends, ways, film, row):  # type: ignore[no-untyped-def]
    """Most parts of a patch's layers that passes a whole turn apart lay, the first of them there.

    Args:
        first: turns of the first pass from the top.
        ends: turns of the last one that there may be, and to which each way goes on at least.
        ways: least and largest travel in a turn.
        film: a `BoxFilm`.
        row: lower end of the patch, its height and half its length in turns.
    """
    bottom, patch, half = row
    last, sure = ends
    slack, laid = 0.5 * half, 0.0
    # Those before and after these lie wholly above or below the patch.
    near = (film.top - film.widest - bottom - patch) / ways[1] - slack
    far = (film.top - bottom) / ways[0] + slack
    if film.lowest_edge + film.widest > bottom:
        far = last
    turn = first + max(math.ceil(near - first), 0.0)
    while turn <= min(far, last) + half:
        back = turn - slack if turn + half + slack < sure else turn - half - slack
        high = max(film.top - ways[0] * back, film.lowest_edge + film.widest)
        low = max(film.top - film.widest - ways[1] * (turn + slack), film.lowest_edge)
        laid += _over_patch(low, high, bottom, patch)
        turn += 1.0
    return laid


@compiled(inline="always")
def _barest_places(box, film, ends, row, places):  # type: ignore[no-untyped-def]
    """Places after the top, in turns, beside the ends of what both ways lay over a patch."""
    bottom, patch, half = row
    slack = 0.5 * half
    rise, steepest, fall, fastest = box
    above = film.top - bottom
    below = film.top - film.widest - bottom - patch
    places[0] = -(above / rise + slack)
    places[1] = -(below / steepest - slack)
    places[2] = -(ends[0][0] + 2.0 * half)
    places[3] = film.closing + 2.0 * half
    count = 4
    if fall > 0.0:
        places[3] = 2.0 * half
        places[4] = above / fall + slack
        places[5] = below / fastest - slack
        places[6] = ends[1][0] + 2.0 * half
        count = _PLACES
    for at in range(count):
        place = places[at] - math.floor(places[at])
        places[at] = min(max(place, 2.0 * half), 1.0 - 2.0 * half)
    return count


@compiled(inline="always")
def _felt_row(box, film, ends, row, places):  # type: ignore[no-untyped-def]
    """Most layers that any helix of a box lays over the barest patch of a row."""
    bottom, patch, half = row
    at_top = band_over_rows(film.top - film.widest, film.top, bottom, patch)
    least = np.inf
    for at in range(_barest_places(box, film, ends, row, places)):
        place = places[at]
        laid = _one_way(1.0 - place, ends[0], box[:2], film, row)
        if box[2] > 0.0:
            laid += _one_way(place, ends[1], box[2:], film, row)
        elif place - 1.5 * half < film.closing:
            laid += at_top
        least = min(least, laid)
    return least


@compiled(inline="always")
def _ends_of(box, film):  # type: ignore[no-untyped-def]
    """Turns from the top to the end of either way: most of the box, and least."""
    most = max(film.top - film.narrowest - film.lowest_edge, 0.0)
    least = max(film.top - film.widest - film.lowest_edge, 0.0)
    up, down = (most / box[0], least / box[1]), (0.0, 0.0)
    if box[2] > 0.0:
        down = (most / box[2] + film.closing, least / box[3])
    return up, down


@compiled()
def felt_layers_of_boxes(boxes, film, rows, layers):  # type: ignore[no-untyped-def]
    """Most mean layers, over the barest patch of each row, that any helix of each box lays.

    Args:
        boxes: least and largest rise, least and largest fall; 0 and 0 where there is no way down,
            shape (boxes, 4) [m].
        film: a `BoxFilm`.
        rows: lower ends of patches, shape (rows,) [m], their height [m], and how many stand round.
        layers: result, shape (boxes, rows) [-].

    Source: derived here; tests hold it against helices whose patches are counted one by one.
    """
    bottoms, patch, around = rows
    places, half = np.empty(_PLACES), 0.5 / around
    for box in range(boxes.shape[0]):
        ends = _ends_of(boxes[box], film)
        for row in range(bottoms.shape[0]):
            given = (bottoms[row], patch, half)
            layers[box, row] = _felt_row(boxes[box], film, ends, given, places)


@compiled()
def felt_wraps_of_boxes(need, boxes, film, rows, given, wraps):  # type: ignore[no-untyped-def]
    """Fewest whole wraps at bottom and top beside each box's helices, so that no patch lacks any.

    Args:
        need: mean layers needed in each row, shape (rows,) [-].
        boxes, film, rows: as for :func:`felt_layers_of_boxes`.
        given: wraps made anyway at the bottom and the top, and most that may be added there [-].
        wraps: result, shape (boxes, 3): all together, and of those at the bottom and at the top at
            least how many; infinite where none will do [-].

    Source: derived here.
    """
    bottoms, patch, around = rows
    count = bottoms.shape[0]
    by_bottom, by_top, lacking = np.empty(count), np.empty(count), np.empty(count)
    edge = film.lowest_edge
    highest = max(film.top - film.widest, edge)
    for row in range(count):
        by_bottom[row] = band_over_rows(edge, edge + film.widest, bottoms[row], patch)
        by_top[row] = band_over_rows(highest, film.top, bottoms[row], patch)
    places, half = np.empty(_PLACES), 0.5 / around
    for box in range(boxes.shape[0]):
        ends, possible = _ends_of(boxes[box], film), True
        for row in range(count):
            lacking[row] = need[row] * (1.0 - _ROUNDING)
            lacking[row] -= given[0] * by_bottom[row] + given[1] * by_top[row]
            if lacking[row] <= 0.0:
                continue
            place = (bottoms[row], patch, half)
            lacking[row] -= _felt_row(boxes[box], film, ends, place, places)
            if lacking[row] > _ROUNDING and by_bottom[row] + by_top[row] <= 0.0:
                possible = False
                break
        wraps[box] = np.inf, 0.0, 0.0
        if not possible:
            continue
        at_bottom, at_top = 0.0, 0.0
        for row in range(count):
            if lacking[row] > _ROUNDING and by_top[row] <= 0.0:
                at_bottom = max(at_bottom, math.ceil(lacking[row] / by_bottom[row] - _ROUNDING))
            elif lacking[row] > _ROUNDING and by_bottom[row] <= 0.0:
                at_top = max(at_top, math.ceil(lacking[row] / by_top[row] - _ROUNDING))
        limits = (1.0, 1.0, given[2], given[3], _MOST)
        low, high = fewest_two_bands(lacking, by_bottom, by_top, limits)
        if low >= 0.0:
            wraps[box] = low + high, at_bottom, at_top
