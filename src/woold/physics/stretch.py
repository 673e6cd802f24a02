"""Stretch of the film as it lies on the load: retraction, drawing on, break, mass balance."""

from __future__ import annotations

import numpy as np

from woold.physics.film_curve import FilmCurve
from woold.physics.numeric import FloatOrArray, refuse_unless
from woold.words import say

__all__ = [
    "breaking_force",
    "stretch_before_roller",
    "stretch_from_mass_balance",
    "stretch_on_load",
]

_DRAWN = 1.2


def breaking_force(
    curve: FilmCurve, area: FloatOrArray, break_stretch: FloatOrArray = np.inf
) -> FloatOrArray:
    """Force at which the film breaks.

    F = P(lambda_b) A0, lambda_b the stretch at break or where the film's curve ends

    Args:
        curve: nominal stress of the film against stretch.
        area: unstretched cross-section A0 [m^2].
        break_stretch: stretch ratio at break, infinity where nobody measured it [-].

    Returns:
        Force [N]; infinite where neither is known.
    """
    force: FloatOrArray = area * curve.nominal_stress(
        np.minimum(break_stretch, curve.largest_stretch)
    )
    return force


def stretch_before_roller(
    curve: FilmCurve, area: FloatOrArray, tension: FloatOrArray
) -> FloatOrArray:
    """Stretch that a tension gives film before a roller takes it over, if it is enough to draw it.

    lambda = P^-1(T/A0) from the drawing force on; 1 below it, where the film is only elastic, and
    up to 20 %, where a curve that never falls does not say which it is

    Args:
        curve: nominal stress of the film against stretch.
        area: unstretched cross-section A0 [m^2].
        tension: film tension there [N].

    Returns:
        Stretch ratio [-].
    """
    stress = np.divide(tension, area)
    draws = np.greater(stress, curve.drawing_stress)
    if not np.any(draws):
        return np.ones(np.shape(draws))[()]
    held = curve.stretch_at(stress)
    return np.where(draws & np.greater_equal(held, _DRAWN), held, 1.0)[()]


def stretch_on_load(
    stretch: FloatOrArray,
    drawing_force: FloatOrArray,
    force_to_load: FloatOrArray,
    reload_modulus: FloatOrArray,
    area: FloatOrArray,
    curve: FilmCurve,
) -> FloatOrArray:
    """Stretch of the film as it lies on the load, after it sprang back behind the fast roller.

    lambda_load = lambda [1 - (F - T)/(E_r A0/lambda)] while T <= F, never below 1; a force to load
    above F draws the film further along its curve, lambda_load = P^-1(T/A0)

    Args:
        stretch: delivered stretch ratio, at the fast roller [-].
        drawing_force: force F that stretches the film [N].
        force_to_load: film tension T as it meets the load [N].
        reload_modulus: modulus E_r of the stretched film on its stretched section [Pa].
        area: unstretched cross-section A0 [m^2].
        curve: nominal stress of the film against stretch.

    Returns:
        Stretch ratio [-]; whether the film bears that, :func:`breaking_force` says.
    """
    slack = np.maximum(np.subtract(drawing_force, force_to_load), 0.0)
    sprung = np.maximum(stretch * (1.0 - slack * stretch / (reload_modulus * area)), 1.0)
    if not np.any(np.greater(force_to_load, drawing_force)):
        return sprung[()]
    drawn = np.maximum(curve.stretch_at(np.divide(force_to_load, area)), stretch)
    return np.where(np.greater(force_to_load, drawing_force), drawn, sprung)[()]


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
    refuse_unless(np.asarray(film_mass) > 0, "film_mass", film_mass, say("a mass above 0"))
    return density * area * film_length / film_mass
