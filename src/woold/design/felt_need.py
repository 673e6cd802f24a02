"""What must be felt of every patch of a load, and what that asks of any program at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.design.targets import LayerZone, Targets
from woold.physics import film
from woold.physics.bands import NeedSteps, need_steps
from woold.physics.felt_patch import PatchGrid, rows_of_zone
from woold.prediction.film_over_height import film_loss_range
from woold.prediction.result import FilmOnLoad

__all__ = ["FeltNeed", "bounding_zones", "felt_need", "mean_zones", "older_factor"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FeltNeed:
    """Mean layers that each row of patches needs.

    Args:
        grid: where the patches stand.
        layers: needed of film that is just laid, shape (rows,) [-].
        factor: how many times as many of older film, for each of many programs or one for all [-].
    """

    grid: PatchGrid
    layers: Floats
    factor: Floats | float = 1.0

    def some_rows(self, step: int) -> NDArray[np.intp]:
        """One of so many rows where anything is needed, beside those where the need changes."""
        ends = np.flatnonzero(np.diff(self.layers, prepend=0.0, append=0.0))
        rows = np.unique(np.concatenate([np.arange(0, self.grid.rows, step), ends, ends - 1]))
        rows = rows[(rows >= 0) & (rows < self.grid.rows)]
        return np.asarray(rows[self.layers[rows] > 0.0])


def felt_need(targets: Targets, case: Case, sheet: FilmOnLoad, grid: PatchGrid) -> FeltNeed:
    """What is asked over patches, in layers of one film at one force that was just laid.

    Args:
        targets: what must be held.
        case: the case with that film and force.
        sheet: that film on the load.
        grid: where the patches stand.
    """
    layers = np.zeros(grid.rows)
    for zone in targets.felt_zones(case, sheet):
        first, last = rows_of_zone((zone.low, zone.high), grid.step, grid.rows)
        layers[first : last + 1] = np.maximum(layers[first : last + 1], zone.layers)
    return FeltNeed(grid, layers)


def mean_zones(targets: Targets, case: Case, sheet: FilmOnLoad, grid: PatchGrid) -> NeedSteps:
    """Mean layers needed by the lower ends of patches, for a bound that needs no whole layers.

    Of patches that stand a film's width or more apart, a pass covers no more than one patch in all:
    what it covers of two lies outside of the film's width between them. So no fewer passes do than
    bands cover the lower ends of patches, each of them with its mean layers as they are.

    Args:
        targets: what must be held.
        case: the case with a film and force.
        sheet: that film on the load.
        grid: where the patches stand.

    Source: derived here, by the dual of the covering problem of `woold.physics.bands`.
    """
    zones = []
    for zone in targets.felt_zones(case, sheet):
        first, last = rows_of_zone((zone.low, zone.high), grid.step, grid.rows)
        if last > first:
            zones.append((first * grid.step, last * grid.step, zone.layers))
    return need_steps(zones)


def older_factor(case: Case, ages: Floats) -> Floats:
    """How many times as many layers film of an age needs as film that is just laid [-].

    Args:
        case: the case with a film and force.
        ages: time from when it is laid to the end of the cycle [s].
    """
    loss = film_loss_range(case)[2]
    newest, oldest = (
        np.asarray(film.retained_force_fraction(case.hold.after + age, loss))
        for age in (np.zeros(1), ages)
    )
    return np.asarray(newest / np.maximum(oldest, 1e-9))


def bounding_zones(
    targets: Targets, case: Case, sheet: FilmOnLoad, grid: PatchGrid
) -> list[LayerZone]:
    """Zones that every program covers at every point with film that is so much wider.

    A patch that holds c layers in the mean is touched by c passes, rounded up, since no pass counts
    for more than one. A pass touches it as one that is wider by the patch's height, and by the step
    between patches and by what film climbs within one, covers its upper end.

    Args:
        targets: what must be held.
        case: the case with a film and force.
        sheet: that film on the load.
        grid: where the patches stand.

    Source: derived here; each relaxation only makes the need easier.
    """
    zones = list(targets.layer_zones(case, sheet, is_felt=True))
    for zone in targets.felt_zones(case, sheet):
        first, last = rows_of_zone((zone.low, zone.high), grid.step, grid.rows)
        if last > first:
            low, high = (row * grid.step + grid.patch for row in (first, last))
            zones.append(LayerZone(low, high, zone.layers))
    return zones
