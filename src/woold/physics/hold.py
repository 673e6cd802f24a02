"""What the wrapped film holds: hoop tension, corner force, and what a pull gauge would show."""

from __future__ import annotations

import numpy as np

from woold.physics.numeric import FloatOrArray

__all__ = ["corner_force", "pull_factor", "pull_plate_reading", "pull_strain"]


def corner_force(hoop: FloatOrArray, turning_angle: FloatOrArray) -> FloatOrArray:
    """Force of the film on a corner, per metre of height.

    Equation: R = 2 N sin(phi / 2); at a right angle sqrt(2) N.

    Args:
        hoop: hoop tension [N/m].
        turning_angle: angle by which the film turns at the corner [rad].

    Returns:
        Force per metre of height, towards the load [N/m].

    Source: equilibrium of a frictionless corner.
    """
    force: FloatOrArray = 2.0 * hoop * np.sin(np.divide(turning_angle, 2.0))
    return force


def pull_factor(
    pull: FloatOrArray, near_corner: FloatOrArray, far_corner: FloatOrArray
) -> FloatOrArray:
    """What a pull plate feels of the tension of the band that it engages.

    Equation: d / sqrt(a^2 + d^2) + d / sqrt(b^2 + d^2).

    Args:
        pull: distance d that the plate is pulled off the face [m].
        near_corner: distance a along the face to one corner [m].
        far_corner: distance b to the other [m].

    Returns:
        Pull force over band tension [-].

    Source: equilibrium of a taut band, as in pull-plate tests such as ASTM D8314 describes.
    """
    share: FloatOrArray = pull / np.hypot(near_corner, pull) + pull / np.hypot(far_corner, pull)
    return share


def pull_strain(
    pull: FloatOrArray, near_corner: FloatOrArray, far_corner: FloatOrArray
) -> FloatOrArray:
    """Strain that the pull itself adds to the band.

    Equation: (sqrt(a^2 + d^2) + sqrt(b^2 + d^2)) / (a + b) - 1; the film is held at the corners.

    Args:
        pull: distance d that the plate is pulled off the face [m].
        near_corner: distance a along the face to one corner [m].
        far_corner: distance b to the other [m].

    Returns:
        Added strain [-].

    Source: geometry.
    """
    face = near_corner + far_corner
    strain: FloatOrArray = (np.hypot(near_corner, pull) + np.hypot(far_corner, pull)) / face - 1.0
    return strain


def pull_plate_reading(
    hoop: FloatOrArray,
    membrane_stiffness: FloatOrArray,
    plate_width: FloatOrArray,
    pull: FloatOrArray,
    near_corner: FloatOrArray,
    far_corner: FloatOrArray,
) -> FloatOrArray:
    """Reading to expect of a force gauge that pulls a plate off the load's face.

    Equation: F = b_p (N + K eps) f, with N the hoop tension, K the stiffness of all layers, eps
    the strain that the pull adds and f the pull factor. It mixes tension and stiffness, so it is
    quality assurance and no predictor of survival in transit.

    Args:
        hoop: hoop tension at the plate's height [N/m].
        membrane_stiffness: reload modulus times thickness of all layers there [N/m].
        plate_width: height of film that the plate engages [m].
        pull: distance that the plate is pulled off the face [m].
        near_corner: distance along the face to one corner [m].
        far_corner: distance to the other [m].

    Returns:
        Expected reading [N].

    Source: equilibrium; film outside the plate's width is taken as not engaged (an estimate).
    """
    strain = pull_strain(pull, near_corner, far_corner)
    band_tension = plate_width * (hoop + membrane_stiffness * strain)
    return band_tension * pull_factor(pull, near_corner, far_corner)
