"""Containment over a patch that a hand can feel: slivers between film edges do not decide."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from numba import njit

from woold.physics.numeric import refuse_unless
from woold.words import say

__all__ = ["PATCH", "FeltContainment", "Patch", "felt_containment"]

Array = npt.NDArray[np.float64]

_CELLS_HIGH = 8
_CELLS_LONG = 4
_MOST_CELLS = 4_000_000


@dataclass(frozen=True, slots=True)
class Patch:
    """What a hand can feel of a load's side.

    Args:
        patch_height: up the side [m].
        patch_length: along it [m].
    """

    patch_height: float
    patch_length: float


PATCH: Final = Patch(0.025, 0.050)
"""25 mm high and 50 mm long (a convention of this program)."""


@dataclass(frozen=True, slots=True)
class FeltContainment:
    """Containment over patches of a load's sides, in the unit of the weights.

    Args:
        least: of any patch.
        least_height: height of that patch's middle over the deck [m].
        least_position: place of its middle round the perimeter, 0 to 1 of a turn [-].
        heights: of the patches' middles over the deck, shape (heights,) [m].
        least_round: least round the perimeter at each of them, shape (heights,).
        shares_below: share of all patches below each target, shape (targets,) [-].
    """

    least: float
    least_height: float
    least_position: float
    heights: Array
    least_round: Array
    shares_below: Array


def felt_containment(
    table: Array,
    perimeter: float,
    load_height: float,
    targets: tuple[float, ...] = (),
    patch: Patch = PATCH,
) -> FeltContainment:
    """Least containment over a patch of the load's sides, and the share of patches below a target.

    C = mean over the patch of sum over passes of their weights. The mean over its height is exact;
    along the perimeter every pass is cut into quarters of the patch and taken at their middles.
    Patches stand an eighth of their height and a quarter of their length apart.

    Args:
        table: legs of the film's path as :func:`woold.physics.pattern.leg_table` makes them,
            weights being forces, or 1 for layers, shape (legs, 6).
        perimeter: of the load's convex outline [m].
        load_height: product above the deck [m].
        targets: what is asked, in the weights' unit.
        patch: size of the patch; on a lower load or shorter perimeter all of that.

    Returns:
        Least, where it is, its course over the height, and shares below the targets.

    Raises:
        InputError: a size not above 0, or a load of more than four million cells.
    """
    for field, size in (
        ("perimeter", perimeter),
        ("load_height", load_height),
        ("patch_height", patch.patch_height),
        ("patch_length", patch.patch_length),
    ):
        refuse_unless(np.isfinite(size) & (size > 0), field, size, say("a size above 0"))
    high = max(round(_CELLS_HIGH * load_height / patch.patch_height), _CELLS_HIGH)
    around = max(round(_CELLS_LONG * perimeter / patch.patch_length), _CELLS_LONG)
    refuse_unless(
        high * around <= _MOST_CELLS,
        "patch_height",
        patch.patch_height,
        say("a patch that is not this small against the load"),
    )
    rows = high - _CELLS_HIGH + 1
    least_round = np.empty(rows)
    below = np.zeros(len(targets), dtype=np.int64)
    sums = np.zeros((high + 2, around))
    _lay_passes(np.ascontiguousarray(table, dtype=np.float64), load_height / high, high, sums)
    # A patch that holds what is asked but for rounding is not below it.
    _feel(sums, np.array(targets, dtype=np.float64) * (1.0 - 1e-9), least_round, below)
    lowest, means = int(np.argmin(least_round)), np.empty(around)
    _patch_means(sums, lowest, means)
    middles = (np.arange(rows) + 0.5 * _CELLS_HIGH) * load_height / high
    position = (int(np.argmin(means)) + 0.5 * _CELLS_LONG) / around
    return FeltContainment(
        least=float(least_round[lowest]),
        least_height=float(middles[lowest]),
        least_position=float(position - math.floor(position)),
        heights=middles,
        least_round=least_round,
        shares_below=below / (rows * around),
    )


@njit(cache=True)
def _lay_passes(table, step, high, sums):  # type: ignore[no-untyped-def]
    """Adds every pass to the cells' differences up the side, shape (high + 2, around)."""
    around = sums.shape[1]
    cell = 1.0 / around
    for leg in range(table.shape[0]):
        first, last, edge, end, width, weight = table[leg]
        if last <= first:
            continue
        slope = (end - edge) / (last - first)
        for column in range(math.floor(first * around), math.ceil(last * around)):
            # The part of this column that the leg covers, and its edge in the middle of that.
            begin, stop = max(column * cell, first), min((column + 1) * cell, last)
            share = (stop - begin) / cell
            if share <= 0.0:
                continue
            low = edge + slope * (0.5 * (begin + stop) - first)
            place = column % around
            for bound, sign in ((low, weight * share), (low + width, -weight * share)):
                at = min(max(bound / step, 0.0), float(high))
                whole = int(at)
                part = at - whole
                sums[whole, place] += sign * (1.0 - part)
                sums[whole + 1, place] += sign * part


@njit(cache=True, fastmath=True)
def _patch_means(sums, row, means):  # type: ignore[no-untyped-def]
    """Means of the patches of one row, from prefix sums up the side."""
    around = means.shape[0]
    scale = 1.0 / (_CELLS_HIGH * _CELLS_LONG)
    strip = np.empty(around + _CELLS_LONG - 1)
    for column in range(around):
        strip[column] = scale * (sums[row + _CELLS_HIGH, column] - sums[row, column])
    for column in range(_CELLS_LONG - 1):
        strip[around + column] = strip[column]
    for column in range(around):
        means[column] = strip[column]
        for part in range(1, _CELLS_LONG):
            means[column] += strip[column + part]


@njit(cache=True, fastmath=True)
def _feel(sums, targets, least_round, below):  # type: ignore[no-untyped-def]
    """Means over patches from the cells' differences, which it overwrites by prefix sums."""
    around = sums.shape[1]
    cells = np.zeros(around)
    running = np.zeros(around)
    for row in range(sums.shape[0]):
        for column in range(around):
            cells[column] += sums[row, column]
            sums[row, column] = running[column]
            running[column] += cells[column]
    means = np.empty(around)
    for row in range(least_round.shape[0]):
        _patch_means(sums, row, means)
        smallest = np.inf
        for column in range(around):
            smallest = min(smallest, means[column])
        least_round[row] = smallest
        for target in range(targets.shape[0]):
            count = 0
            for column in range(around):
                count += means[column] < targets[target]
            below[target] += count
