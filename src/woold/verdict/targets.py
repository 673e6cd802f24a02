"""Containment force over the zones that a case asks for, felt over a patch of film."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.physics import film, outlines
from woold.physics.felt_patch import PATCH, felt_containment
from woold.physics.pattern import Leg
from woold.prediction.clock import cycle_clock
from woold.prediction.film_over_height import film_loss_range, one_layer_stiffness, soft_share
from woold.prediction.predict import load_outline, program_legs
from woold.prediction.result import Prediction
from woold.units import show, show_range
from woold.verdict.result import VerdictPart
from woold.words import say

__all__ = ["safe_side", "target_parts"]

Floats = NDArray[np.float64]

_ROUNDING = 1e-7
"""Share of a target below which a lack is rounding [-]."""


def safe_side(case: Case) -> float:
    """Share by which film is judged weaker than the best guess of its loss of force [-].

    The loss is known within a range, of which the verdict takes the worse end.
    """
    value, _, high = film_loss_range(case)
    best, worst = (
        float(film.retained_force_fraction(case.hold.after, loss)) for loss in (value, high)
    )
    return 1.0 - worst / best if best > 0.0 else 0.0


@dataclass(frozen=True, eq=False)
class _Laid:
    """The film as laid: its path, and the force of each leg's film at the age asked for.

    ``held`` makes what patches hold of their mean force and layers, where the load gives way.
    """

    legs: Sequence[Leg]
    forces: Sequence[float]
    layers: Sequence[float]
    perimeter: float
    held: Callable[[NDArray[np.float64]], NDArray[np.float64]]


def _laid(case: Case, prediction: Prediction) -> _Laid:
    legs = program_legs(case, prediction.film_width_on_load_m)
    ages = cycle_clock(case, legs).ages(legs) + case.hold.after
    kept = film.retained_force_fraction(ages, film_loss_range(case)[2])
    forces = case.program.force_to_load * np.asarray(kept)
    width = prediction.film_width_on_load_m
    stiffness = one_layer_stiffness(case, prediction.film_thickness_on_load_m, width)

    def held(means: NDArray[np.float64]) -> NDArray[np.float64]:
        shares: NDArray[np.float64] = means[:1] * soft_share(case, stiffness, means[1:])
        return shares

    return _Laid(
        legs,
        forces.tolist(),
        [width / leg.width for leg in legs],
        outlines.perimeter(load_outline(case)),
        held,
    )


def target_parts(case: Case, prediction: Prediction) -> Iterator[VerdictPart]:
    """A part for each containment target of a case.

    Args:
        case: the case.
        prediction: its prediction.
    """
    if not case.hold.targets:
        return
    laid = _laid(case, prediction)
    for index, target in enumerate(case.hold.targets):
        field = f"hold.targets[{index}]"
        top = case.load.height
        high = top if target.high is None else target.high
        if high > top * (1.0 + 1e-9) or target.low >= high:
            yield VerdictPart(
                "target",
                field,
                holds=None,
                asked=target.force,
                unit="N",
                low_m=target.low,
                high_m=high,
                reason=say(
                    "The zone {zone} reaches above the load, which is {height} high.",
                    zone=show_range(target.low, high, "length"),
                    height=show(top, "length"),
                ),
            )
            continue
        yield _zone_part(field, (target.low, high), target.force, laid)


def _zone_part(field: str, zone: tuple[float, float], asked: float, laid: _Laid) -> VerdictPart:
    """What is felt of the zone alone: its own side, with the film's path as seen from its foot."""
    low, high = zone
    legs = [
        replace(leg, first_edge=leg.first_edge - low, last_edge=leg.last_edge - low)
        for leg in laid.legs
    ]
    weights = (laid.forces, laid.layers)
    felt = felt_containment(legs, weights, laid.perimeter, high - low, asked, held=laid.held)
    least = float(felt.least[0])
    missing = asked - least
    holds = missing <= _ROUNDING * asked
    one_layer = min(laid.forces)
    return VerdictPart(
        "target",
        field,
        holds=holds,
        share=least / asked,
        value=least,
        asked=asked,
        unit="N",
        low_m=low,
        high_m=high,
        height_m=low + float(felt.least_height[0]),
        share_below=0.0 if holds else felt.share_below,
        layers_missing=None if holds or one_layer <= 0.0 else missing / one_layer,
    )


def patch_size() -> tuple[float, float]:
    """Height and length of the patch [m]."""
    return PATCH.patch_height, PATCH.patch_length
