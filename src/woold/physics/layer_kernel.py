"""Layers of very many programs at once: the count of `woold.physics.layer_count`, compiled."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from woold.physics.compiled import compiled
from woold.physics.pattern import Leg

__all__ = ["cover_at", "leg_table", "path_cover"]


def leg_table(legs: Sequence[Leg], weights: Sequence[float]) -> NDArray[np.float64]:
    """The legs as numbers, for :func:`path_cover`.

    Args:
        legs: legs of the path.
        weights: what each pass of a leg counts: 1 for passes, a force for containment.

    Returns:
        Shape (legs, 6): first turn, last turn, first edge [m], last edge [m], width [m], weight.
    """
    table = np.empty((len(legs), 6))
    for index, leg in enumerate(legs):
        table[index, 0] = leg.first_turn
        table[index, 1] = leg.last_turn
        table[index, 2] = leg.first_edge
        table[index, 3] = leg.last_edge
        table[index, 4] = leg.width
        table[index, 5] = weights[index]
    return table


@compiled(inline="always")
def _covering_turns(leg, height):  # type: ignore[no-untyped-def]
    """First and last turn of a leg between which it covers a height; (0, -1) when it does not."""
    first, last, edge, end, width = leg[0], leg[1], leg[2], leg[3], leg[4]
    if last <= first:
        return 0.0, -1.0
    slope = (end - edge) / (last - first)
    slack = 1e-9  # metres: a film edge exactly at the height covers it
    low, high = height - width - slack, height + slack
    if abs(slope) < 1e-12:
        if low <= edge <= high:
            return first, last
        return 0.0, -1.0
    one, two = first + (low - edge) / slope, first + (high - edge) / slope
    if one > two:
        one, two = two, one
    return max(one, first), min(two, last)


@compiled(inline="always")
def cover_at(legs, count, weights, height, arcs):  # type: ignore[no-untyped-def]
    """Least and mean of weighted passes over one height; see :func:`path_cover`.

    Args:
        legs: first turn, last turn, first edge [m], last edge [m], width [m], ..., shape (legs, 5).
        count: how many of them there are.
        weights: of a pass of each leg, shape (legs,).
        height: over the deck [m].
        arcs: room, shape (3, legs).
    """
    whole_sum = 0.0
    total = 0.0
    found = 0
    everywhere = 0.0
    for leg in range(count):
        first, last = _covering_turns(legs[leg], height)
        if last < first:
            continue
        length = last - first
        each = weights[leg]
        total += each * length
        whole = math.floor(length + 1e-7)
        whole_sum += each * whole
        rest = length - whole
        if rest > 1e-7:
            start = first - math.floor(first)
            arcs[0, found] = start
            stop = start + rest + 1e-7
            arcs[1, found] = stop - 1.0 if stop >= 1.0 else stop
            arcs[2, found] = each
            everywhere += each
            found += 1
    smallest = 0.0
    if found > 0:
        smallest = everywhere
        for probe in range(found):
            point = arcs[1, probe]
            covered = 0.0
            for arc in range(found):
                if arcs[0, arc] <= arcs[1, arc]:
                    if arcs[0, arc] <= point < arcs[1, arc]:
                        covered += arcs[2, arc]
                elif point >= arcs[0, arc] or point < arcs[1, arc]:
                    covered += arcs[2, arc]
                if covered >= smallest:
                    break
            smallest = min(smallest, covered)
    return whole_sum + smallest, total


@compiled()
def path_cover(table, heights, least, mean):  # type: ignore[no-untyped-def]
    """Weighted passes over each height: the least and the mean around the perimeter.

    Equation: with turns [a_i, b_i] of leg i covering the height, of length L_i = b_i - a_i, the
    mean is sum weight_i L_i; the least is sum weight_i floor(L_i) plus the least sum of weights of
    the arcs [a_i + floor(L_i), b_i] modulo 1 over any point of the circle. That least stands
    just after the end of some arc.

    Args:
        table: programs, shape (programs, legs, 6) as :func:`leg_table` makes it; a leg whose
            last turn does not exceed its first is left out, so programs may differ in length.
        heights: heights over the deck, shape (heights,) [m].
        least: result, shape (programs, heights), in the weights' unit.
        mean: result, likewise.

    Source: derived here; tests hold it against a count over sampled points.
    """
    arcs = np.empty((3, table.shape[1]))
    for program in range(table.shape[0]):
        for index in range(heights.shape[0]):
            least[program, index], mean[program, index] = cover_at(
                table[program], table.shape[1], table[program, :, 5], heights[index], arcs
            )
