"""Swing of a stack whose packages give: what a start adds to the force between tiers.

Tiers that are pressed in on one side and relieved on the other sway over their foot. A start that
comes sooner than they sway throws them beyond the place where they would lean at rest, and for that
moment an interface must carry more than the acceleration asks, before any film is sheared.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.physics.interface_friction import GRAVITY, SLIP_MARGIN
from woold.physics.numeric import FloatOrArray

__all__ = [
    "OVERTURNING_SHARE",
    "SWAY_SHARE",
    "SWING_SHARE",
    "overturning_factor",
    "slip_factor",
    "sway_travel",
    "swing_frequency",
]

Floats = NDArray[np.float64]

_SHEAR_SHARE: Final = 0.75
"""Part of a column's base force that sways with it where it leans in a straight line:
(sum m z)^2/(M sum m z^2) of an even column [-]."""

_AFTER_HALF_A_SWING: Final = 0.85
"""What half a swing leaves at 5 % of critical damping, exp(-pi 0.05): an estimate [-]."""

_PEAK_COUNTS: Final = 0.78
"""Part of a swing's peak that breaks an interface loose: above it a tier has too little time to
move; a judgement, checked against a time simulation of random loads [-]."""

SWING_SHARE: Final = _SHEAR_SHARE * _AFTER_HALF_A_SWING * _PEAK_COUNTS
"""What a sudden start adds to the force over an interface, over what the acceleration asks [-]."""

SWAY_SHARE: Final = 0.75
"""Part of the way by which the stack leans that is added to the travel of an interface which the
swing breaks loose: a judgement, checked against a time simulation of random loads [-]."""

OVERTURNING_SHARE: Final = 0.15
"""Part of a swing by which a tipping limit comes down: a foot that lifts for a moment comes back,
so far less than all; a judgement, checked against a time simulation [-]."""


def swing_frequency(heights: Floats, masses: Floats, support: float, give: float) -> float:
    """Lowest natural frequency of tiers that sway on one another as they give, from below.

    Equation: 1/omega^2 = sum_j m_j sum_{i<=j} [(z_j - y_i)^2 + r_j^2 + a^2]/K (Dunkerley),
    K = M g a^2/give, r^2 = ((2 a)^2 + h^2)/12: body j at z_j turns about each face y_i under it,
    which gives along as it does down.

    Args:
        heights: of the bodies from the lowest up, the pallet first, shape (b,) [m].
        masses: shape (b,) [kg].
        support: a, from the middle to the edge in the direction of the movement [m].
        give: by how much all of the weight presses an interface in [m].

    Returns:
        omega [rad/s]; infinite where nothing gives.

    Source: S. Dunkerley, Phil. Trans. R. Soc. A 185 (1894) 279, from memory; the stiffness of an
        interface that is pressed at its two ends, derived here. As soft along as down: the time
        simulation's contacts; nobody measured it.
    """
    if give <= 0.0:
        return float("inf")
    faces = np.concatenate([[0.0], np.cumsum(heights)[:-1]])
    arms = faces + 0.5 * heights - faces[:, None]
    turning = ((2.0 * support) ** 2 + heights**2) / 12.0
    swept = np.where(arms > 0.0, arms**2 + turning + support**2, 0.0).sum(axis=0)
    weight = float(masses.sum()) * GRAVITY
    return float(np.sqrt(weight * support**2 / (give * (masses @ swept))))


def slip_factor(residual: FloatOrArray, least: float = SLIP_MARGIN) -> FloatOrArray:
    """What an interface must stand before it counts as holding, over what the acceleration asks.

    Equation: max(1.1, 1 + 0.75 0.85 0.78 R).

    Args:
        residual: swing that a start leaves, R, as `woold.physics.sudden_start` gives it [-].
        least: the 1.1 above [-].

    Returns:
        Factor on the acceleration [-].

    Source: an even column that leans in a straight line and loses a little of each swing, derived
        here; the least and the part of a peak that counts are judgements, checked against a time
        simulation.
    """
    return np.maximum(least, 1.0 + SWING_SHARE * np.asarray(residual))[()]


def sway_travel(horizontal: FloatOrArray, frequency: FloatOrArray) -> FloatOrArray:
    """Travel that a swing adds to an interface which it breaks loose.

    Equation: 0.75 c g/omega^2: c g/omega^2 is how far the stack leans at rest under the
    acceleration, and so the measure of what a swing can move.

    Args:
        horizontal: acceleration c, as a share of gravity [-].
        frequency: omega of the swing [rad/s].

    Returns:
        Travel [m]; 0 where nothing gives.

    Source: a judgement, checked against a time simulation of random loads; without it 9 % of what
        was said to hold did not, where packages give by 2 mm.
    """
    leans: FloatOrArray = np.asarray(horizontal) * GRAVITY / np.asarray(frequency) ** 2
    return SWAY_SHARE * leans


def overturning_factor(residual: FloatOrArray) -> FloatOrArray:
    """The same for tipping.

    Equation: 1 + 0.15 R.

    Args:
        residual: swing that a start leaves, R [-].

    Returns:
        Factor on the acceleration [-].

    Source: a judgement, checked against a time simulation of random loads.
    """
    return (1.0 + OVERTURNING_SHARE * np.asarray(residual))[()]
