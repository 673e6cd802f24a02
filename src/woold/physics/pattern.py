"""The wrap program as a path of the film's edge, and the layers that it leaves on the load.

A program is a chain of straight legs: over each leg the film's lower edge moves evenly with the
turns. Film covers height y at perimeter position u (0 to 1 of a turn) once for every whole k with
k + u inside the leg and lower edge <= y <= lower edge + width. Per leg that is one interval of
turns, so layers are counted exactly, without sampling the perimeter: an interval of length L
covers every position floor(L) times and an arc of the perimeter once more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from woold.errors import PhysicsError, Problem
from woold.words import say

__all__ = [
    "Band",
    "Leg",
    "Rope",
    "film_length",
    "leg_table",
    "passes_at",
    "path_cover",
    "wrap_path",
]

MOST_TURNS: Final = 400.0
"""A load with more turns than this is a typing error [turns]."""

SEAM: Final = 1e-7
"""Gaps narrower than this many turns are rounding, not gaps [turns]."""


@dataclass(frozen=True, slots=True)
class Leg:
    """One straight leg of the path.

    Args:
        part: part of the program that it belongs to: "bottom wraps", "rise", ...
        first_turn: turns made when the leg begins [-].
        last_turn: turns made when it ends [-].
        first_edge: height of the film's lower edge over the deck at its beginning [m].
        last_edge: the same at its end [m].
        width: width of the film on the load, narrower where it is gathered into a rope [m].
    """

    part: str
    first_turn: float
    last_turn: float
    first_edge: float
    last_edge: float
    width: float

    @property
    def turns(self) -> float:
        """Turns of the leg [-]."""
        return self.last_turn - self.first_turn

    def edge_at(self, turn: float) -> float:
        """Height of the lower edge at a turn of this leg [m]."""
        if self.turns == 0.0:
            return self.first_edge
        share = (turn - self.first_turn) / self.turns
        return self.first_edge + share * (self.last_edge - self.first_edge)


@dataclass(frozen=True, slots=True)
class Band:
    """Extra turns with the carriage standing still.

    Args:
        edge: height of the film's lower edge over the deck [m].
        wraps: turns made there [-].
        on_the_way: "up" or "down": on which pass the carriage stops.
    """

    edge: float
    wraps: float
    on_the_way: str = "up"


@dataclass(frozen=True, slots=True)
class Rope:
    """Turns over which the film is gathered into a rope.

    Args:
        first_turn: turn at which gathering begins [-].
        last_turn: turn at which it ends [-].
        width: width of the rope [m].
        at_edge: the edge of the open film where the rope lies: "lower" or "upper".
    """

    first_turn: float
    last_turn: float
    width: float
    at_edge: str = "lower"


def wrap_path(
    *,
    load_height: float,
    film_width: float,
    start_height: float,
    bottom_wraps: float,
    rise_per_turn: float,
    top_overlap: float,
    top_wraps: float,
    fall_per_turn: float,
    closing_wraps: float,
    ends_at_top: bool = False,
    bands: Sequence[Band] = (),
    ropes: Sequence[Rope] = (),
) -> tuple[Leg, ...]:
    """Legs of a whole program, in order.

    Bottom wraps with the lower edge at the start height; a helix up until the upper edge stands at
    load height + top overlap; top wraps; a helix down; closing wraps. Bands interrupt a helix.

    Args:
        load_height: product above the deck [m].
        film_width: film width on the load [m].
        start_height: lower edge over the deck at the bottom; negative is below the deck [m].
        bottom_wraps, top_wraps, closing_wraps: turns with the carriage standing still [-].
        rise_per_turn, fall_per_turn: carriage travel in one turn [m].
        top_overlap: how far the upper edge stands above the load at the top [m].
        ends_at_top: the cycle ends at the top: no fall, closing wraps there.
        bands: extra turns at a height.
        ropes: turns with the film gathered.

    Returns:
        The legs; none of zero turns.

    Raises:
        PhysicsError: the film never covers the top, a band that the carriage does not pass, rope
            turns outside the program, or more than 400 turns.
    """
    top_edge = load_height + top_overlap - film_width
    _refuse_unreachable(start_height, top_edge, top_overlap, film_width, load_height, bands)
    up = sorted((b for b in bands if b.on_the_way == "up"), key=lambda b: b.edge)
    down = sorted((b for b in bands if b.on_the_way == "down"), key=lambda b: -b.edge)
    # A film wider than the load stays where it is: its upper edge is above the top already.
    top_edge = max(top_edge, start_height)

    stops: list[tuple[str, float, float]] = [("bottom wraps", start_height, bottom_wraps)]
    stops += [("band", band.edge, band.wraps) for band in up]
    stops += [("top wraps", top_edge, top_wraps)]
    if ends_at_top:
        stops += [("closing wraps", top_edge, closing_wraps)]
    else:
        stops += [("band", band.edge, band.wraps) for band in down]
        stops += [("closing wraps", start_height, closing_wraps)]

    legs: list[Leg] = []
    turn, edge = 0.0, start_height
    for part, stop_edge, wraps in stops:
        rising = stop_edge >= edge
        travel = abs(stop_edge - edge) / (rise_per_turn if rising else fall_per_turn)
        for name, length, end in (
            ("rise" if rising else "fall", travel, stop_edge),
            (part, wraps, stop_edge),
        ):
            if length > 0.0:
                legs.append(Leg(name, turn, turn + length, edge, end, film_width))
                turn += length
            edge = end
    if not 0.0 < turn <= MOST_TURNS:
        raise PhysicsError.one(
            "program",
            say("{turn:.1f} turns in all", turn=turn),
            say("more than 0 and at most {most_turns:.0f} turns", most_turns=MOST_TURNS),
            say("Check the rise and fall per turn and the wraps."),
        )
    for index, rope in enumerate(ropes):
        legs = list(_gathered(legs, rope, f"program.ropes[{index}]"))
    return tuple(legs)


def _refuse_unreachable(
    start_height: float,
    top_edge: float,
    top_overlap: float,
    film_width: float,
    load_height: float,
    bands: Sequence[Band],
) -> None:
    problems = []
    if top_overlap < 0.0 and top_edge >= start_height:
        problems.append(
            Problem(
                "program.top_overlap",
                say(
                    "{top_overlap:.0f} mm: the program never covers the top of the load",
                    top_overlap=top_overlap * 1000,
                ),
                say("0 mm or more"),
                say("Let the film's upper edge stand above the load."),
            )
        )
    if start_height > load_height:
        problems.append(
            Problem(
                "program.start_height",
                say("{start_height:.0f} mm, above the load", start_height=start_height * 1000),
                say(
                    "at most the load height, {load_height:.0f} mm", load_height=load_height * 1000
                ),
                say("Measure it from the deck to the film's lower edge."),
            )
        )
    highest = max(top_edge, start_height)
    problems += [
        Problem(
            f"program.bands[{index}].height",
            say("{edge:.0f} mm, which the film's lower edge does not pass", edge=band.edge * 1000),
            say(
                "{start_height:.0f} to {highest:.0f} mm (film {film_width:.0f} mm wide)",
                start_height=start_height * 1000,
                highest=highest * 1000,
                film_width=film_width * 1000,
            ),
            say("Give the height of the film's lower edge over the deck."),
        )
        for index, band in enumerate(bands)
        if not start_height <= band.edge <= highest
    ]
    if problems:
        raise PhysicsError.many(problems)


def _gathered(legs: Iterable[Leg], rope: Rope, field: str) -> Iterable[Leg]:
    """The legs, cut at the rope's turns and narrowed between them."""
    legs = list(legs)
    last = legs[-1].last_turn
    if not 0.0 <= rope.first_turn < rope.last_turn <= last + SEAM:
        raise PhysicsError.one(
            field,
            say(
                "turns {first_turn:g} to {last_turn:g}",
                first_turn=rope.first_turn,
                last_turn=rope.last_turn,
            ),
            say("a range of turns within 0 to {last:.2f}", last=last),
            say("Count turns from the start of the cycle."),
        )
    if rope.width >= min(leg.width for leg in legs):
        raise PhysicsError.one(
            f"{field}.width",
            say("{width:.0f} mm", width=rope.width * 1000),
            say("less than the film's width on the load"),
            say("A rope is narrower than the film that it is gathered from."),
        )
    for leg in legs:
        cuts = [
            leg.first_turn,
            *sorted(
                turn
                for turn in (rope.first_turn, rope.last_turn)
                if leg.first_turn < turn < leg.last_turn
            ),
            leg.last_turn,
        ]
        for begin, end in pairwise(cuts):
            piece = replace(
                leg,
                first_turn=begin,
                last_turn=end,
                first_edge=leg.edge_at(begin),
                last_edge=leg.edge_at(end),
            )
            if begin >= rope.first_turn - SEAM and end <= rope.last_turn + SEAM:
                shift = leg.width - rope.width if rope.at_edge == "upper" else 0.0
                piece = replace(
                    piece,
                    width=rope.width,
                    first_edge=piece.first_edge + shift,
                    last_edge=piece.last_edge + shift,
                )
            yield piece


