"""Containment over a patch that a hand can feel: slivers between film edges do not decide."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from woold.physics.numeric import refuse_unless
from woold.physics.pattern import Leg
from woold.words import say

__all__ = ["PATCH", "FeltContainment", "Patch", "felt_containment"]

Array = npt.NDArray[np.float64]

_CELLS_HIGH = 5
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
    legs: Sequence[Leg],
    weights: Sequence[float],
    perimeter: float,
    load_height: float,
    targets: tuple[float, ...] = (),
    patch: Patch = PATCH,
) -> FeltContainment:
    """Least containment over a patch of the load's sides, and the share of patches below a target.

    C = mean over the patch of sum over passes of their weights. The mean over its height is exact;
    along the perimeter a pass counts by its part of the patch, its edge in the middle of that.
    Patches stand a fifth of their height and half of their length apart, so beside a level edge the
    least can be missed by a tenth of a layer.

    Args:
        legs: legs of the film's path.
        weights: what each pass of a leg counts: 1 for layers, a force for containment.
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
    around = max(round(perimeter / patch.patch_length), 1)
    refuse_unless(
        high * around <= _MOST_CELLS,
        "patch_height",
        patch.patch_height,
        say("a patch that is not this small against the load"),
    )
    rows = high - _CELLS_HIGH + 1
    table = _path_table(legs, weights)
    limits = [target * (1.0 - 1e-9) for target in targets]  # rounding falls short of nothing
    below = np.zeros(len(limits))
    least_round, places = np.full(rows, np.inf), np.zeros(rows)
    # One half of the patches after the other: two small maps are quicker than one large one.
    for shift in (0.0, 0.5):
        means = _patch_means(table, load_height, (high, around), shift)
        column = means.argmin(axis=1)
        least = means[np.arange(rows), column]
        places = np.where(least < least_round, (column + 0.5 - shift) / around, places)
        least_round = np.minimum(least_round, least)
        below += [np.count_nonzero(means < limit) for limit in limits]
    lowest = int(np.argmin(least_round))
    middles = (np.arange(rows) + 0.5 * _CELLS_HIGH) * load_height / high
    return FeltContainment(
        least=float(least_round[lowest]),
        least_height=float(middles[lowest]),
        least_position=float(places[lowest] % 1.0),
        heights=middles,
        least_round=least_round,
        shares_below=below / (2 * rows * around),
    )


def _path_table(legs: Sequence[Leg], weights: Sequence[float]) -> Array:
    """First and last turn, first edge, travel a turn, width and weight of each leg, (6, legs)."""
    table = np.array(
        [(leg.first_turn, leg.last_turn, leg.first_edge, leg.last_edge, leg.width) for leg in legs]
    ).T
    first, last, edge, end, width = table
    return np.array([first, last, edge, (end - edge) / (last - first), width, weights])


def _patch_means(table: Array, load_height: float, shape: tuple[int, int], shift: float) -> Array:
    """Mean weight of every patch, shape (rows, places).

    Args:
        table: of the legs.
        load_height: product above the deck [m].
        shape: cells up the side, and patches round it.
        shift: of the places, in patches.
    """
    high, around = shape
    first, last = table[0] * around + shift, table[1] * around + shift
    begins = np.floor(first).astype(np.int64)
    counts = np.ceil(last).astype(np.int64) - begins
    of = np.repeat(np.arange(len(counts)), counts)
    column = np.arange(len(of)) + (begins - np.cumsum(counts) + counts)[of]
    # The part of its column that the leg covers, and its edge in the middle of that.
    start, stop = np.maximum(column, first[of]), np.minimum(column + 1, last[of])
    change = (stop - start) * table[5, of]
    slope = table[3] / around
    low = (table[2] - slope * first)[of] + (0.5 * slope)[of] * (start + stop)
    place = column - around * (column // around)
    bounds = np.concatenate([low, low + table[4, of]]) * (high / load_height)
    at = np.minimum(np.maximum(bounds, 0.0), high)
    row = at.astype(np.int64)
    change = np.concatenate([change, -change])
    over = change * (at - row)
    cell = row * around + np.concatenate([place, place])
    block = math.isqrt(high) + 1
    blocks = -(-(high + 2) // block)
    changes = np.bincount(
        np.concatenate([cell, cell + around]),
        np.concatenate([change - over, over]),
        minlength=blocks * block * around,
    ).reshape(blocks, block, around)
    # Sums up the rows, by blocks: several times as quick as one row after the other.
    for inner in range(1, block):
        changes[:, inner] += changes[:, inner - 1]
    for outer in range(1, blocks):
        changes[outer] += changes[outer - 1, -1]
    cells = np.asarray(changes, dtype=float).reshape(-1, around)
    rows = high - _CELLS_HIGH + 1
    means: Array = cells[:rows] + cells[1 : 1 + rows]
    for each in range(2, _CELLS_HIGH):
        means += cells[each : each + rows]
    means *= 1.0 / _CELLS_HIGH
    return means
