"""Layers of very many programs at once: the count of `woold.physics.layer_count`, compiled."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from woold.physics.compiled import compiled
from woold.physics.pattern import Leg

__all__ = ["leg_table", "path_cover"]


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
    legs = table.shape[1]
    begin = np.empty(legs)
    end = np.empty(legs)
    weight = np.empty(legs)
    for program in range(table.shape[0]):
        for index in range(heights.shape[0]):
            whole_sum = 0.0
            total = 0.0
            arcs = 0
            everywhere = 0.0
            for leg in range(legs):
                first, last = _covering_turns(table[program, leg], heights[index])
                if last < first:
                    continue
                length = last - first
                each = table[program, leg, 5]
                total += each * length
                whole = math.floor(length + 1e-7)
                whole_sum += each * whole
                rest = length - whole
                if rest > 1e-7:
                    start = first - math.floor(first)
                    begin[arcs] = start
                    stop = start + rest + 1e-7
                    end[arcs] = stop - 1.0 if stop >= 1.0 else stop
                    weight[arcs] = each
                    everywhere += each
                    arcs += 1
            smallest = 0.0
            if arcs > 0:
                smallest = everywhere
                for probe in range(arcs):
                    point = end[probe]
                    covered = 0.0
                    for arc in range(arcs):
                        if begin[arc] <= end[arc]:
                            if begin[arc] <= point < end[arc]:
                                covered += weight[arc]
                        elif point >= begin[arc] or point < end[arc]:
                            covered += weight[arc]
                        if covered >= smallest:
                            break
                    smallest = min(smallest, covered)
            least[program, index] = whole_sum + smallest
            mean[program, index] = total
