"""Whether the treatments of an interleaved trial can be told from block, roll, shift and time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from woold.trial.table import LoadTable
from woold.words import say

__all__ = ["confounded_with"]

_FEWEST = 3
"""Rolls or shifts of each treatment, below which their chance differences pass for a difference."""

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
    if _never_shared(table.roll, table):
        return say("film roll")
    if blocks_taken_out:
        return ""
    if _never_shared(table.shift, table):
        return say("shift")
    return say("time") if _one_after_the_other(table) else ""


def _never_shared(codes: NDArray[np.int64], table: LoadTable) -> bool:
    """Whether no roll (or shift) had both treatments, and some treatment had few of them."""
    weighed = np.isfinite(table.film_mass) & (codes > 0)
    groups = [set(codes[weighed & table.of_treatment(place)].tolist()) for place in (0, 1)]
    if not all(groups) or groups[0] & groups[1]:
        return False
    return min(len(each) for each in groups) < _FEWEST


def _one_after_the_other(table: LoadTable) -> bool:
    weighed = np.isfinite(table.film_mass)
    places = [np.flatnonzero(weighed & table.of_treatment(place)) for place in (0, 1)]
    if not all(each.size for each in places):
        return False
    first = float(np.mean(places[0][:, None] < places[1][None, :]))
    return max(first, 1.0 - first) > _IN_TURN
