"""Containment over a patch that a hand can feel: slivers between film edges do not decide."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from woold.physics.numeric import refuse_unless
from woold.physics.pattern import Leg
from woold.words import say

__all__ = [
    "PATCH",
    "FeltContainment",
    "FeltZone",
    "Patch",
    "PatchGrid",
    "felt_containment",
    "felt_zone",
    "patch_grid",
    "rows_of_zone",
    "span_of_zone",
]

Array = npt.NDArray[np.float64]

_CELLS_HIGH = 5
_ON_STEP = 1e-6
_ALIKE = 1e-10
_MOST_CELLS = 4_000_000
_ROOM = 4


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
class PatchGrid:
    """Where the patches of a load stand.

    Args:
        high: cells up the side, of which a patch is five high.
        around: patches round it; as many again stand half a patch farther.
        step: height of a cell [m].
    """

    high: int
    around: int
    step: float

    @property
    def rows(self) -> int:
        """Rows of patches."""
        return self.high - _CELLS_HIGH + 1

    @property
    def patch(self) -> float:
        """Height of a patch [m]."""
        return _CELLS_HIGH * self.step

    @property
    def bottoms(self) -> Array:
        """Lower ends of the rows over the deck, shape (rows,) [m]."""
        return np.arange(self.rows, dtype=np.float64) * self.step


def patch_grid(perimeter: float, load_height: float, patch: Patch = PATCH) -> PatchGrid:
    """Where the patches of a load stand.

    Args:
        perimeter: of the load's convex outline [m].
        load_height: product above the deck [m].
        patch: size of the patch; on a lower load or shorter perimeter all of that.
    """
    high = max(round(_CELLS_HIGH * load_height / patch.patch_height), _CELLS_HIGH)
    around = max(round(perimeter / patch.patch_length), 1)
    return PatchGrid(high, around, load_height / high)


@dataclass(frozen=True, slots=True)
class FeltContainment:
    """Containment over patches of a load's sides, for each weighting, in its unit.

    Args:
        least: of any patch, shape (weightings,).
        least_height: height of that patch's middle over the deck, shape (weightings,) [m].
        least_position: place of its middle round the perimeter, 0 to 1 of a turn, likewise [-].
        heights: of the patches' middles over the deck, shape (rows,) [m].
        least_round: least round the perimeter at each of them, shape (weightings, rows).
        patches: every patch, from the lowest up: those of a height stand half a patch apart, in
            steps of one fifth of a patch's height, shape (weightings, rows, places).
        step: that fifth [m].
    """

    least: Array
    least_height: Array
    least_position: Array
    heights: Array
    least_round: Array
    patches: Array
    step: float


@dataclass(frozen=True, slots=True)
class FeltZone:
    """Containment over the patches of a zone of height.

    Args:
        least: of any patch, in the unit of the patches.
        least_height: height of its middle over the deck [m].
        share_below: share of the zone's patches below what is asked [-].
    """

    least: float
    least_height: float
    share_below: float


def rows_of_zone(zone: tuple[float, float], step: float, rows: int) -> tuple[int, int]:
    """First and last row of the patches by which a zone of height is judged.

    Those that lie within it, so that film beyond its ends says nothing of it; in a zone that is
    lower than a patch, every patch that lies over it.

    Args:
        zone: lower and upper end over the deck [m].
        step: between rows [m].
        rows: how many there are.
    """
    first = math.ceil(zone[0] / step - _ON_STEP)
    last = math.floor(zone[1] / step + _ON_STEP) - _CELLS_HIGH
    if last < first:
        ends = math.floor(zone[0] / step + _ON_STEP), math.ceil(zone[1] / step - _ON_STEP)
        first, last = sorted((ends[0], ends[1] - _CELLS_HIGH))
    return min(max(first, 0), rows - 1), min(max(last, 0), rows - 1)


def span_of_zone(zone: tuple[float, float], step: float, rows: int) -> tuple[float, float]:
    """Heights between which those patches lie, and the zone itself [m].

    Args:
        zone, step, rows: as for :func:`rows_of_zone`.
    """
    first, last = rows_of_zone(zone, step, rows)
    return min(zone[0], first * step), max(zone[1], (last + _CELLS_HIGH) * step)


def felt_zone(
    patches: Array, step: float, zone: tuple[float, float], asked: float = 0.0
) -> FeltZone:
    """Least containment over the patches within a zone of height, and the share below a target.

    Which patches those are, :func:`rows_of_zone` says.

    Args:
        patches: as :class:`FeltContainment` has them, shape (rows, places).
        step: between rows [m].
        zone: lower and upper end over the deck [m].
        asked: what is asked, in the unit of the patches.

    Returns:
        Least, where it is, and the share below what is asked.
    """
    first, last = rows_of_zone(zone, step, len(patches))
    within = patches[first : last + 1]
    lowest = int(within.argmin())
    least, limit = float(within.flat[lowest]), asked * (1.0 - 1e-9)  # rounding is no shortfall
    below = int(np.count_nonzero(within < limit)) if least < limit else 0
    return FeltZone(
        least=least,
        least_height=(first + lowest // within.shape[1] + 0.5 * _CELLS_HIGH) * step,
        share_below=below / within.size,
    )


def felt_containment(
    legs: Sequence[Leg],
    weights: Sequence[Sequence[float]],
    perimeter: float,
    load_height: float,
    patch: Patch = PATCH,
    held: Callable[[Array], Array] | None = None,
) -> FeltContainment:
    """Least containment over a patch of the load's sides.

    C = mean over the patch of sum over passes of their weights. The mean over its height is exact;
    along the perimeter a pass counts by its part of the patch, its edge in the middle of that.
    Patches stand a fifth of their height and half of their length apart, so beside a level edge the
    least can be missed by a tenth of a layer.

    Args:
        legs: legs of the film's path.
        weights: what each pass of a leg counts, 1 for layers or a force for containment, once for
            each weighting, shape (weightings, legs).
        perimeter: of the load's convex outline [m].
        load_height: product above the deck [m].
        patch: size of the patch; on a lower load or shorter perimeter all of that.
        held: what patches hold, made of their mean weights, shapes (weightings, rows, places),
            where that is not the mean itself.

    Returns:
        Least, where it is, its course over the height, and every patch.

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
    grid = patch_grid(perimeter, load_height, patch)
    high, around = grid.high, grid.around
    refuse_unless(
        high * around <= _MOST_CELLS,
        "patch_height",
        patch.patch_height,
        say("a patch that is not this small against the load"),
    )
    # Both halves of the patches stand side by side, the second shifted by half a patch.
    means = _patch_means(_path_table(legs), np.asarray(weights, float), load_height, (high, around))
    if held is not None:
        means = np.asarray(held(means), float)
    least_round = means.min(axis=2)
    # Of patches that hold alike the lowest is named, whatever the order of sums makes of them.
    alike = _ALIKE * np.abs(np.asarray(weights, float)).max(axis=1)[: len(means)]
    lowest = _first_of_least(least_round, alike)
    each = np.arange(len(means))
    half, place = np.divmod(_first_of_least(means[each, lowest], alike), around)
    heights: Array = (np.arange(grid.rows, dtype=np.float64) + 0.5 * _CELLS_HIGH) * grid.step
    return FeltContainment(
        least=least_round[each, lowest],
        least_height=heights[lowest],
        least_position=(place + 0.5 - 0.5 * half) / around % 1.0,
        heights=heights,
        least_round=least_round,
        patches=means,
        step=grid.step,
    )


