"""Most layers that any helix of a box of rises and falls lays, and the fewest wraps beside it.

A box is a range of rise, a range of fall and a range of film width. Counted from the top, where the
way up ends and the way down begins, every pass of film over a height is an arc of the perimeter;
over a box each arc is laid as long as any helix of the box makes it. What these longer arcs leave
lacking, every helix of the box lacks too: so the wraps found are never more than are needed.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from woold.physics.compiled import compiled
from woold.physics.tier_wraps import tiers_stand

__all__ = ["BoxFilm", "fewest_tier_wraps", "fewest_wraps_of_boxes", "most_layers_of_boxes"]

_SLACK = 1e-9
_SMALLEST_ARC = 1e-7


class BoxFilm(NamedTuple):
    """Film that boxes have in common.

    Args:
        lowest_edge: lower edge of the film at the bottom [m].
        top: upper edge of the film at the top [m].
        narrowest, widest: least and largest film width on the load [m].
        closing: part of a turn that is laid after the last way, where it ends [-].
    """

    lowest_edge: float
    top: float
    narrowest: float
    widest: float
    closing: float = 0.0


@compiled(inline="always")
def _longest_arc(first, last):  # type: ignore[no-untyped-def]
    """Whole turns of an arc, and the begin and end of the rest on a turn; end -1 for none."""
    whole = math.floor(last - first + _SMALLEST_ARC)
    rest = last - first - whole
    if rest <= _SMALLEST_ARC:
        return whole, 0.0, -1.0
    start = first - math.floor(first)
    stop = start + rest + _SMALLEST_ARC
    return whole, start, (stop - 1.0 if stop >= 1.0 else stop)


@compiled(inline="always")
def _is_over(start, stop, point):  # type: ignore[no-untyped-def]
    if start <= stop:
        return start <= point < stop
    return point >= start or point < stop


@compiled()
def most_layers_of_boxes(boxes, film, heights, layers):  # type: ignore[no-untyped-def]
    """Most layers, at the barest place round the perimeter, that any helix of each box lays.

    Args:
        boxes: least and largest rise, least and largest fall; 0 and 0 where there is no way down,
            shape (boxes, 4) [m].
        film: a `BoxFilm`.
        heights: over the deck, shape (heights,) [m].
        layers: result, shape (boxes, heights) [-].

    Source: derived here; tests hold it against helices counted one by one.
    """
    farthest = max(film.top - film.narrowest - film.lowest_edge, 0.0) + _SLACK
    for box in range(boxes.shape[0]):
        rise, steepest = boxes[box, 0], boxes[box, 1]
        fall, fastest = boxes[box, 2], boxes[box, 3]
        for index in range(heights.shape[0]):
            below = film.top - heights[index]
            near = max(below - film.widest - _SLACK, 0.0)
            far = min(below + _SLACK, farthest)
            if far < near:
                layers[box, index] = 0.0
                continue
            # What is laid after the last way goes on where that ends.
            at_top = film.closing if fall <= 0.0 and near <= 0.0 else 0.0
            by_bottom = heights[index] <= film.lowest_edge + film.widest + _SLACK
            whole, up, up_end = _longest_arc(-far / rise, -near / steepest + at_top)
            down, down_end = 0.0, -1.0
            if fall > 0.0:
                at_bottom = film.closing if by_bottom else 0.0
                more, down, down_end = _longest_arc(near / fastest, far / fall + at_bottom)
                whole += more
            rest = 0.0
            if up_end >= 0.0 and down_end >= 0.0:
                # If two arcs leave anything bare, it lies just behind the end of one of them.
                goes_on = _is_over(down, down_end, up_end) and _is_over(up, up_end, down_end)
                rest = 1.0 if goes_on else 0.0
            layers[box, index] = whole + rest


@compiled()
def fewest_wraps_of_boxes(need, heights, layers, film, given, stops, wraps):  # type: ignore[no-untyped-def]
    """Fewest whole wraps beside each box's helices; infinite where none will do.

    Without stops wraps lie at the bottom and the top; with stops anywhere, from the bottom up each
    with its lower edge where layers are lacking.

    Args:
        need: layers needed at each height, shape (heights,) [-].
        heights: over the deck, rising, shape (heights,) [m].
        layers: most layers of each box's helices, shape (boxes, heights) [-].
        film: a `BoxFilm`.
        given: wraps made anyway at the bottom and the top, and most that may be added there [-].
        stops: whether wraps may lie on the way as well.
        wraps: result, shape (boxes, 3): all together, and of those at least how many at the bottom
            and at the top; none told apart with stops [-].

    Source: greedy optimality by exchange, as of `woold.physics.bands`.
    """
    bottom_end = film.lowest_edge + film.widest + _SLACK
    top_begin = max(film.top - film.widest, film.lowest_edge) - _SLACK
    highest = max(film.top - film.narrowest, film.lowest_edge)
    edges, counts = np.empty(heights.shape[0]), np.empty(heights.shape[0])
    for box in range(layers.shape[0]):
        low, high, both, used, possible = 0.0, 0.0, 0.0, 0, True
        for index in range(heights.shape[0]):
            height = heights[index]
            by_bottom, by_top = height <= bottom_end, height >= top_begin
            laid = layers[box, index]
            if by_bottom:
                laid += given[0]
            if by_top:
                laid += given[1]
            if stops:
                for stop in range(used):
                    if height <= edges[stop] + film.widest + _SLACK:
                        laid += counts[stop]
            lacking = math.ceil(need[index] - laid - 1e-7)
            if lacking <= 0.0:
                continue
            if stops:
                edges[used], counts[used] = min(height, highest), lacking
                used += 1
            elif by_bottom and by_top:
                both = max(both, lacking)
            elif by_bottom:
                low = max(low, lacking)
            elif by_top:
                high = max(high, lacking)
            else:
                possible = False
                break
        wraps[box] = 0.0
        if stops:
            wraps[box, 0] = counts[:used].sum()
        elif not possible or low > given[2] or high > given[3]:
            wraps[box, 0] = np.inf
        else:
            wraps[box] = low + max(high, both - low), low, high


@compiled()
def fewest_tier_wraps(tables, base, tier_of, sets, most):  # type: ignore[no-untyped-def]
    """Fewest wraps, each over one set of places, with which tiers may stand; most + 1 for none.

    Args:
        tables: a `TierTables`.
        base: layers over each place without these wraps, shape (places,) [-].
        tier_of: interface of each place; the least layers of its places count, shape (places,).
        sets: 1 where a wrap of a set lies over a place, shape (sets, places).
        most: more wraps than this are not looked for [-].

    Source: every choice is tried, but for those that fall short even if all wraps that are left lay
    over every place that a later set reaches.
    """
    kinds, places = sets.shape
    reach = np.zeros((kinds + 1, places))
    for kind in range(kinds - 1, -1, -1):
        for at in range(places):
            reach[kind, at] = max(reach[kind + 1, at], sets[kind, at])
    chosen = np.zeros(most + 1, dtype=np.int64)
    layers = np.zeros(tables.static.shape[1])
    for count in range(most + 1):
        # chosen[:depth] are kinds in rising order; the next one to try stands at chosen[depth].
        depth = 0
        chosen[0] = 0
        while depth >= 0:
            first = chosen[depth] if depth < count else 0
            layers[:] = np.inf
            for at in range(places):
                laid = base[at]
                for wrap in range(depth):
                    laid += sets[chosen[wrap], at]
                if depth < count:
                    laid += (count - depth) * reach[first, at]
                layers[tier_of[at]] = min(layers[tier_of[at]], laid)
            stands = tiers_stand(tables, layers, True)
            if depth == count:
                if stands:
                    return count
                depth -= 1
                if depth >= 0:
                    chosen[depth] += 1
                continue
            if first >= kinds or not stands:
                # Later kinds reach no farther: go back.
                depth -= 1
                if depth >= 0:
                    chosen[depth] += 1
                continue
            depth += 1
            if depth < count:
                chosen[depth] = first
    return most + 1
