"""What a hand feels of the wrapped load: containment over a patch, and how much falls short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics.felt_patch import PATCH, felt_containment, patch_heights
from woold.physics.pattern import Leg
from woold.prediction.film_over_height import FilmOverHeight, LegForces, soft_share
from woold.prediction.result import FilmOnLoad

__all__ = ["FeltHold", "felt_hold"]


@dataclass(frozen=True, slots=True)
class FeltHold:
    """Least containment over any patch of the load's sides.

    Args:
        now: when the cycle ends [N].
        later, later_low, later_high: at the age asked for, and its range by the loss alone [N].
        height, position: middle of that patch over the deck [m], and round the perimeter [turns].
        by_height: least round the perimeter later, at the heights of the profile [N].
        share_below: share of the sides that is below what is asked; None where nothing is.
    """

    now: float
    later: float
    later_low: float
    later_high: float
    height: float
    position: float
    by_height: NDArray[np.float64]
    share_below: float | None


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
        case: says what is asked where, and how stiff the load is.
        legs: the program's path.
        sheet: the film on the load.
        forces: film force of each leg.
        over_height: film over each height.
        perimeter: of the load's outline [m].
    """
    height = case.load.height
    asked = _asked(case)
    weights, held = [forces.later.tolist()], None
    if case.load.hoop_stiffness is not None:
        weights.append(forces.layers.tolist())

        def held(means: NDArray[np.float64]) -> NDArray[np.float64]:
            shares: NDArray[np.float64] = means[:1] * soft_share(case, sheet, means[1:])
            return shares

    felt = felt_containment(legs, weights, perimeter, height, asked, PATCH, held)
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
    on_side = np.interp(over_height.heights, felt.heights, felt.least_round[0])
    return FeltHold(
        now=now,
        later=later,
        later_low=low,
        later_high=high,
        height=float(felt.least_height[0]),
        position=float(felt.least_position[0]),
        by_height=np.where(over_height.on_load, on_side, over_height.later),
        share_below=felt.share_below if np.any(asked > 0.0) else None,
    )


def _asked(case: Case) -> NDArray[np.float64]:
    """Containment force that is asked for at the height of each patch [N]."""
    heights = patch_heights(case.load.height)
    asked = np.zeros(len(heights))
    for target in case.hold.targets:
        high = case.load.height if target.high is None else target.high
        inside = (heights >= target.low) & (heights <= high)
        asked[inside] = np.maximum(asked[inside], target.force)
    return asked
