"""Friction between tiers: what it carries of the inertia force, and what is left for the film."""

from __future__ import annotations

from typing import Final

import numpy as np

from woold.physics.numeric import FloatOrArray
from woold.physics.restraint import KINETIC_SHARE

__all__ = ["GRAVITY", "LOOSE_MARGIN", "SLIP_MARGIN", "force_beyond_friction", "restraint_needed"]

GRAVITY: Final = 9.81
"""Gravity, rounded as in the rules' worked cases [m/s^2]."""

SLIP_MARGIN: Final = 1.1
"""An interface counts as slipping from this much below its friction: a start swings. Enough for
packages that hardly give; soft ones swing more [-]."""

LOOSE_MARGIN: Final = 1.2
"""Below this a start may still break an interface loose, which then has kinetic friction alone: of
a load that does not hold then it cannot be said. A judgement; of random loads between the two, a
quarter to a half failed in a time simulation [-]."""

_ROUNDING: Final = 1e-12


def force_beyond_friction(
    mass_above: FloatOrArray,
    friction: FloatOrArray,
    horizontal: FloatOrArray,
    vertical: FloatOrArray = 1.0,
    vertical_force: FloatOrArray = 0.0,
) -> FloatOrArray:
    """Part of the inertia force over an interface that friction does not carry.

    Equation: max(0, c W - mu (c_z W + V)), W = m g.

    Args:
        mass_above: mass above the interface [kg].
        friction: friction of the interface [-].
        horizontal: horizontal acceleration c, as a share of gravity [-].
        vertical: downward share c_z [-].
        vertical_force: force V that presses it together besides weight [N].

    Returns:
        Force [N]; above 0 the interface slips.

    Source: Coulomb friction; EN 12195-1:2010.
    """
    weight = np.asarray(mass_above) * GRAVITY
    pushed = np.asarray(horizontal * weight)
    beyond = pushed - friction * (vertical * weight + vertical_force)
    # What friction just carries is not lost to rounding.
    return np.where(beyond > _ROUNDING * pushed, beyond, 0.0)[()]


def restraint_needed(
    mass_above: FloatOrArray,
    friction: FloatOrArray,
    horizontal: FloatOrArray,
    vertical: FloatOrArray = 1.0,
    vertical_force: FloatOrArray = 0.0,
    kinetic_share: float = KINETIC_SHARE,
    slip_margin: float = SLIP_MARGIN,
) -> FloatOrArray:
    """Force that film must give an interface once it slips, when kinetic friction is left.

    Equation: 0 where 1.1 c W <= mu (c_z W + V), else c W - mu_k (c_z W + V).

    Args:
        mass_above, friction, horizontal, vertical, vertical_force: as for
            `force_beyond_friction`, friction static.
        kinetic_share: kinetic over static friction mu_k/mu [-].
        slip_margin: the 1.1 above [-].

    Returns:
        Force [N].

    Source: kinetic friction after the CTU Code, Annex 7 Appendix 2, as default; the margin is a
        judgement, checked against a time simulation.
    """
    pushed = slip_margin * np.asarray(horizontal)
    slips = force_beyond_friction(mass_above, friction, pushed, vertical, vertical_force) > 0
    kinetic = kinetic_share * np.asarray(friction)
    moving = force_beyond_friction(mass_above, kinetic, horizontal, vertical, vertical_force)
    return np.where(slips, moving, 0.0)[()]