def film_length(
    legs: Sequence[Leg], perimeter: float, perimeter_below_deck: float | None = None
) -> NDArray[np.float64]:
    """Length of film that each leg lays on the load.

    Equation: L = turns sqrt(perimeter^2 + rise^2): a helix on the load's unrolled side.

    Args:
        legs: legs of the path.
        perimeter: perimeter of the load's convex outline [m].
        perimeter_below_deck: perimeter of load and pallet together, used for turns whose lower
            edge is below the deck; None where the film does not meet the pallet [m].

    Returns:
        Length of each leg, shape (legs,) [m].

    Source: geometry.
    """
    lengths = np.empty(len(legs))
    for index, leg in enumerate(legs):
        below = 0.0
        if perimeter_below_deck is not None:
            below = _share_below(leg.first_edge, leg.last_edge)
        rise = (leg.last_edge - leg.first_edge) / leg.turns
        around = math.hypot(perimeter, rise)
        lengths[index] = leg.turns * around
        if below > 0.0 and perimeter_below_deck is not None:
            around_pallet = math.hypot(perimeter_below_deck, rise)
            lengths[index] += leg.turns * below * (around_pallet - around)
    return lengths


def _share_below(first_edge: float, last_edge: float) -> float:
    """Share of a leg's turns whose lower edge is below the deck [-]."""
    low, high = sorted((first_edge, last_edge))
    if high <= 0.0:
        return 1.0 if low < 0.0 else 0.0
    return -low / (high - low) if low < 0.0 else 0.0


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


@njit(cache=True, inline="always")
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


@njit(cache=True)
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
