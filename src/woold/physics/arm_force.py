"""The mean film force at the dancer, by its arm's angle over whole turns.

    J φ'' = τ(φ) - N r cos φ T - c φ' - dry friction

While the arm touches no stop, φ'' and φ' average to nothing over whole turns, whatever inertia and
damping are; what is left is the spring against the film. Dry friction averages to less than itself.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.physics.dancer import DancerArm, Spring, spring_torque

__all__ = ["mean_film_force", "relative_error_of_mean"]

Floats = NDArray[np.float64]

_MOST_ALIKE = 0.9
"""Largest correlation of neighbours that is allowed for; a few values tell no larger one [-]."""


def mean_film_force(
    arm_angle: ArrayLike, arm: DancerArm, spring: Spring, hole_radius: float
) -> float:
    """Mean film force, each instant weighed by the arm's lever on the film.

    mean(T cos φ)/mean(cos φ) = mean(τ(φ))/(N r mean(cos φ))

    Args:
        arm_angle: φ over whole turns, evenly spaced in time [rad], any shape.
        arm: lines N, arm length r, anchor.
        spring: the spring.
        hole_radius: pivot to the spring's hole [m].

    Returns:
        Force [N]; zero or less where the spring does not pull towards more stored film.

    Source: the arm's equation of motion, averaged.
    """
    angle = np.asarray(arm_angle, dtype=np.float64)
    torque = spring_torque(angle, arm.anchor, spring, hole_radius)
    lever = arm.film_lines * arm.arm_length * np.cos(angle)
    return float(torque.mean() / lever.mean())


def relative_error_of_mean(values: ArrayLike, chance: float = 0.9) -> float:
    """How far the mean of a few values may be off, neighbours being alike.

    t s/(√m mean), m = n/g, g = (1 + ρ)/(1 - ρ), s² = Σ (x - mean)²/(n - g), with ρ the correlation
    of neighbours, (n r + 1)/(n - 3) for what r of a few values is too low, and no less than 0; t is
    Student's with m - 1 degrees of freedom, m no less than 2.

    Args:
        values: one after the other, above zero, shape (n,), n of 2 or more.
        chance: that the mean lies so near [-].

    Returns:
        Half width over the mean [-].

    Source: variance of the mean of an autoregression of order one, and the bias of r, -(1 + 3ρ)/n:
        M. G. Kendall, Biometrika 41 (1954) 403 (from memory).
    """
    from scipy.special import stdtrit

    each = np.asarray(values, dtype=np.float64)
    count, mean = each.size, float(each.mean())
    off = each - mean
    square = float(off @ off)
    if square == 0.0:
        return 0.0
    alike = (count * float(off[1:] @ off[:-1]) / square + 1.0) / max(count - 3, 1)
    alike = min(max(alike, 0.0), _MOST_ALIKE)
    free = max(count * (1.0 - alike) / (1.0 + alike), 2.0)
    spread = math.sqrt(square / (count - count / free))
    return float(stdtrit(free - 1.0, 0.5 + chance / 2.0)) * spread / (math.sqrt(free) * mean)
