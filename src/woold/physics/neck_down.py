"""Neck-down: the width that film loses while it is drawn in the gap between two rollers.

Drawn film is a solid that hardens, held at full width on the slow roller. Two computations of the
steady draw in two dimensions show that it narrows near its edges only, so that the loss is a
number f of the stretch and the material times the gap, whatever the roll's width. The law here is
fitted to those computations; `reference/` computes them once more.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

from woold.physics.numeric import FloatOrArray, refuse_unless
from woold.words import say

__all__ = [
    "FITTED_EXTENSIBILITY",
    "FITTED_GAP_SHARE",
    "FITTED_STRETCH",
    "FITTED_YIELD_RATIO",
    "HIGH_SIDE",
    "film_width_after_gap",
    "is_within_fit",
    "measured_width_loss_factor",
    "planar_force_ratio",
    "slip_arc_length",
    "steady_drawing_limit",
    "width_loss_factor",
    "width_loss_factor_drawn",
    "width_loss_uncertainty",
]

FITTED_STRETCH: Final = (1.9, 4.5)
"""Stretch ratios of the computations that the law was fitted to [-]."""

FITTED_YIELD_RATIO: Final = (1.0, 8.0)
"""Yield stress over hardening modulus in them [-]."""

FITTED_EXTENSIBILITY: Final = 40.0
"""Least extensibility in them [-]."""

FITTED_GAP_SHARE: Final = 0.4
"""Longest gap in them, over the roll width [-]."""

_SPREAD = np.array([[2.0, 2.5, 3.0, 3.6, 4.0], [0.06, 0.066, 0.07, 0.088, 0.10]])
HIGH_SIDE: Final = 2.0
"""How much wider the law's error is towards more width lost (common practice, no source) [-]."""


def _looseness(stretch: FloatOrArray, extensibility: FloatOrArray) -> FloatOrArray:
    """1/k of planar drawing: what is left of the network's room; 0 once it has locked."""
    invariant = np.square(stretch) + np.power(stretch, -2.0) - 2.0
    return np.maximum(1.0 - invariant / extensibility, 0.0)


def width_loss_factor(
    stretch: FloatOrArray, yield_ratio: FloatOrArray, extensibility: FloatOrArray
) -> FloatOrArray:
    """Width that each edge loses, over the gap, while film is drawn in a short gap.

    f = s (1 - 1/lambda)(.5878 + .9611 s^2 + .2131 s lambda - .3575 s^2 lambda), with
    s^2 = [k (1 - lambda^-2) + r/sqrt(3)]/[k (lambda^2 - lambda^-2) + 2 r/sqrt(3)] and
    k = Jm/(Jm - lambda^2 - lambda^-2 + 2)

    Args:
        stretch: stretch ratio given in the gap, from 1 [-].
        yield_ratio: yield stress over hardening modulus, r = Y/Gp, 0 for none [-].
        extensibility: limit Jm of the first invariant less 3, infinity for none [-].

    Returns:
        f [-]; the whole loss is 2 f G.

    Raises:
        InputError: stretch below 1, a ratio below 0, an extensibility not above 0.

    Source:
        Fit within .0012 of w/w0 to steady plane-stress draws of a solid with J2 deformation theory
        and Gent hardening, two independent computations (finite elements; spectral), within the
        FITTED ranges of this module; s is the ratio of shear to pull stress of planar drawing.
    """
    refuse_unless(
        np.greater_equal(stretch, 1) & np.isfinite(stretch),
        "stretch",
        stretch,
        say("1 (0 %) or more"),
    )
    refuse_unless(
        np.greater_equal(yield_ratio, 0) & np.isfinite(yield_ratio),
        "yield_ratio",
        yield_ratio,
        say("0 or more"),
    )
    refuse_unless(
        np.greater(extensibility, 0), "extensibility", extensibility, say("a number above 0")
    )
    stretch = np.asarray(stretch, dtype=float)
    draws = stretch > 1.0
    safe = np.where(draws, stretch, 2.0)
    flow = _looseness(safe, extensibility) * yield_ratio / math.sqrt(3.0)
    squeeze = np.power(safe, -2.0)
    square = (1.0 - squeeze + flow) / (np.square(safe) - squeeze + 2.0 * flow)
    shear = np.sqrt(square)
    shape = 0.5878 + 0.9611 * square + 0.2131 * shear * safe - 0.3575 * square * safe
    factor: FloatOrArray = np.where(draws, shear * (1.0 - 1.0 / safe) * shape, 0.0)[()]
    return factor


