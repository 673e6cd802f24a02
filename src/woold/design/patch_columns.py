"""Fewest whole turns of any program, from one column of patches.

Over the patches that stand above one another every turn lays a band of film once, so that their
passes are a whole number, and all that the verdict asks is asked of those passes alone: mean layers
over each patch, cover, and edges that lie no farther apart than the carriage travels in a turn. No
program makes fewer turns than the fewest passes of a column, less the patches at which its film
begins and ends. Found by a linear program whose dual proves the bound; the fewest passes are that
bound rounded up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.design.bound import whole_layers
from woold.design.candidate import Group
from woold.design.choices import Choices
from woold.design.felt_need import felt_need
from woold.design.helices import edge_travel, roped_turns
from woold.design.linear_program import Covering
from woold.design.targets import Targets
from woold.physics.felt_patch import PatchGrid

__all__ = ["Column", "column_of", "fewest_passes"]

Floats = NDArray[np.float64]

_STEP = 0.005
"""Edges are told apart by this much; within it each counts as the best of them [m]."""

_COVER_STEP = 0.02
"""Step of the heights at which cover is looked at [m]."""

_ROUNDING = 1e-7


@dataclass(frozen=True, eq=False)
class Column:
    """What every program of a case does over a column of patches.

    Args:
        grid: where the patches stand.
        low, high: lower edge of the film at the bottom and at the top [m].
        most_travel: the most that its carriage travels in a turn [m].
        returns: whether it comes down again.
        at_bottom, at_top: whole turns that it makes there in any case, not gathered ones [-].
        ropes: lower and upper edge of each rope [m], its turns, and layers that a turn counts as.
    """

    grid: PatchGrid
    low: float
    high: float
    most_travel: float
    returns: bool
    at_bottom: float
    at_top: float
    ropes: tuple[tuple[float, float, float, float], ...]

    @property
    def climb(self) -> float:
        """Most that the film climbs along a patch [m].

        A pass that goes on otherwise within a patch lies at two heights there, no farther apart,
        each for a part of it.
        """
        return self.most_travel / self.grid.around

    def gathered(self, low: float, high: float) -> float:
        """Most layers that ropes lay anywhere between two heights [-]."""
        return sum(
            math.ceil(turns - 1e-9) * layers
            for start, end, turns, layers in self.ropes
            if start <= high + 1e-9 and low <= end + 1e-9
        )


def column_of(case: Case, choices: Choices, width: float, grid: PatchGrid) -> Column:
    """What every program of the choices does over a column of patches.

    Args:
        case: the case.
        choices: largest rise and fall, fewest wraps.
        width: film width on the load [m].
        grid: where the patches stand.
    """
    low, high = edge_travel(case, width)
    closing, returns = case.program.closing_wraps, bool(choices.falls)
    ropes = []
    for rope in case.program.ropes:
        edge = low + (width - rope.width if rope.at_edge == "upper" else 0.0)
        turns = rope.last_turn - rope.first_turn
        ropes.append((edge, edge + rope.width, turns, width / rope.width))
    bottom = _whole(max(choices.bottom[0], roped_turns(case)))
    bottom -= sum(math.ceil(each[2] - 1e-9) for each in ropes)
    at_top = _whole(choices.top[0])
    if returns:
        bottom += _whole(closing)
    else:
        at_top = _whole(choices.top[0] + closing)
    steepest = max((*choices.rises, *choices.falls))
    return Column(grid, low, high, steepest, returns, max(bottom, 0.0), at_top, tuple(ropes))


def fewest_passes(targets: Targets, group: Group, column: Column) -> float:
    """Fewest whole passes over a column of patches; infinite where none will do.

    Equation: least sum of x(e) over edges e, with a(e, p) the part of a patch p over which film
    with its lower edge at e lies, for every patch sum of a x >= need; for every need n + f with a
    part f of a layer, sum of min(a/f, 1) x >= n + 1 (since x are whole numbers); over every height
    that must be covered, sum of x >= layers; and in every window as high as the carriage travels in
    a turn, x >= the ways that pass it.

    Args:
        targets: what must be held.
        group: film, pre-stretch and force.
        column: what every program does.

    Source: mixed-integer rounding of each row; the bound is that of the dual found by a linear
        program, reckoned anew here so that no rounding of the solver counts.
    """
    count = max(math.ceil((column.high - column.low) / _STEP - 1e-9), 1)
    low: Floats = np.asarray(column.low + _STEP * np.arange(count), dtype=np.float64)
    high: Floats = np.maximum(np.minimum(low + _STEP, column.high), low)
    rows, least = zip(*_rows(targets, group, column, (low, high)), strict=True)
    if not np.isfinite(least).all():
        return math.inf
    table, needed = np.array(rows, dtype=float), np.array(least, dtype=float)
    found = Covering(table, needed, np.ones(count), options={"presolve": "off"}).solved()
    if found.is_possible is False:
        return math.inf
    gathered = sum(math.floor(each[2] + 1e-9) for each in column.ropes)
    if not math.isfinite(found.bound):
        return gathered
    # The solver's dual may break its rows by a rounding: reckoned off for every pass.
    broken = max(float((found.duals @ table - 1.0).max()), 0.0)
    proven = float(found.duals @ needed) - broken * (found.bound + 1.0)
    return math.ceil(proven - 1e-6) + gathered


def _rows(
    targets: Targets, group: Group, column: Column, edges: tuple[Floats, Floats]
) -> Iterator[tuple[NDArray[Any], float]]:
    """Rows of the linear program, and what each must come to at least."""
    (low, high), width, climb = edges, group.sheet.width, column.climb
    yield from _patch_rows(targets, group, column, edges)
    for zone in targets.layer_zones(group.case, group.sheet, is_felt=True):
        count = math.ceil((zone.high - zone.low) / _COVER_STEP)
        for height in np.linspace(zone.low, zone.high, count + 1):
            covers = (low - climb <= height + 1e-9) & (high + climb + width >= height - 1e-9)
            yield covers, whole_layers(zone.layers) - column.gathered(height, height)
    yield low <= column.low + climb, column.at_bottom
    yield high >= column.high - climb, column.at_top
    # Passes on the way up and down are others but where they may meet at the top.
    shared = column.most_travel if column.at_top < 1.0 else 2.0 * climb
    for begin in low:
        end = begin + column.most_travel
        if end > column.high:
            break
        passes = 2.0 if column.returns and end < column.high - shared else 1.0
        yield (high >= begin - 1e-9) & (low <= end + 1e-9), passes


def _patch_rows(
    targets: Targets, group: Group, column: Column, edges: tuple[Floats, Floats]
) -> Iterator[tuple[NDArray[Any], float]]:
    """Rows of the patches on which something must be felt."""
    felt = felt_need(targets, group.case, group.sheet, column.grid)
    patch, bottoms = column.grid.patch, column.grid.bottoms
    laid = [column.gathered(bottom, bottom + patch) for bottom in bottoms.tolist()]
    needs = felt.layers * (1.0 - _ROUNDING) - np.array(laid)
    some = np.flatnonzero(needs > 0.0)
    parts = _most_over_patch(edges, group.sheet.width, (bottoms[some, None], patch), column.climb)
    for part, need in zip(parts, needs[some].tolist(), strict=True):
        yield part, need
        rest = need - math.floor(need)
        if rest > _ROUNDING:
            yield np.minimum(part / rest, 1.0), math.ceil(need)


def _most_over_patch(
    edges: tuple[Floats, Floats], width: float, patch: tuple[Floats, float], climb: float
) -> Floats:
    """Largest part of each patch under film whose lower edge lies within each step [-].

    Just beside the film, where the part begins, a pass at two heights lies over more than one at
    their mean: by the chord from one to the other.
    """
    (low, high), (bottom, height) = edges, patch
    # Where the film lies over most: from the edge that reaches the patch's top to its bottom.
    over = np.clip(bottom, low, high)
    over = np.where(
        over + width < bottom + height, np.clip(bottom + height - width, low, high), over
    )
    inside = np.minimum(bottom + height - over, over + width - bottom)
    chord = np.where(
        np.abs(inside) < climb, (climb + inside) ** 2 / (4.0 * max(climb, 1e-9)), inside
    )
    part: Floats = np.clip(chord / height, 0.0, min(width / height, 1.0))
    return part


def _whole(turns: float) -> float:
    return float(math.floor(turns + 1e-9))
