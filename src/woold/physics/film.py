"""The film as a material: section, mass, stress against stretch, and what it keeps over time."""

from __future__ import annotations

import math

import numpy as np

from woold.physics.numeric import FloatOrArray, bracketed_root

__all__ = [
    "film_area",
    "film_thickness_at",
    "force_loss_per_decade",
    "locking_stretch",
    "mass_per_metre",
    "natural_draw_stretch",
    "nominal_stress",
    "retained_force_fraction",
    "stress_fraction_at",
    "true_stress",
]

_MONTH = 30 * 86400.0
_LOSS_IN_A_MONTH = {296.15: 0.26, 311.15: 0.41}  # temperature [K]: fraction lost


def film_area(roll_width: FloatOrArray, thickness: FloatOrArray) -> FloatOrArray:
    """Cross-section of the unstretched film.

    A0 = w0 t0

    Args:
        roll_width: film width on the roll [m].
        thickness: film thickness on the roll [m].

    Returns:
        Area [m^2].
    """
    return roll_width * thickness


def mass_per_metre(
    density: FloatOrArray, area: FloatOrArray, stretch: FloatOrArray
) -> FloatOrArray:
    """Mass of one metre of stretched film.

    m' = rho A0 / lambda

    Args:
        density: film density [kg/m^3].
        area: unstretched cross-section [m^2].
        stretch: stretch ratio of the film where the metre is measured [-].

    Returns:
        Mass per length [kg/m].
    """
    return density * area / stretch


def film_thickness_at(
    thickness: FloatOrArray, stretch: FloatOrArray, width_ratio: FloatOrArray | None = None
) -> FloatOrArray:
    """Thickness of stretched film whose volume is kept.

    t = t0 / (lambda w/w0); free to neck down (uniaxial) w/w0 = lambda^-1/2 and t = t0 lambda^-1/2

    Args:
        thickness: film thickness on the roll [m].
        stretch: stretch ratio [-].
        width_ratio: width over roll width [-]; None for film that is free to neck down.

    Returns:
        Thickness [m].

    Source:
        Downey and Climenhage, TAPPI Polymers, Laminations & Coatings Conference 2001.
    """
    if width_ratio is None:
        width_ratio = np.power(stretch, -0.5)
    return thickness / (stretch * width_ratio)


def locking_stretch(extensibility: FloatOrArray) -> FloatOrArray:
    """Stretch at which the network locks and the stress grows without bound.

    lambda^2 + 2/lambda - 3 = Jm, largest root, in closed form

    Args:
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Stretch ratio [-].
    """
    return _largest_cubic_root(extensibility + 3.0)


def _largest_cubic_root(slope: FloatOrArray) -> FloatOrArray:
    """Largest root of x^3 - slope x + 2 = 0, for slope >= 3."""
    third = np.asarray(slope) / 3.0
    return (2.0 * np.sqrt(third) * np.cos(np.arccos(-(third**-1.5)) / 3.0))[()]


def true_stress(
    stretch: FloatOrArray,
    yield_stress: FloatOrArray,
    hardening_modulus: FloatOrArray,
    extensibility: FloatOrArray,
) -> FloatOrArray:
    """True stress of drawing film: a constant flow stress and a rubber network that locks.

    sigma = Y + Gp (lambda^2 - 1/lambda) Jm / (Jm - (lambda^2 + 2/lambda - 3))

    Args:
        stretch: stretch ratio, from 1 [-].
        yield_stress: flow stress Y [Pa].
        hardening_modulus: strain-hardening modulus Gp [Pa].
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Stress on the stretched section [Pa]; infinite from the locking stretch on.

    Source:
        Haward, Macromolecules 26 (1993) 5860-5869; finite extensibility after Gent, Rubber
        Chemistry and Technology 69 (1996) 59-61.
    """
    square, inverse = np.square(stretch), np.divide(1.0, stretch)
    room = 1.0 - (square + 2.0 * inverse - 3.0) / extensibility
    network = hardening_modulus * (square - inverse)
    if np.all(room > 0):
        stress: FloatOrArray = yield_stress + network / room
        return stress
    with np.errstate(divide="ignore", invalid="ignore"):
        locked = np.where(room > 0, network / np.maximum(room, 0.0), np.inf)
    return (yield_stress + locked)[()]