def width_loss_uncertainty(stretch: FloatOrArray) -> FloatOrArray:
    """Standard uncertainty of the width loss factor: nobody knows film's true law of drawing.

    u = .06 up to a stretch of 2, .066 at 2.5, .07 at 3, .088 at 3.6, .10 from 4 on, linear between

    A judgement: with it the 90 % range of :func:`width_loss_factor_drawn` covers four laws that
    film might follow (Newtonian, elastic, deformation theory, flow theory).

    Args:
        stretch: stretch ratio given in the gap [-].

    Returns:
        u(f), for the low side; the high side has twice that [-].

    Source:
        Spread of the four laws, two-dimensional computations; a judgement.
    """
    uncertainty: FloatOrArray = np.interp(stretch, _SPREAD[0], _SPREAD[1])
    return uncertainty


def width_loss_factor_drawn(
    factor: FloatOrArray, uncertainty: FloatOrArray, deviate: FloatOrArray
) -> FloatOrArray:
    """Width loss factor as it may be: half the chance on each side, the high side twice as wide.

    f + u z for z < 0, f + 2 u z for z > 0, never below 0

    The high side is wider because film also slips on rollers, is stretched once more at corners,
    and narrows wherever nothing holds it: practice speaks of 2 to 3.5 in lost on a 20 in roll at
    about 250 % (common practice, no source).

    Args:
        factor: what the law or a measurement says [-].
        uncertainty: standard uncertainty u, low side [-].
        deviate: standard normal deviate z; one for both carriages of a comparison [-].

    Returns:
        f [-].
    """
    side = np.where(np.greater(deviate, 0.0), HIGH_SIDE, 1.0)
    return np.maximum(factor + side * uncertainty * deviate, 0.0)[()]


