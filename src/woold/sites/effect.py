"""The effect of a site, -ln(1 - saving): zero when nothing is saved; effects add up."""

from __future__ import annotations

import math

__all__ = ["effect_of", "saving_of"]


def effect_of(saving: float) -> float:
    """Effect -ln(1 - saving) of a saving [-]."""
    return -math.log1p(-saving)


def saving_of(effect: float) -> float:
    """Saving 1 - exp(-effect) [-] of an effect; ends of intervals far out stay finite."""
    return -math.expm1(min(-effect, 700.0))
