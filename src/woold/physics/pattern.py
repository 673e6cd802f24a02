"""The wrap program as a path of the film's lower edge, and the film that it lays.

A program is a chain of straight legs: over each leg the film's lower edge moves evenly with the
turns.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.errors import PhysicsError, Problem
from woold.words import say, to_say

__all__ = [
    "BAND",
    "BOTTOM_WRAPS",
    "CLOSING_WRAPS",
    "FALL",
    "RISE",
    "TOP_WRAPS",
    "Band",
    "Leg",
    "Rope",
    "WrapProgram",
    "film_length",
    "wrap_path",
]

MOST_TURNS: Final = 400.0
"""A load with more turns than this is a typing error [turns]."""

# Parts of a program, in order; bands stand within the rise and the fall.
BOTTOM_WRAPS: Final = to_say("bottom wraps")
RISE: Final = to_say("rise")
BAND: Final = to_say("band")
TOP_WRAPS: Final = to_say("top wraps")
FALL: Final = to_say("fall")
CLOSING_WRAPS: Final = to_say("closing wraps")

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


@dataclass(frozen=True, slots=True, kw_only=True)
class WrapProgram:
    """A wrap program for a load and a film.

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
    """

    load_height: float
    film_width: float
    start_height: float
    bottom_wraps: float
    rise_per_turn: float
    top_overlap: float
    top_wraps: float
    fall_per_turn: float
    closing_wraps: float
    ends_at_top: bool = False
    bands: Sequence[Band] = ()
    ropes: Sequence[Rope] = ()

    @property
    def top_edge(self) -> float:
        """Lower edge of top wraps, or where it would be if the film could go down to it [m]."""
        return self.load_height + self.top_overlap - self.film_width


def wrap_path(program: WrapProgram) -> tuple[Leg, ...]:
    """Legs of a whole program, in order.

    Args:
        program: the wrap program.

    Returns:
        The legs; none of zero turns.

    Raises:
        PhysicsError: the film never covers the top, a band that the carriage does not pass, rope
            turns outside the program, or more than 400 turns.
    """
    problems = list(_unreachable(program))
    if problems:
        raise PhysicsError.many(problems)
    legs: list[Leg] = []
    turn, edge = 0.0, program.start_height
    for part, stop_edge, wraps in _stops(program):
        rising = stop_edge >= edge
        pitch = program.rise_per_turn if rising else program.fall_per_turn
        for name, length, end in (
            (RISE if rising else FALL, abs(stop_edge - edge) / pitch, stop_edge),
            (part, wraps, stop_edge),
        ):
            if length > 0.0:
                legs.append(Leg(name, turn, turn + length, edge, end, program.film_width))
                turn += length
            edge = end
    if not 0.0 < turn <= MOST_TURNS:
        raise PhysicsError.one(
            "program",
            say("{turns:.1f} turns in all", turns=turn),
            say("more than 0 and at most {most:.0f} turns", most=MOST_TURNS),
            say("Check the rise and fall per turn and the wraps."),
        )
    for index, rope in enumerate(program.ropes):
        legs = list(_gathered(legs, rope, f"program.ropes[{index}]"))
    # A way so short that no turn is told from none: stops that stand at nearly the same height.
    return tuple(leg for leg in legs if leg.last_turn > leg.first_turn)


def _stops(program: WrapProgram) -> list[tuple[str, float, float]]:
    """Where the carriage stands still: part, lower edge [m], turns; in order."""
    up = sorted((b for b in program.bands if b.on_the_way == "up"), key=lambda b: b.edge)
    down = sorted((b for b in program.bands if b.on_the_way == "down"), key=lambda b: -b.edge)
    # A film wider than the load stays where it is: its upper edge is above the top already.
    top_edge = max(program.top_edge, program.start_height)
    stops = [(BOTTOM_WRAPS, program.start_height, program.bottom_wraps)]
    stops += [(BAND, band.edge, band.wraps) for band in up]
    stops += [(TOP_WRAPS, top_edge, program.top_wraps)]
    if program.ends_at_top:
        return [*stops, (CLOSING_WRAPS, top_edge, program.closing_wraps)]
    stops += [(BAND, band.edge, band.wraps) for band in down]
    return [*stops, (CLOSING_WRAPS, program.start_height, program.closing_wraps)]


def _unreachable(program: WrapProgram) -> Iterator[Problem]:
    top_edge, start = program.top_edge, program.start_height
    if program.top_overlap < 0.0 and top_edge >= start:
        yield Problem(
            "program.top_overlap",
            say(
                "{overlap:.0f} mm: the program never covers the top of the load",
                overlap=program.top_overlap * 1000,
            ),
            say("0 mm or more"),
            say("Let the film's upper edge stand above the load."),
        )
    if start > program.load_height:
        yield Problem(
            "program.start_height",
            say("{height:.0f} mm, above the load", height=start * 1000),
            say("at most the load height, {height:.0f} mm", height=program.load_height * 1000),
            say("Measure it from the deck to the film's lower edge."),
        )
    highest = max(top_edge, start)
    for index, band in enumerate(program.bands):
        if not start <= band.edge <= highest:
            yield Problem(
                f"program.bands[{index}].height",
                say(
                    "{height:.0f} mm, which the film's lower edge does not pass",
                    height=band.edge * 1000,
                ),
                say(
                    "{lowest:.0f} to {highest:.0f} mm (film {width:.0f} mm wide)",
                    lowest=start * 1000,
                    highest=highest * 1000,
                    width=program.film_width * 1000,
                ),
                say("Give the height of the film's lower edge over the deck."),
            )


def _gathered(legs: Iterable[Leg], rope: Rope, field: str) -> Iterable[Leg]:
    """The legs, cut at the rope's turns and narrowed between them."""
    legs = list(legs)
    last = legs[-1].last_turn
    if not 0.0 <= rope.first_turn < rope.last_turn <= last + SEAM:
        raise PhysicsError.one(
            field,
            say(
                "turns {first:g} to {last:g}",
                first=rope.first_turn,
                last=rope.last_turn,
            ),
            say("a range of turns within 0 to {last:.2f}", last=last),
            say("Count turns from the start of the cycle."),
        )
    there = (
        leg.width
        for leg in legs
        if leg.first_turn < rope.last_turn and leg.last_turn > rope.first_turn
    )
    if rope.width >= min(there):
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