def _saturation(stretch: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Exponent p of the law's way from a short to a long gap."""
    return 2.0 + 1.2 * stretch


def film_width_after_gap(
    roll_width: FloatOrArray, gap: FloatOrArray, stretch: FloatOrArray, factor: FloatOrArray
) -> FloatOrArray:
    """Width of film that was stretched in the free gap between two rollers.

    w/w0 = 1 - N z (1 + z^p)^(-1/p), N = 1 - lambda^-1/2, z = 2 f (G/w0)/N, p = 2 + 1.2 lambda;
    w0 - 2 f G in a short gap, w0 lambda^-1/2 (free to neck down) in an endless one

    Args:
        roll_width: film width before the gap [m].
        gap: free film between the rollers and the arc on which it is drawn already, 0 to
            infinity [m].
        stretch: stretch ratio given in the gap, from 1 [-].
        factor: width that each edge loses over the gap, f [-].

    Returns:
        Film width after the gap [m].

    Raises:
        InputError: roll width not above 0, gap or factor below 0, stretch below 1.

    Source:
        As :func:`width_loss_factor`; the two limits are exact.
    """
    refuse_unless(
        np.greater(roll_width, 0) & np.isfinite(roll_width),
        "roll_width",
        roll_width,
        say("a width above 0"),
    )
    refuse_unless(np.greater_equal(gap, 0), "gap", gap, say("a gap of 0 or more"))
    refuse_unless(np.greater_equal(factor, 0), "factor", factor, say("0 or more"))
    refuse_unless(
        np.greater_equal(stretch, 1) & np.isfinite(stretch),
        "stretch",
        stretch,
        say("1 (0 %) or more"),
    )
    stretch = np.asarray(stretch, dtype=float)
    free_loss = 1.0 - np.power(stretch, -0.5)
    power = _saturation(stretch)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore", under="ignore"):
        lost = 2.0 * np.asarray(factor) * gap / (roll_width * free_loss)
        # The same expression from either end, so that neither a short nor an endless gap overflows.
        shares = np.where(
            lost > 1.0,
            np.power(1.0 + np.power(lost, -power), -1.0 / power),
            lost * np.power(1.0 + np.power(np.minimum(lost, 1.0), power), -1.0 / power),
        )
    # Film that is not stretched, or loses nothing, keeps its width: there the share is 0/0.
    shares = np.where(np.isnan(shares), 0.0, shares)
    return (roll_width * (1.0 - free_loss * shares))[()]


def measured_width_loss_factor(
    roll_width: FloatOrArray, width: FloatOrArray, gap: FloatOrArray, stretch: FloatOrArray
) -> FloatOrArray:
    """Width loss factor that follows from one measured width.

    f = (w0 - w)/(2 G) in a short gap; in a longer one the law of :func:`film_width_after_gap`
    is solved for it, so that the same gap gives the measured width back

    Args:
        roll_width: film width before the gap [m].
        width: film width measured behind it [m].
        gap: effective gap that it was drawn in [m].
        stretch: stretch ratio given there [-].

    Returns:
        f of that film at that stretch [-], good for other gaps and roll widths.

    Raises:
        InputError: a gap not above 0; a width above the roll's, or not above the one of film that
            is free to neck down, which no gap gives.
    """
    refuse_unless(
        np.greater(gap, 0) & np.isfinite(gap), "gap", gap, say("a gap above 0 to learn from")
    )
    free_loss = 1.0 - np.power(np.asarray(stretch, dtype=float), -0.5)
    share = np.subtract(1.0, np.divide(width, roll_width)) / np.where(free_loss > 0, free_loss, 1.0)
    refuse_unless(
        (share >= 0) & (share < 1) & (free_loss > 0),
        "width",
        width,
        say("at most the roll width, and more than that of film that is free to neck down"),
    )
    power = _saturation(np.asarray(stretch, dtype=float))
    with np.errstate(under="ignore"):
        lost = share * np.power(1.0 - np.power(share, power), -1.0 / power)
    factor: FloatOrArray = (lost * free_loss * roll_width / (2.0 * np.asarray(gap)))[()]
    return factor


def is_within_fit(
    stretch: FloatOrArray,
    yield_ratio: FloatOrArray,
    extensibility: FloatOrArray,
    gap_over_width: FloatOrArray = 0.0,
) -> npt.NDArray[np.bool_]:
    """Whether the law was fitted to such a draw; beyond it, its number is an extrapolation.

    Args:
        stretch: stretch ratio given in the gap [-].
        yield_ratio: yield stress over hardening modulus [-].
        extensibility: limit Jm of the first invariant less 3 [-].
        gap_over_width: effective gap over the roll width [-].

    Returns:
        True within all FITTED ranges of this module.
    """
    low, high = FITTED_STRETCH
    weak, strong = FITTED_YIELD_RATIO
    return np.asarray(
        np.greater_equal(stretch, low)
        & np.less_equal(stretch, high)
        & np.greater_equal(yield_ratio, weak)
        & np.less_equal(yield_ratio, strong)
        & np.greater_equal(extensibility, FITTED_EXTENSIBILITY)
        & np.less_equal(gap_over_width, FITTED_GAP_SHARE)
    )


def steady_drawing_limit(stretch: FloatOrArray, extensibility: FloatOrArray) -> FloatOrArray:
    """Largest yield ratio at which film held at its width still draws steadily.

    r = (sqrt(3)/2) [k (lambda^2 + 3 lambda^-2) + 2 k^2 (lambda^2 - lambda^-2)^2/Jm]: there the
    force of planar drawing, P = [2 Y/sqrt(3) + k Gp (lambda^2 - lambda^-2)]/lambda, has its minimum

    Args:
        stretch: stretch ratio given in the gap [-].
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Y/Gp [-]; infinite once the network has locked.

    Source:
        A. Considère's condition (1885), dP/dlambda = 0, derived here for planar drawing.
    """
    squeeze = np.power(np.asarray(stretch, dtype=float), -2.0)
    swell = np.square(stretch)
    with np.errstate(divide="ignore"):
        lock = 1.0 / np.asarray(_looseness(stretch, extensibility))
    rise = lock * (swell + 3.0 * squeeze)
    locking = 2.0 * np.square(lock * (swell - squeeze)) / extensibility
    limit: FloatOrArray = (0.5 * math.sqrt(3.0) * (rise + locking))[()]
    return limit


def planar_force_ratio(
    stretch: FloatOrArray, yield_ratio: FloatOrArray, extensibility: FloatOrArray
) -> FloatOrArray:
    """Force that draws film held at its width, over the force at which it begins to yield.

    F_draw/F_yield = [1 + (sqrt(3)/2) k (lambda^2 - lambda^-2)/r]/lambda

    Args:
        stretch: stretch ratio given in the gap [-].
        yield_ratio: yield stress over hardening modulus, above 0 [-].
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Ratio [-]; infinite for film without a yield stress.

    Source:
        As :func:`steady_drawing_limit`.
    """
    with np.errstate(divide="ignore"):
        stiffening = (np.square(stretch) - np.power(np.asarray(stretch, dtype=float), -2.0)) / (
            _looseness(stretch, extensibility) * np.asarray(yield_ratio)
        )
    ratio: FloatOrArray = ((1.0 + 0.5 * math.sqrt(3.0) * stiffening) / stretch)[()]
    return ratio


def slip_arc_length(
    radius: FloatOrArray,
    friction: FloatOrArray,
    contact_angle: FloatOrArray,
    force_ratio: FloatOrArray,
) -> FloatOrArray:
    """Arc of the slow roller on which film is drawn already, to be added to the gap.

    (R/mu) ln(F_draw/F_yield), from 0 to the whole arc that the film touches

    Args:
        radius: radius of the slow roller [m].
        friction: coefficient of friction of film on it [-].
        contact_angle: arc of it that the film touches [rad].
        force_ratio: force that draws the film over the force at which it yields [-].

    Returns:
        Length along the roller [m].

    Source:
        The belt equation, as :func:`woold.physics.grip.grip_limit`: towards the gap the tension
        grows from what holds to what draws.
    """
    with np.errstate(divide="ignore"):
        angle = np.log(np.maximum(force_ratio, 1.0)) / friction
    length: FloatOrArray = np.multiply(radius, np.minimum(angle, contact_angle))
    return length
