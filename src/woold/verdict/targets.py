"""Containment force over the zones that a case asks for, felt over a patch of film."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from woold.case.model import Case
from woold.physics import film
from woold.physics.felt_patch import PATCH, felt_zone
from woold.prediction.film_over_height import film_loss_range
from woold.prediction.result import FeltMap, Prediction
from woold.units import show, show_range
from woold.verdict.result import VerdictPart
from woold.words import say

__all__ = ["safe_side", "target_parts"]

_ROUNDING = 1e-7
"""Share of a target below which a lack is rounding [-]."""


def safe_side(case: Case) -> float:
    """Share by which film is judged weaker than the best guess of its loss of force [-].

    The loss is known within a range, of which the verdict takes the worse end.
    """
    value, _, high = film_loss_range(case)
    kept = film.retained_force_fraction(case.hold.after, np.array([value, high]))
    best, worst = np.asarray(kept).tolist()
    return 1.0 - worst / best if best > 0.0 else 0.0


def target_parts(case: Case, prediction: Prediction) -> Iterator[VerdictPart]:
    """A part for each containment target of a case.

    Args:
        case: the case.
        prediction: its prediction.
    """
    if not case.hold.targets:
        return
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
        yield _zone_part(field, (target.low, high), target.force, prediction.felt)


def _zone_part(field: str, zone: tuple[float, float], asked: float, felt: FeltMap) -> VerdictPart:
    """What is felt of the zone, if film loses as much of its force as it may."""
    low, high = zone
    worse = felt.worse_share
    needed = asked / worse if worse > 0.0 else math.inf
    found = felt_zone(felt.patches, felt.step, zone, needed)
    least = found.least * worse
    missing = asked - least
    holds = missing <= _ROUNDING * asked
    one_layer = felt.layer_force
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
        height_m=found.least_height,
        share_below=0.0 if holds else found.share_below,
        layers_missing=None if holds or one_layer <= 0.0 else missing / one_layer,
    )


def patch_size() -> tuple[float, float]:
    """Height and length of the patch [m]."""
    return PATCH.patch_height, PATCH.patch_length
