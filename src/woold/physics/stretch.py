"""Stretch and width of the film as it lies on the load: neck-down, retraction, mass balance."""

from __future__ import annotations

import numpy as np

from woold.physics.numeric import FloatOrArray, bracketed_root, refuse_unless

__all__ = ["film_width_after_gap", "stretch_from_mass_balance", "stretch_on_load"]


def film_width_after_gap(
    roll_width: FloatOrArray, gap: FloatOrArray, stretch: FloatOrArray
) -> FloatOrArray:
    """Width of film that was stretched in the free gap between two rollers.

    Width-averaged Newtonian membrane, half width l along the gap:
    l' = 3/(4 C l) - sqrt((3/(4 C l))^2 + 1/2), C = [2 ln lambda + ln(w/w0)]/G.
    The equation does not contain the place, so it integrates in closed form: with a = 3/(4 C) and
    S(l) = sqrt(a^2 + l^2/2) - a asinh(a sqrt(2)/l),
    G = 2 [a ln(l0/l) + S(l0) - S(l)], solved for l. Nothing to neck-down: gap 0 gives the roll
    width. Free to neck down: an infinite gap gives w0 lambda^-1/2.

    Args:
        roll_width: film width on the roll, before the gap [m].
        gap: free film between the slow and the fast roller, 0 to infinity [m].
        stretch: stretch ratio given in the gap, from 1 [-].

    Returns:
        Film width after the gap [m].

    Raises:
        InputError: roll width not above 0, gap below 0, stretch below 1.

    Source:
        Silagy, Demay and Agassant, Polymer Engineering and Science 36 (1996) 2614-2625, in the
        Newtonian case; closed form derived here.
    """
    width, gap, stretch = (np.asarray(given, dtype=float) for given in (roll_width, gap, stretch))
    refuse_unless((width > 0) & np.isfinite(width), "roll_width", width, "a width above 0")
    refuse_unless(gap >= 0, "gap", gap, "a gap of 0 or more")
    refuse_unless((stretch >= 1) & np.isfinite(stretch), "stretch", stretch, "1 (0 %) or more")
    free = np.power(stretch, -0.5)
    # In half widths of the roll, with harmless stand-ins where the answer is known beforehand.
    length = 2.0 * gap / width
    known = (gap == 0) | np.isinf(gap) | (stretch - 1.0 < 1e-9) | (length < 1e-12)
    length = np.where(known, 1.0, length)
    log_draw = np.where(known, np.log(2.0), np.log(stretch))

    def excess_length(log_ratio: FloatOrArray) -> FloatOrArray:
        ratio = np.exp(log_ratio)
        a = 0.75 * length / (2.0 * log_draw + log_ratio)
        root_start, root_end = np.sqrt(a**2 + 0.5), np.sqrt(a**2 + 0.5 * ratio**2)
        # S(1) - S(ratio), each difference written without cancellation.
        roots = -0.5 * np.expm1(2.0 * log_ratio) / (root_start + root_end)
        asinhs = -log_ratio + np.log((a + root_end) / (a + root_start))
        covered: FloatOrArray = 2.0 * (-a * log_ratio + roots + a * asinhs)
        return covered / length - 1.0

    log_ratio = bracketed_root(excess_length, -0.5 * log_draw, 0.0)
    limit = np.where(np.isinf(gap), free, 1.0)
    return (width * np.where(known, limit, np.exp(log_ratio)))[()]


def stretch_on_load(
    stretch: FloatOrArray,
    drawing_force: FloatOrArray,
    force_to_load: FloatOrArray,
    reload_modulus: FloatOrArray,
    area: FloatOrArray,
) -> FloatOrArray:
    """Stretch of the film as it lies on the load, after it sprang back behind the fast roller.

    lambda_load = lambda [1 - (F - T)/(E_r A0/lambda)], never below 1

    Args:
        stretch: delivered stretch ratio, at the fast roller [-].
        drawing_force: force F that stretches the film [N].
        force_to_load: film tension T as it meets the load [N].
        reload_modulus: modulus E_r of the stretched film on its stretched section [Pa].
        area: unstretched cross-section A0 [m^2].

    Returns:
        Stretch ratio [-].
    """
    stiffness = reload_modulus * area / stretch
    return np.maximum(stretch * (1.0 - (drawing_force - force_to_load) / stiffness), 1.0)[()]


def stretch_from_mass_balance(
    density: FloatOrArray, area: FloatOrArray, film_length: FloatOrArray, film_mass: FloatOrArray
) -> FloatOrArray:
    """Stretch on the load that follows from the weighed film: the mass is kept.

    lambda_load = rho A0 L / M

    Args:
        density: film density [kg/m^3].
        area: unstretched cross-section A0 [m^2].
        film_length: length of film on the load, as it lies there [m].
        film_mass: mass of that film [kg].

    Returns:
        Stretch ratio [-].

    Raises:
        InputError: film mass not above 0.
    """
    refuse_unless(np.asarray(film_mass) > 0, "film_mass", film_mass, "a mass above 0")
    return density * area * film_length / film_mass
