"""Layers of film over each height of the load, counted exactly from the path of the film's edge.

Film covers height y at perimeter position u (0 to 1 of a turn) once for every whole k with
k + u inside a leg of the path and lower edge <= y <= lower edge + width. Per leg that is one
interval of turns, so layers are counted without sampling the perimeter: an interval of length L
covers every position floor(L) times and an arc of the perimeter once more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.physics.pattern import Leg

__all__ = ["passes_at", "weighted_layers"]

_SLACK: Final = 1e-9
"""A film edge exactly at the height covers it [m]."""
_SMALLEST_ARC: Final = 1e-7
"""Shorter arcs are rounding [turns]."""


def weighted_layers(
    legs: Sequence[Leg], weights: Sequence[Sequence[float]], heights: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Weighted passes over each height: the least and the mean around the perimeter.

    Equation: with turns [a_i, b_i] of leg i covering the height, of length L_i = b_i - a_i, the
    mean is sum weight_i L_i; the least is sum weight_i floor(L_i) plus the least sum of weights of
    the arcs [a_i + floor(L_i), b_i] modulo 1 over any point of the circle. That least stands
    just after the end of some arc.

    Args:
        legs: legs of the path.
        weights: what each pass of a leg counts, 1 for passes or a force for containment, once for
            each weighting, shape (weightings, legs).
        heights: heights over the deck, shape (heights,) [m].

    Returns:
        Least and mean, shape (weightings, heights) each, in the weights' unit.

    Source: derived here; tests hold it against a count over sampled points.
    """
    first, last = _covering_turns(legs, heights)
    length = np.maximum(last - first, 0.0)
    whole = np.floor(length + _SMALLEST_ARC)
    rest = length - whole
    # Legs stand first: sums over them add up in their order, as the compiled count does.
    each = np.asarray(weights, dtype=float).T[:, :, None]
    mean = np.add.reduce(each * length[:, None, :])
    least = np.add.reduce(each * whole[:, None, :])
    is_arc = rest > _SMALLEST_ARC
    if is_arc.any():
        begin = first - np.floor(first)
        stop = begin + rest + _SMALLEST_ARC
        end = np.where(stop >= 1.0, stop - 1.0, stop)
        least = least + _thinnest_point(begin, end, is_arc, each)
    return least, mean


def _thinnest_point(
    begin: NDArray[np.float64],
    end: NDArray[np.float64],
    is_arc: NDArray[np.bool_],
    weights: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Least weight of arcs of a circle over any of its points, shape (weightings, heights).

    Args:
        begin, end: arcs of each leg at each height, shape (legs, heights) [turns].
        is_arc: whether there is one.
        weights: shape (legs, weightings, 1).
    """
    after, before = begin[:, None, :] <= end[None], end[None] < end[:, None, :]
    goes_round = (begin > end)[:, None, :]
    covers = is_arc[:, None, :] & np.where(goes_round, after | before, after & before)
    over_ends = np.add.reduce(weights[:, :, None] * covers[:, None])
    over_ends = np.where(is_arc, over_ends, np.inf)
    everywhere = np.add.reduce(weights * is_arc[:, None, :])
    thinnest: NDArray[np.float64] = np.minimum(over_ends.min(axis=1), everywhere)
    return thinnest


def _covering_turns(
    legs: Sequence[Leg], heights: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """First and last turn of each leg between which it covers each height, (legs, heights).

    The last does not exceed the first where it does not cover the height.
    """
    first = np.array([[leg.first_turn] for leg in legs])
    last = np.array([[leg.last_turn] for leg in legs])
    edge = np.array([[leg.first_edge] for leg in legs])
    end = np.array([[leg.last_edge] for leg in legs])
    low = heights - np.array([[leg.width] for leg in legs]) - _SLACK
    high = heights + _SLACK
    slope = (end - edge) / (last - first)
    is_level = np.abs(slope) < 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = first + (low - edge) / slope, first + (high - edge) / slope
    begin = np.where(is_level, first, np.maximum(np.minimum(one, two), first))
    until = np.where(is_level, last, np.minimum(np.maximum(one, two), last))
    is_beside = is_level & ((edge < low) | (edge > high))
    return begin, np.where(is_beside, begin, until)


def passes_at(
    legs: Sequence[Leg], positions: NDArray[np.float64], heights: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Films over points of the load's side, counted point by point.

    Args:
        legs: legs of the path.
        positions: places around the perimeter, from 0 to below 1 of a turn, shape (positions,).
        heights: over the deck, shape (heights,) [m].

    Returns:
        Passes of film, shape (heights, positions) [-].
    """
    passes = np.zeros((heights.size, positions.size))
    for leg in legs:
        for whole in range(math.floor(leg.first_turn), math.ceil(leg.last_turn) + 1):
            turn = positions + whole
            inside = (turn >= leg.first_turn) & (turn < leg.last_turn)
            share = (turn - leg.first_turn) / leg.turns
            edge = leg.first_edge + share * (leg.last_edge - leg.first_edge)
            above = heights[:, None] - edge[None, :]
            passes += inside[None, :] & (above >= 0.0) & (above <= leg.width)
    return passes
