"""Tipping of a stack, and of the pallet with it, over an edge of what it stands on.

Tiers that slip move the mass towards the edge, so that the support shrinks by half of the top's
travel. Film is no help: it ties tiers to each other and to the pallet, not to the vehicle.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from woold.physics.numeric import FloatOrArray

__all__ = ["support_ahead", "tipping_share", "tips", "unit_centre"]

Floats = NDArray[np.float64]


def tipping_share(
    support: FloatOrArray,
    centre_height: FloatOrArray,
    tipping: FloatOrArray,
    vertical: FloatOrArray,
    top_travel: FloatOrArray = 0.0,
) -> FloatOrArray:
    """What tips a body over what keeps it standing.

    Equation: c d/(c_z (b - s/2)); above 1 it tips.

    Args:
        support: distance b from the centre of mass to the tipping edge, along the floor [m].
        centre_height: height d of the centre of mass over that edge [m].
        tipping: horizontal acceleration c, as a share of gravity [-].
        vertical: downward share c_z [-].
        top_travel: travel s of its top; its middle moves half as far [m].

    Returns:
        Share [-]; infinite where no support is left.

    Source: moment about the edge; EN 12195-1:2010, its support reduced by the travel.
    """
    # Half of an infinite travel leaves no support.
    left = np.asarray(vertical) * np.maximum(support - 0.5 * np.asarray(top_travel), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = tipping * np.asarray(centre_height) / left
    return np.where(left > 0.0, share, np.inf)[()]


def unit_centre(
    load_mass: float, load_height: float, deck_height: float, pallet_mass: float
) -> tuple[float, float]:
    """Height of the centre of mass of load and pallet, and the load's part of the mass.

    Args:
        load_mass: product without the pallet [kg].
        load_height: product above the deck [m].
        deck_height: pallet's deck above the vehicle's floor [m].
        pallet_mass: the empty pallet [kg].

    Returns:
        Height over the floor [m]; load's mass over all [-].
    """
    mass = load_mass + pallet_mass
    moment = load_mass * (deck_height + 0.5 * load_height) + pallet_mass * 0.5 * deck_height
    return moment / mass, load_mass / mass


def tips(
    support: FloatOrArray,
    centre_height: FloatOrArray,
    tipping: FloatOrArray,
    vertical: FloatOrArray,
) -> NDArray[np.bool_]:
    """Whether a rigid body tips over an edge.

    Equation: b / d < c / c_z.

    Args:
        support: distance b from the centre of mass to the tipping edge, along the floor [m].
        centre_height: height d of the centre of mass over that edge [m].
        tipping: horizontal acceleration c, as a share of gravity [-].
        vertical: downward share c_z [-].

    Source: moment about the edge; EN 12195-1:2010.
    """
    return np.asarray(support * np.asarray(vertical) < tipping * np.asarray(centre_height))


def support_ahead(vertices: Floats, corner_radius: float, bearing: float) -> float:
    """Distance from an outline's centroid to its edge in a direction: the base for tipping.

    Args:
        vertices: corners, counter-clockwise, shape (n, 2) [m].
        corner_radius: radius of the disc that rounds the outline [m].
        bearing: direction from the x axis [rad].

    Returns:
        Distance [m].

    Source: centroid of a polygon by the shoelace formula; the mass is taken as evenly spread.
    """
    following = np.concatenate([vertices[1:], vertices[:1]])
    cross = vertices[:, 0] * following[:, 1] - following[:, 0] * vertices[:, 1]
    area = float(cross.sum())
    # Along the direction alone: places of the corners, and of the centroid.
    places = vertices @ np.array([np.cos(bearing), np.sin(bearing)])
    if area > 0.0:
        sums = places + np.concatenate([places[1:], places[:1]])
        centroid = float(sums @ cross) / (3.0 * area)
    else:
        centroid = float(places.mean())
    return float(places.max()) - centroid + corner_radius
