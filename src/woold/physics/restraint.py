"""Film that holds a slipping tier: the sheared panels of the two sides along the movement.

A closed hoop of equal tension puts no net force on a tier that has not moved. Once the tier slips,
the film beside it is sheared and pulls back, up to its hoop tension, at which it wrinkles.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.physics.numeric import FloatOrArray, bracketed_root
from woold.physics.outlines import side_vectors

__all__ = [
    "KINETIC_SHARE",
    "ShearedFilm",
    "layers_needed",
    "mean_restraint",
    "residual_slip",
    "restraint_limit",
    "shear_modulus",
    "shear_restraint",
    "side_walls",
    "slip_to_hold",
    "slip_zones",
    "walls_lie_along",
]

Floats = NDArray[np.float64]

KINETIC_SHARE: Final = 0.75
"""Kinetic over static friction, CTU Code Annex 7 Appendix 2 [-]."""

_ARC_PIECES: Final = 64


@dataclass(frozen=True, eq=False)
class ShearedFilm:
    """Film beside an interface between tiers, and the sides that it lies on.

    Args:
        hoop: hoop tension N [N/m].
        shear_stiffness: shear modulus times thickness of all layers, G n t [N/m].
        slip_zone: height h of film that is sheared by a slip [m].
        walls: lengths of the sides and their |cos|, as `side_walls` gives them.
        calibration: kappa, measured over modelled restraint; 1 until a test sets it [-].
    """

    hoop: FloatOrArray
    shear_stiffness: FloatOrArray
    slip_zone: FloatOrArray
    walls: tuple[Floats, Floats]
    calibration: float = 1.0


def shear_modulus(reload_modulus: FloatOrArray, poisson_ratio: FloatOrArray = 0.5) -> FloatOrArray:
    """Shear modulus of stretched film, taken as isotropic.

    Equation: G = E_r / (2 (1 + nu)).

    Args:
        reload_modulus: modulus of stretched film, on its stretched section [Pa].
        poisson_ratio: 0.5 for a film that keeps its volume (a placeholder: stretched film is
            stiffer along than across) [-].

    Returns:
        Modulus [Pa].

    Source: isotropic elasticity.
    """
    return reload_modulus / (2.0 * (1.0 + poisson_ratio))


def side_walls(vertices: Floats, corner_radius: float, bearing: float) -> tuple[Floats, Floats]:
    """Lengths of an outline's sides, and the share of a movement that runs along each.

    Args:
        vertices: corners, counter-clockwise, shape (n, 2) [m].
        corner_radius: radius of the disc that rounds the outline [m].
        bearing: direction of the movement from the x axis [rad].

    Returns:
        Lengths [m] and |cos| of the angle between side and movement [-], shape (sides,).
    """
    edges = side_vectors(vertices)
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    angles = np.arctan2(edges[:, 1], edges[:, 0])
    if corner_radius > 0.0:
        # Round the outline the arcs of all corners make up one full circle.
        arcs = (np.arange(_ARC_PIECES) + 0.5) * 2.0 * np.pi / _ARC_PIECES
        lengths = np.append(
            lengths, np.full(_ARC_PIECES, 2.0 * np.pi * corner_radius / _ARC_PIECES)
        )
        angles = np.append(angles, arcs)
    kept = lengths > 0.0
    along = np.abs(np.cos(angles[kept] - bearing))
    return lengths[kept], np.where(along < 1e-12, 0.0, along)


def shear_restraint(slip: FloatOrArray, film: ShearedFilm) -> FloatOrArray:
    """Force with which film holds a tier that has slipped.

    Equation: H = kappa sum L |cos| q / sqrt(1 + (q/N)^2), q = G n t delta |cos| / h. Small slips
    meet a linear shear panel; large ones the hoop tension, at which the panel wrinkles.

    Args:
        slip: travel delta of the tier [m].
        film: the film beside it.

    Returns:
        Force [N].

    Source: derived here; the smooth limit between panel and wrinkled film is an assumption.
    """
    lengths, along = film.walls
    given = (slip, film.hoop, film.shear_stiffness)
    slip, hoop, stiffness = (np.asarray(x, dtype=float) for x in given)
    flow = stiffness[..., None] * slip[..., None] * along / np.asarray(film.slip_zone)[..., None]
    pull = hoop[..., None] * flow / np.maximum(np.hypot(hoop[..., None], flow), 1e-300)
    held: FloatOrArray = film.calibration * (lengths * along * pull).sum(axis=-1)
    return held


def mean_restraint(slip: FloatOrArray, film: ShearedFilm) -> FloatOrArray:
    """Mean of film's force over a travel from rest: the work taken up, over the travel.

    Equation: (1/delta) integral of H = kappa sum L |cos| N (sqrt(1 + x^2) - 1)/x, x = q/N.

    Args:
        slip: travel delta of the tier [m].
        film: the film beside it.

    Returns:
        Force [N].

    Source: integral of the shear panel's law, derived here.
    """
    lengths, along = film.walls
    given = (slip, film.hoop, film.shear_stiffness)
    slip, hoop, stiffness = (np.asarray(x, dtype=float) for x in given)
    flow = stiffness[..., None] * slip[..., None] * along / np.asarray(film.slip_zone)[..., None]
    # N (sqrt(1 + x^2) - 1)/x without the difference of nearly equal numbers.
    most = np.maximum(hoop[..., None] + np.hypot(hoop[..., None], flow), 1e-300)
    pull = hoop[..., None] * flow / most
    held: FloatOrArray = film.calibration * (lengths * along * pull).sum(axis=-1)
    return held


def restraint_limit(film: ShearedFilm) -> FloatOrArray:
    """Most force with which film can hold a tier, however far it slips.

    Equation: H_max = kappa N sum L |cos|; for a rectangle 2 kappa N L.

    Args:
        film: the film beside the tier.

    Returns:
        Force [N].

    Source: limit of `shear_restraint`.
    """
    lengths, along = film.walls
    return film.calibration * film.hoop * float((lengths * along).sum())


def walls_lie_along(film: ShearedFilm) -> bool:
    """Whether every side lies along the movement or square to it, as a rectangle's do.

    Args:
        film: the film beside a tier.
    """
    _, along = film.walls
    return bool(((along < 1e-8) | (along > 1.0 - 1e-12)).all())


def slip_to_hold(force: FloatOrArray, film: ShearedFilm) -> FloatOrArray:
    """Slip at which film gives a force.

    Equation: H(delta) = force, solved for delta; with f = force/H_max, for walls along the
    movement delta = (h N/(G n t)) f/sqrt(1 - f^2).

    Args:
        force: force that film must give [N].
        film: the film beside the tier.

    Returns:
        Slip [m]; 0 for no force, infinite where film cannot give it.
    """
    force, limit = np.broadcast_arrays(
        np.asarray(force, dtype=float), np.asarray(restraint_limit(film))
    )
    lengths, along = film.walls
    stiffness = np.asarray(film.shear_stiffness, dtype=float)
    possible = (force > 0.0) & (force < limit) & (stiffness > 0.0)
    if walls_lie_along(film):
        share = np.where(possible, force / np.where(possible, limit, 1.0), 0.0)
        scale = film.hoop * np.asarray(film.slip_zone) / np.where(possible, stiffness, 1.0)
        slip = scale * share / np.sqrt(1.0 - share**2)
        return np.where(possible, slip, np.where(force > 0.0, np.inf, 0.0))[()]
    wanted = np.where(possible, force, 1.0)
    enough = 2.0 * wanted / max(float((lengths * along).sum()), 1e-9)
    held = replace(
        film,
        hoop=np.where(possible, film.hoop, enough),
        shear_stiffness=np.where(possible, stiffness, 1.0),
    )
    panel = film.calibration * held.shear_stiffness / film.slip_zone
    # Never less than the unwrinkled panel needs; 12 decades further film is at its limit.
    low = np.log(wanted / (panel * float((lengths * along**2).sum())))

    def missing(log_slip: FloatOrArray) -> FloatOrArray:
        return shear_restraint(np.exp(log_slip), held) / wanted - 1.0

    slip = np.exp(bracketed_root(missing, low - 1e-9, low + 12.0 * np.log(10.0)))
    return np.where(possible, slip, np.where(force > 0.0, np.inf, 0.0))[()]


def residual_slip(
    slip: FloatOrArray,
    weight: FloatOrArray,
    friction: FloatOrArray,
    film: ShearedFilm,
    kinetic_share: float = KINETIC_SHARE,
) -> FloatOrArray:
    """Slip that stays when the acceleration has gone.

    Film pulls the tier back only if it overcomes static friction, H(delta) > mu W, and then only
    until kinetic friction holds it: H(delta_r) = mu_k W.

    Args:
        slip: travel under the acceleration [m].
        weight: weight above the interface, with whatever presses on it [N].
        friction: static friction [-].
        film: the film beside the tier.
        kinetic_share: kinetic over static friction mu_k/mu [-].

    Returns:
        Slip [m].
    """
    finite = np.where(np.isfinite(slip), slip, 0.0)
    comes_back = shear_restraint(finite, film) > friction * np.asarray(weight)
    stays = slip_to_hold(kinetic_share * friction * np.asarray(weight), film)
    return np.where(comes_back, np.minimum(stays, slip), slip)[()]


def layers_needed(force: FloatOrArray, slip: FloatOrArray, one_layer: ShearedFilm) -> FloatOrArray:
    """Layers of film that take up a sudden start within a slip: the screen turned round.

    Equation: n = force / mean H_1 over the slip, as hoop tension and stiffness both grow with the
    layers. Enough for any ramp.

    Args:
        force: what the tier asks of the film [N].
        slip: travel that is allowed [m].
        one_layer: a single layer of the film.

    Returns:
        Layers, not rounded [-]; times a layer's force they are the containment force needed.
    """
    one = mean_restraint(slip, one_layer)
    with np.errstate(divide="ignore", invalid="ignore"):
        layers = np.asarray(force) / one
    return np.where(np.asarray(force) > 0.0, layers, 0.0)[()]


def slip_zones(
    interface_heights: Floats, slip_zone: float, load_height: float, pallet_grip: float
) -> tuple[Floats, Floats]:
    """Heights between which film must lie unbroken to hold each interface.

    Half a slip zone on either side, no higher than the load and no deeper on the pallet than the
    grip that film needs there.

    Args:
        interface_heights: heights over the deck where tiers meet [m].
        slip_zone: height of film that is sheared by a slip [m].
        load_height: product above the deck [m].
        pallet_grip: depth below the deck that film must reach to hold the lowest tier [m].

    Returns:
        Lower and upper ends, shape (m,) each [m].
    """
    low = np.maximum(interface_heights - 0.5 * slip_zone, -pallet_grip)
    return low, np.minimum(interface_heights + 0.5 * slip_zone, load_height)