def nominal_stress(
    stretch: FloatOrArray,
    yield_stress: FloatOrArray,
    hardening_modulus: FloatOrArray,
    extensibility: FloatOrArray,
) -> FloatOrArray:
    """Force over unstretched section of drawing film.

    P = sigma / lambda

    Args:
        stretch, yield_stress, hardening_modulus, extensibility: as for :func:`true_stress`.

    Returns:
        Nominal stress [Pa].
    """
    return true_stress(stretch, yield_stress, hardening_modulus, extensibility) / stretch


def natural_draw_stretch(
    yield_stress: FloatOrArray, hardening_modulus: FloatOrArray, extensibility: FloatOrArray
) -> FloatOrArray:
    """Stretch above which the film draws evenly: where the nominal stress has its minimum.

    dP/dlambda = 0; 1 where P never falls (Y <= 3 Gp)

    Args:
        yield_stress: flow stress Y [Pa].
        hardening_modulus: strain-hardening modulus Gp [Pa].
        extensibility: limit Jm of the first invariant less 3 [-].

    Returns:
        Stretch ratio [-].
    """
    ratio = np.asarray(yield_stress, dtype=float) / hardening_modulus
    falls = ratio > 3.0
    # Locking only adds hardening, so the minimum without it is an upper end of the bracket.
    high = np.minimum(
        _largest_cubic_root(np.where(falls, ratio, 3.0)), locking_stretch(extensibility)
    )

    def slope(stretch: FloatOrArray) -> FloatOrArray:
        room = np.maximum(extensibility - (np.square(stretch) + 2.0 / stretch - 3.0), 0.0)
        pull = stretch - np.power(stretch, -2)
        rise = 1.0 + 2.0 * np.power(stretch, -3) + 2.0 * np.square(pull) / room
        return extensibility / room * rise - ratio / np.square(stretch)

    root = bracketed_root(slope, 1.0, high)
    return np.where(falls, root, 1.0)[()]


def stress_fraction_at(temperature_k: FloatOrArray, softening: FloatOrArray = 0.01) -> FloatOrArray:
    """Stress of film that is cold or warm while it is drawn, over that at 23 °C.

    P(theta)/P(23 °C) = 1 - c (theta - 23 °C), kept within .5 and 1.5

    All stresses of the curve share it, so the ratio of yield to hardening, and with it neck-down,
    stays. Speed of drawing is left out: in the gap film draws far quicker than in a test.

    Args:
        temperature_k: temperature of the film as it is drawn [K].
        softening: part c of the stress lost for each kelvin [1/K]; a placeholder, .006 to .016.

    Returns:
        Fraction [-].

    Source:
        Yield stress of polyethylene falls about evenly towards zero at its melting point, near
        120 °C: Hartmann, Lee and Cole, Polymer Engineering and Science 26 (1986) 554 (from memory).
    """
    return np.clip(1.0 - softening * np.subtract(temperature_k, 296.15), 0.5, 1.5)[()]


def force_loss_per_decade(temperature_k: FloatOrArray) -> FloatOrArray:
    """Part of the force that the film loses in each factor of ten in time.

    k from the loss in 30 days: 26 % at 23 °C, 41 % at 38 °C; linear between and above, and held
    at the lower value below 23 °C, where nobody measured and a smaller loss would flatter.

    Args:
        temperature_k: storage temperature [K].

    Returns:
        Fraction per decade, k [-].

    Source:
        Dunno and Symanski, Journal of Applied Packaging Research 13(1) art. 3 (2021).
    """
    decades = math.log10(1.0 + _MONTH / 60.0)
    (cool, loss_cool), (warm, loss_warm) = _LOSS_IN_A_MONTH.items()
    warmth = np.maximum(np.subtract(temperature_k, cool), 0.0) / (warm - cool)
    lost: FloatOrArray = loss_cool + warmth * (loss_warm - loss_cool)
    return lost / decades


def retained_force_fraction(
    time: FloatOrArray, loss_per_decade: FloatOrArray, reference_time: FloatOrArray = 60.0
) -> FloatOrArray:
    """Part of the wrapping force that the film still holds after a time.

    r = 1 - k log10(1 + t/t_ref), kept within 0 and 1. The loss in the first two hours is larger
    than this line says.

    Args:
        time: time since the film was laid [s].
        loss_per_decade: fraction k lost in each decade of time [-].
        reference_time: time t_ref at which the loss sets in [s].

    Returns:
        Fraction of the force [-].

    Source:
        Form fitted to two points of Dunno and Symanski (2021), see :func:`force_loss_per_decade`.
    """
    decades = np.log10(1.0 + np.asarray(time) / reference_time)
    return np.minimum(np.maximum(1.0 - loss_per_decade * decades, 0.0), 1.0)[()]
