"""Compiled parts of the transport screen: outlines, sheared film, swing and ramp.

The equations are those of `woold.physics.tipping`, `restraint`, `sudden_start` and `swing`.
"""

from __future__ import annotations

import math

import numpy as np

from woold.physics.interface_friction import GRAVITY
from woold.physics.late_compiled import late_compiled

__all__ = [
    "ARC_PIECES",
    "film_pull",
    "film_reach",
    "ramp_swing",
    "support_of",
    "sway_frequency",
    "walls_of",
]

ARC_PIECES = 32
"""Pieces of half a turn; the other half lies along the same ways."""

_ROOT_STEPS = 200

_ALIKE = 1e-12
"""Shares of a movement along a side that differ by less are one [-]."""


@late_compiled(error_model="numpy")
def support_of(vertices, corner_radius, bearing):  # type: ignore[no-untyped-def]
    """From an outline's centroid to its edge in a direction [m]."""
    count = vertices.shape[0]
    along_x, along_y = math.cos(bearing), math.sin(bearing)
    area, moment, mean, furthest = 0.0, 0.0, 0.0, -np.inf
    for corner in range(count):
        other = (corner + 1) % count
        here = vertices[corner, 0] * along_x + vertices[corner, 1] * along_y
        there = vertices[other, 0] * along_x + vertices[other, 1] * along_y
        cross = vertices[corner, 0] * vertices[other, 1] - vertices[other, 0] * vertices[corner, 1]
        area += cross
        moment += (here + there) * cross
        mean += here / count
        furthest = max(furthest, here)
    centroid = moment / (3.0 * area) if area > 0.0 else mean
    return furthest - centroid + corner_radius


@late_compiled()
def walls_of(vertices, corner_radius, bearing, walls):  # type: ignore[no-untyped-def]
    """Lengths of the sides and their |cos| with a movement, into rows; how many there are.

    Sides that lie alike stand in one row; those across the movement in none, since film on them
    gives nothing.
    """
    count, found = vertices.shape[0], 0
    for corner in range(count):
        other = (corner + 1) % count
        x = vertices[other, 0] - vertices[corner, 0]
        y = vertices[other, 1] - vertices[corner, 1]
        length = math.hypot(x, y)
        along = abs(math.cos(math.atan2(y, x) - bearing))
        if length > 0.0 and along >= _ALIKE:
            found = _add_wall(walls, found, length, along)
    if corner_radius > 0.0:
        for piece in range(ARC_PIECES):
            length = 2.0 * math.pi * corner_radius / ARC_PIECES
            along = abs(math.cos((piece + 0.5) * math.pi / ARC_PIECES - bearing))
            if along >= _ALIKE:
                found = _add_wall(walls, found, length, along)
    return found


@late_compiled(inline="always")
def _add_wall(walls, found, length, along):  # type: ignore[no-untyped-def]
    """A side into the row of those that lie like it, or a new one; how many rows there are then."""
    for wall in range(found):
        if abs(walls[wall, 1] - along) < _ALIKE:
            walls[wall, 0] += length
            return found
    walls[found, 0], walls[found, 1] = length, along
    return found + 1


@late_compiled(error_model="numpy")
def sway_frequency(load, support, give):  # type: ignore[no-untyped-def]
    """Lowest natural frequency of tiers that give; infinite where nothing does [rad/s]."""
    if give <= 0.0:
        return np.inf
    tiers = load.interface_heights.size
    swept = 0.0
    for body in range(tiers + 1):
        low, height, mass = 0.0, load.deck_height, load.pallet_mass
        if body > 0:
            under = load.interface_heights[body - 1]
            over = load.load_height if body == tiers else load.interface_heights[body]
            low, height = load.deck_height + under, over - under
            mass = height * (load.load_mass / load.load_height)
        middle = low + 0.5 * height
        turning = ((2.0 * support) ** 2 + height**2) / 12.0
        for face in range(body + 1):
            foot = 0.0 if face == 0 else load.deck_height + load.interface_heights[face - 1]
            if middle > foot:
                swept += mass * ((middle - foot) ** 2 + turning + support**2)
    weight = (load.pallet_mass + load.load_mass) * GRAVITY
    return math.sqrt(weight * support**2 / (give * swept))


@late_compiled(error_model="numpy")
def ramp_swing(frequency, ramp):  # type: ignore[no-untyped-def]
    """Most swing that may stay after a ramp [-]."""
    if frequency == np.inf:
        return 0.0
    half = 0.5 * frequency * ramp
    if half >= 0.5 * math.pi:
        return 1.0 / half
    return math.sin(half) / half if half > 0.0 else 1.0


@late_compiled(error_model="numpy")
def film_reach(share, walls, is_mean):  # type: ignore[no-untyped-def]
    """Slip over its scale at which film gives a share of its limit, or does so in the mean [-]."""
    if share <= 0.0:
        return 0.0
    if not share < 1.0:
        return np.inf
    is_askew = False
    total, square = 0.0, 0.0
    for wall in range(walls.shape[0]):
        along = walls[wall, 1]
        is_askew = is_askew or not (along < 1e-8 or along > 1.0 - 1e-12)
        total += walls[wall, 0] * along
        square += walls[wall, 0] * along * along
    if not is_askew:
        if is_mean:
            return 2.0 * share / (1.0 - share * share)
        return share / math.sqrt(1.0 - share * share)
    # By Newton's steps in the logarithms, within bounds; never less than unwrinkled film needs.
    low = math.log((2.0 if is_mean else 1.0) * share * total / square) - 1e-9
    high = low + 12.0 * math.log(10.0)
    place = low
    for _ in range(_ROOT_STEPS):
        slip = math.exp(place)
        given, rise = 0.0, 0.0
        for wall in range(walls.shape[0]):
            weight = walls[wall, 0] * walls[wall, 1] / total
            flow = walls[wall, 1] * slip
            root = math.sqrt(1.0 + flow * flow)
            if is_mean:
                given += weight * flow / (1.0 + root)
                rise += weight * flow / (root * (1.0 + root))
            else:
                given += weight * flow / root
                rise += weight * flow / (root * root * root)
        missing = math.log(share / given)
        if missing > 0.0:
            low = place
        else:
            high = place
        step = missing * given / rise
        if abs(step) < 1e-14 * max(abs(place), 1.0):
            break
        place += step
        if not low < place < high:
            place = 0.5 * (low + high)
    return math.exp(place)


@late_compiled(error_model="numpy")
def film_pull(slip, scale, walls, is_mean):  # type: ignore[no-untyped-def]
    """Film's force, or its mean up to there, over hoop tension and calibration [m]."""
    pull = 0.0
    for wall in range(walls.shape[0]):
        flow = walls[wall, 1] * slip / scale
        root = math.sqrt(1.0 + flow * flow)
        under = 1.0 + root if is_mean else root
        pull += walls[wall, 0] * walls[wall, 1] * flow / under
    return pull