def _first_of_least(values: Array, alike: Array) -> npt.NDArray[np.intp]:
    """Index of the first in each row that is least, but for what is alike."""
    least = values.min(axis=1)
    first: npt.NDArray[np.intp] = (values <= (least + alike)[:, None]).argmax(axis=1)
    return first


def _path_table(legs: Sequence[Leg]) -> Array:
    """First and last turn, first edge, travel a turn and width of each leg, shape (5, legs)."""
    table = np.array(
        [(leg.first_turn, leg.last_turn, leg.first_edge, leg.last_edge, leg.width) for leg in legs]
    ).T
    first, last, edge, end, width = table
    return np.array([first, last, edge, (end - edge) / (last - first), width])


def _patch_means(table: Array, weights: Array, load_height: float, shape: tuple[int, int]) -> Array:
    """Mean weight of every patch, shape (weightings, rows, 2 places).

    Args:
        table: of the legs.
        weights: of the legs, shape (weightings, legs).
        load_height: product above the deck [m].
        shape: cells up the side, and patches round it.
    """
    high, around = shape
    # Turns in patches, for either half.
    legs = table.shape[1]
    shift = np.repeat([0.0, 0.5], legs)
    first, last, edge, travel, width = np.tile(table, 2)
    first, last = first * around + shift, last * around + shift
    begins = np.floor(first).astype(np.int64)
    counts = np.ceil(last).astype(np.int64) - begins
    of = np.repeat(np.arange(2 * legs), counts)
    column = np.arange(len(of)) + (begins - np.cumsum(counts) + counts)[of]
    # The part of its column that the leg covers, and its edge in the middle of that.
    start, stop = np.maximum(column, first[of]), np.minimum(column + 1, last[of])
    slope = travel / around
    low = (edge - slope * first)[of] + (0.5 * slope)[of] * (start + stop)
    place = column - around * (column // around) + around * (of >= legs)
    bounds = np.concatenate([low, low + width[of]]) * (high / load_height)
    at = np.minimum(np.maximum(bounds, 0.0), high)
    row = at.astype(np.int64)
    cell = row * (2 * around) + np.concatenate([place, place])
    cells, over = np.concatenate([cell, cell + 2 * around]), at - row
    rows = high - _CELLS_HIGH + 1
    # Asked for at once and never filled, so that the allocator keeps what it is given back: getting
    # the pages of large arrays anew in each call takes longer than all that is done with them.
    means: Array = np.empty((len(weights) + _ROOM, rows, 2 * around))[: len(weights)]
    for index, each in enumerate(np.tile(weights, 2)):
        change = (stop - start) * each[of]
        change = np.concatenate([change, -change])
        later = change * over
        laid = _running_sums(cells, np.concatenate([change - later, later]), (high + 2, 2 * around))
        np.add(laid[:rows], laid[1 : 1 + rows], out=means[index])
        for row_in_patch in range(2, _CELLS_HIGH):
            means[index] += laid[row_in_patch : row_in_patch + rows]
    means *= 1.0 / _CELLS_HIGH
    return means


def _running_sums(cells: npt.NDArray[np.int64], changes: Array, shape: tuple[int, int]) -> Array:
    """Sums, up the rows, of changes laid into cells of a map of that shape, and some rows more."""
    high, around = shape
    block = math.isqrt(high) + 1
    blocks = -(-high // block)
    laid = np.bincount(cells, changes, minlength=blocks * block * around)
    map_ = np.asarray(laid, dtype=float).reshape(blocks, block, around)
    # By blocks: several times as quick as one row after the other.
    for inner in range(1, block):
        map_[:, inner] += map_[:, inner - 1]
    for outer in range(1, blocks):
        map_[outer] += map_[outer - 1, -1]
    return map_.reshape(-1, around)
