"""Whether the treatments of an interleaved trial can be told from block, roll, shift and time."""

from __future__ import annotations

import numpy as np

from woold.trial.roll_means import left_within, roll_units
from woold.trial.table import LoadTable
from woold.words import say

__all__ = ["confounded_with"]

_FEWEST = 3
"""Rolls of each treatment, below which their chance differences pass for a difference."""

_LEFT_IN_SHIFTS = 0.2
"""Share of what tells the treatments apart that must be left within shifts."""

_IN_TURN = 0.9
"""Share of pairs of loads in which the same treatment comes first, beyond which time can pass."""


def confounded_with(table: LoadTable, blocks_taken_out: bool) -> str:
    """What the treatments cannot be told from; "" where they can.

    Args:
        table: the loads that are compared, in the order of time.
        blocks_taken_out: whether differences between blocks were taken out.
    """
    if table.has_blocks and not blocks_taken_out:
        return say("block")
    if _few_rolls(table):
        return say("film roll")
    if _one_in_each_shift(table):
        return say("shift")
    return say("time") if not blocks_taken_out and _one_after_the_other(table) else ""


def _few_rolls(table: LoadTable) -> bool:
    """Whether each treatment had rolls of its own, and one of them had few."""
    weighed = np.isfinite(table.film_mass)
    units = roll_units(table)
    if units is not None:
        counts = [
            np.unique(units.unit[weighed & table.of_treatment(place)]).size for place in (0, 1)
        ]
        return min(counts) < _FEWEST
    rolls = [
        set(table.roll[weighed & (table.roll > 0) & table.of_treatment(place)].tolist())
        for place in (0, 1)
    ]
    return all(rolls) and not rolls[0] & rolls[1] and min(map(len, rolls)) < _FEWEST


def _one_in_each_shift(table: LoadTable) -> bool:
    """Whether shifts, or the hours that they name, had one treatment or hardly the other."""
    known = np.isfinite(table.film_mass) & (table.shift > 0)
    shift, treatment = table.shift[known], table.treatment[known]
    if np.unique(treatment).size < 2 or np.unique(shift).size < 2:
        return False
    block = table.block[known]
    apart = left_within(treatment, block)
    return left_within(treatment, block, shift) < _LEFT_IN_SHIFTS * apart


def _one_after_the_other(table: LoadTable) -> bool:
    weighed = np.isfinite(table.film_mass)
    places = [np.flatnonzero(weighed & table.of_treatment(place)) for place in (0, 1)]
    if not all(each.size for each in places):
        return False
    first = float(np.mean(places[0][:, None] < places[1][None, :]))
    return max(first, 1.0 - first) > _IN_TURN
