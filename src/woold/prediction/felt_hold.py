"""What a hand feels of the wrapped load: containment over a patch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics.felt_patch import felt_containment
from woold.physics.pattern import Leg
from woold.prediction.film_over_height import (
    FilmOverHeight,
    LegForces,
    one_layer_stiffness,
    soft_share,
)
from woold.prediction.result import FeltMap, FilmOnLoad

__all__ = ["FeltHold", "felt_hold"]


@dataclass(frozen=True, slots=True)
class FeltHold:
    """Least containment over any patch of the load's sides.

    Args:
        now: when the cycle ends [N].
        later, later_low, later_high: at the age asked for, and its range by the loss alone [N].
        height, position: middle of that patch over the deck [m], and round the perimeter [turns].
        by_height: least round the perimeter later, at the heights of the profile [N].
        every: what every patch holds.
    """

    now: float
    later: float
    later_low: float
    later_high: float
    height: float
    position: float
    by_height: NDArray[np.float64]
    every: FeltMap


def felt_hold(
    case: Case,
    legs: Sequence[Leg],
    sheet: FilmOnLoad,
    forces: LegForces,
    over_height: FilmOverHeight,
    perimeter: float,
) -> FeltHold:
    """Containment over patches, from the film's force at the age asked for.

    The same patch holds when wrapped as the force over its height did; all legs lose nearly alike.

    Args:
        case: says how high and how stiff the load is.
        legs: the program's path.
        sheet: the film on the load.
        forces: film force of each leg.
        over_height: film over each height.
        perimeter: of the load's outline [m].
    """
    height = case.load.height
    weights, held = [forces.later.tolist()], None
    if case.load.hoop_stiffness is not None:
        weights.append(forces.layers.tolist())
        stiffness = one_layer_stiffness(case, sheet.thickness, sheet.width)

        def held(means: NDArray[np.float64]) -> NDArray[np.float64]:
            shares: NDArray[np.float64] = means[:1] * soft_share(case, stiffness, means[1:])
            return shares

    felt = felt_containment(legs, weights, perimeter, height, held=held)
    later = float(felt.least[0])
    # Where the least patch is, the film's force is more when wrapped by what it loses since.
    near = int(np.abs(over_height.heights - felt.least_height[0]).argmin())
    at = {
        name: float(getattr(over_height, name)[near])
        for name in ("force", "later", "later_low", "later_high")
    }
    now, low, high = (
        later * at[name] / at["later"] if at["later"] > 0.0 else later
        for name in ("force", "later_low", "later_high")
    )
    if later <= 0.0 and forces.later.min() <= 0.0:
        # Film that lost all of its force tells nothing of what it held when it was wrapped.
        weights[0] = forces.now.tolist()
        now = float(felt_containment(legs, weights, perimeter, height, held=held).least[0])
    on_side = np.interp(over_height.heights, felt.heights, felt.least_round[0])
    return FeltHold(
        now=now,
        later=later,
        later_low=low,
        later_high=high,
        height=float(felt.least_height[0]),
        position=float(felt.least_position[0]),
        by_height=np.where(over_height.on_load, on_side, over_height.later),
        every=FeltMap(
            felt.patches[0],
            felt.step,
            # Film of the leg that loses most: a patch of several legs has lost no more.
            worse_share=min(
                low / best if best > 0.0 else 0.0
                for low, best in zip(forces.later_low.tolist(), forces.later.tolist(), strict=True)
            ),
            layer_force=float(forces.later_low.min()),
        ),
    )
