"""Fewest turns that any wrap program needs: a cover of the load's height by bands of film.

At one place round the perimeter every turn lays one band of the film's width, at whatever height
the carriage stands. So no program, however it moves, gets by with fewer turns than the fewest bands
that cover the need; and no carriage that must travel gets by with fewer than the fewest bands on
top of the film that it lays while it travels.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import PhysicsError
from woold.words import say

__all__ = ["BandCover", "NeedSteps", "fewest_bands", "need_steps"]

Floats = NDArray[np.float64]

_SMALL = 1e-10
"""Turns below this are rounding [-]."""

_NEAR = 1e-9
"""Heights are kept to a nanometre: those that are nearer are one [m]."""


@dataclass(frozen=True, eq=False)
class NeedSteps:
    """Layers needed over the height, as steps that do not overlap, from the bottom up.

    Args:
        low, high: ends of each step, both counted in, shape (n,) [m].
        layers: need of each step, above 0, shape (n,) [-].
    """

    low: Floats
    high: Floats
    layers: Floats


@dataclass(frozen=True, eq=False)
class BandCover:
    """Bands that cover a need.

    Args:
        edges: lower edges of the bands, rising, shape (n,) [m].
        wraps: turns made there, shape (n,) [-].
        moving_turns: turns made while the carriage travels [-].
    """

    edges: Floats
    wraps: Floats
    moving_turns: float

    @property
    def turns(self) -> float:
        """Turns in all [-]."""
        return float(self.wraps.sum()) + self.moving_turns


def need_steps(zones: Iterable[tuple[float, float, float]]) -> NeedSteps:
    """Zones that may overlap, as steps: where several apply, the largest need counts.

    Args:
        zones: (low [m], high [m], layers) of each zone.
    """
    table = np.array([zone for zone in zones if zone[2] > 0.0]).reshape(-1, 3)
    begins, ends, needed = np.round(table[:, 0], 9), np.round(table[:, 1], 9), table[:, 2]
    cuts = np.unique(np.concatenate([begins, ends]))
    if cuts.size < 2:
        return NeedSteps(np.empty(0), np.empty(0), np.empty(0))
    is_over = (begins <= cuts[:-1, None]) & (cuts[1:, None] <= ends)
    most = np.where(is_over, needed, 0.0).max(axis=1)
    # Neighbours that need the same are one step.
    is_first = np.append(True, most[1:] != most[:-1])
    is_last = np.append(is_first[1:], True)
    low, high, layers = cuts[:-1][is_first], cuts[1:][is_last], most[is_first]
    return NeedSteps(low[layers > 0.0], high[layers > 0.0], layers[layers > 0.0])


def fewest_bands(
    need: NeedSteps,
    film_width: float,
    lowest_edge: float,
    highest_edge: float,
    turns_per_metre: float = 0.0,
    slack: float = 0.0,
) -> BandCover:
    """Fewest bands that cover a need, beside film laid evenly by a travelling carriage.

    From the bottom up, whatever is lacking at a height is laid with the lower edge at that height,
    or at the highest edge where that is lower: any other band that covers the height reaches less
    far up. With turns_per_metre the number of all passes over the travel divided by the largest
    rise per turn, the result is the least number of turns of any such program.

    Equation: least sum of x(e) over edges e with, at every height y,
    sum of x(e) for e in [y - w, y], plus turns_per_metre times the length of
    [y - w, y] within the travel, at least need(y).

    Args:
        need: layers needed.
        film_width: film width on the load w [m].
        lowest_edge, highest_edge: ends of the carriage's travel, as heights of the film's lower
            edge [m].
        turns_per_metre: turns made in each metre of travel, all passes together [1/m].
        slack: so much higher up, what is laid while travelling may be counted as well [m].

    Returns:
        The bands.

    Raises:
        PhysicsError: a need below the lowest edge, or above the reach of the highest.

    Source: greedy optimality by exchange; consecutive-ones structure of the covering problem.
    """
    if need.low.size == 0:
        return BandCover(np.empty(0), np.empty(0), turns_per_metre * (highest_edge - lowest_edge))
    _refuse_out_of_reach(need, film_width, lowest_edge, highest_edge)

    def laid_moving(height: float) -> float:
        low = max(height - film_width, lowest_edge)
        passed = min(height + slack, highest_edge) - low
        return turns_per_metre * min(max(passed, 0.0), film_width)

    edges: list[float] = []
    wraps: list[float] = []
    for low, high, layers in zip(need.low, need.high, need.layers, strict=True):
        height = float(low)
        while height < high - _NEAR:
            # Just above a height, bands that end there are gone.
            held = sum(
                turns
                for edge, turns in zip(edges, wraps, strict=True)
                if edge + film_width > height + _NEAR
            )
            # Above the highest edge the travelling film thins out: look at the step's far end.
            worst = height if height < highest_edge - _NEAR else float(high)
            lacking = float(layers) - held - laid_moving(worst)
            if lacking > _SMALL:
                edges.append(min(height, highest_edge))
                wraps.append(lacking)
            ends = [edge + film_width for edge in edges if edge + film_width > height + _NEAR]
            if height < highest_edge - _NEAR:
                ends.append(highest_edge)
            height = min([end for end in ends if end > height + _NEAR], default=float(high))
    return BandCover(
        np.array(edges), np.array(wraps), turns_per_metre * (highest_edge - lowest_edge)
    )


def _refuse_out_of_reach(
    need: NeedSteps, film_width: float, lowest_edge: float, highest_edge: float
) -> None:
    bottom, top = float(need.low[0]), float(need.high[-1])
    if bottom < lowest_edge - _NEAR:
        raise PhysicsError.one(
            "program.start_height",
            say("{height:.0f} mm over the deck", height=lowest_edge * 1000),
            say("at most {height:.0f} mm, where film is needed", height=bottom * 1000),
            say("Let the film's lower edge start lower."),
        )
    if top > highest_edge + film_width + _NEAR:
        raise PhysicsError.one(
            "program.top_overlap",
            say(
                "film's upper edge at {height:.0f} mm over the deck",
                height=(highest_edge + film_width) * 1000,
            ),
            say("at least {height:.0f} mm, where film is needed", height=top * 1000),
            say("Let the film's upper edge go higher."),
        )
