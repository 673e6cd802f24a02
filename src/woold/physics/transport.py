"""Transport screen: does the stack slide or tip under an acceleration, and how far does it slip.

Quasi-static and rigid. Friction alone keeps a tier where it is; film acts once the tier slips (see
`woold.physics.restraint`), and film does not keep a load from tipping.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.physics.numeric import FloatOrArray, refuse_unless
from woold.physics.restraint import (
    KINETIC_SHARE,
    ShearedFilm,
    residual_slip,
    restraint_limit,
    side_walls,
    slip_to_hold,
)
from woold.physics.transport_profiles import Action, Profile
from woold.words import to_say

__all__ = [
    "CAUTION",
    "GRAVITY",
    "FilmOverInterfaces",
    "Stack",
    "TransportScreen",
    "Way",
    "force_beyond_friction",
    "restraint_needed",
    "stack_ways",
    "support_ahead",
    "tips",
    "transport_screen",
]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

CAUTION: Final = to_say(
    "Engineering estimate, not a proof: a physical tilt or acceleration test decides. It is "
    "quasi-static (a sudden start can move the load further), leaves out vibration, crushing and "
    "leaning columns, and does not secure the load on the vehicle. Local codes, carriers' rules "
    "and the advice of licensed practitioners come first."
)

GRAVITY: Final = 9.81
"""Gravity, rounded as in the rules' worked cases [m/s^2]."""


@dataclass(frozen=True, eq=False)
class Stack:
    """The load as tiers on a deck.

    Args:
        vertices: corners of the outline, counter-clockwise, shape (n, 2) [m].
        corner_radius: radius of the disc that rounds the outline [m].
        load_height: product above the deck [m].
        load_mass: product without the pallet [kg].
        interface_heights: heights over the deck where tiers meet, the deck's 0 first, shape (m,)
            [m].
        friction: static friction at each interface, shape (m,) [-].
        deck_friction: static friction of pallet on vehicle [-].
        deck_height: pallet's deck above the vehicle's floor [m].
        pallet_vertices: corners of the pallet; None where it is as the load [m].
    """

    vertices: Floats
    corner_radius: float
    load_height: float
    load_mass: float
    interface_heights: Floats
    friction: Floats
    deck_friction: float
    deck_height: float
    pallet_vertices: Floats | None = None


@dataclass(frozen=True, eq=False)
class FilmOverInterfaces:
    """The least film over the slip zone of each interface.

    Args:
        hoop: hoop tension, shape (m,) [N/m].
        shear_stiffness: shear modulus times thickness of all layers, shape (m,) [N/m].
        slip_zone: height of film that is sheared by a slip [m].
        calibration: measured over modelled restraint; 1 until a test sets it [-].
        vertical_force: force that presses each interface together besides weight, shape (m,) [N].
    """

    hoop: Floats
    shear_stiffness: Floats
    slip_zone: float
    calibration: float
    vertical_force: Floats

    def along(self, walls: tuple[Floats, Floats]) -> ShearedFilm:
        """This film on the sides of the outline, seen along a movement.

        Args:
            walls: lengths of the sides and their |cos|, as `side_walls` gives them.
        """
        return ShearedFilm(self.hoop, self.shear_stiffness, self.slip_zone, walls, self.calibration)


@dataclass(frozen=True, eq=False)
class Way:
    """What happens in one direction of the vehicle, the load standing one way round.

    Args:
        action: accelerations in that direction.
        bearing: direction of the inertia force from the load's x axis [rad].
        walls: the outline's sides, as `side_walls` gives them.
        slides_on_vehicle: the pallet slides on the vehicle unless it is secured.
        tips_on_vehicle: pallet and load tip over together unless they are secured.
        tips: the stack above an interface tips over its edge, shape (m,).
        slips: friction does not hold an interface, shape (m,).
        needed: force that film must give an interface that slips, shape (m,) [N].
    """

    action: Action
    bearing: float
    walls: tuple[Floats, Floats]
    slides_on_vehicle: bool
    tips_on_vehicle: bool
    tips: Flags
    slips: Flags
    needed: Floats


@dataclass(frozen=True, eq=False)
class TransportScreen:
    """A load and its film under a profile; rows are ways, columns interfaces from the deck up.

    Args:
        profile: the profile asked for.
        ways: what film does not change, one for each row.
        restraint_limit: most that film can give, shape (rows, m) [N].
        slip: travel at which film holds; infinite where it cannot, shape (rows, m) [m].
        residual_slip: travel that stays afterwards, shape (rows, m) [m].
        caution: what must stand beside these figures.
    """

    profile: Profile
    ways: tuple[Way, ...]
    restraint_limit: Floats
    slip: Floats
    residual_slip: Floats
    caution: str = CAUTION


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
    beyond = horizontal * weight - friction * (vertical * weight + vertical_force)
    return np.maximum(beyond, 0.0)[()]


def restraint_needed(
    mass_above: FloatOrArray,
    friction: FloatOrArray,
    horizontal: FloatOrArray,
    vertical: FloatOrArray = 1.0,
    vertical_force: FloatOrArray = 0.0,
) -> FloatOrArray:
    """Force that film must give an interface once it slips, when kinetic friction is left.

    Equation: 0 where static friction holds, else c W - 0.75 mu (c_z W + V).

    Args:
        mass_above, friction, horizontal, vertical, vertical_force: as for
            `force_beyond_friction`, friction static.

    Returns:
        Force [N].

    Source: kinetic friction after the CTU Code, Annex 7 Appendix 2.
    """
    slips = force_beyond_friction(mass_above, friction, horizontal, vertical, vertical_force) > 0
    kinetic = KINETIC_SHARE * np.asarray(friction)
    moving = force_beyond_friction(mass_above, kinetic, horizontal, vertical, vertical_force)
    return np.where(slips, moving, 0.0)[()]


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
    ahead, following = vertices, np.roll(vertices, -1, axis=0)
    cross = ahead[:, 0] * following[:, 1] - following[:, 0] * ahead[:, 1]
    if cross.sum() > 0.0:
        centroid = ((ahead + following) * cross[:, None]).sum(axis=0) / (3.0 * cross.sum())
    else:
        centroid = vertices.mean(axis=0)
    direction = np.array([np.cos(bearing), np.sin(bearing)])
    return float(((vertices - centroid) @ direction).max() + corner_radius)


def stack_ways(
    stack: Stack, profile: Profile, bearings: Floats, vertical_force: FloatOrArray = 0.0
) -> tuple[Way, ...]:
    """Friction and tipping of a stack in every direction of a profile.

    Args:
        stack: the load.
        profile: accelerations to stand.
        bearings: directions of the load that may point along the vehicle, shape (k,) [rad].
        vertical_force: force that presses each interface together besides weight, shape (m,) [N].

    Raises:
        InputError: negative friction.

    Source: Coulomb friction and moments of rigid bodies, as in EN 12195-1:2010.
    """
    refuse_unless(stack.friction >= 0, "transport.friction", stack.friction, to_say("0 or more"))
    above = stack.load_height - stack.interface_heights
    masses = stack.load_mass * above / stack.load_height
    pallet = (stack.vertices, stack.corner_radius)
    if stack.pallet_vertices is not None:
        pallet = (stack.pallet_vertices, 0.0)
    ways = []
    for action, bearing in _turned(profile, bearings):
        c, c_z = action.horizontal, action.vertical
        needed = restraint_needed(masses, stack.friction, c, c_z, vertical_force)
        base = support_ahead(stack.vertices, stack.corner_radius, bearing)
        whole_height = stack.deck_height + 0.5 * stack.load_height
        ways.append(
            Way(
                action=action,
                bearing=bearing,
                walls=side_walls(stack.vertices, stack.corner_radius, bearing),
                slides_on_vehicle=c > stack.deck_friction * c_z,
                tips_on_vehicle=bool(
                    tips(support_ahead(*pallet, bearing), whole_height, action.tipping, c_z)
                ),
                tips=tips(base, 0.5 * above, action.tipping, c_z),
                slips=np.asarray(needed > 0.0),
                needed=np.asarray(needed),
            )
        )
    return tuple(ways)


def _turned(profile: Profile, bearings: Floats) -> Iterator[tuple[Action, float]]:
    """Every action with every direction of the load in which it may act."""
    for action in profile.actions:
        turned = bearings
        if action.direction == "sideways":
            turned = bearings + 0.5 * np.pi
        elif action.direction == "any":
            turned = np.concatenate([bearings, bearings + 0.5 * np.pi])
        for bearing in sorted({round(float(angle) % (2.0 * np.pi), 9) for angle in turned}):
            yield action, bearing


def transport_screen(
    stack: Stack, film: FilmOverInterfaces, profile: Profile, bearings: Floats
) -> TransportScreen:
    """How far every interface slips before film holds it, for each direction of a profile.

    Args:
        stack: the load.
        film: film over its interfaces.
        profile: accelerations to stand.
        bearings: directions of the load that may point along the vehicle, shape (k,) [rad].

    Raises:
        InputError: negative friction or hoop tension.

    Source: `stack_ways`, `woold.physics.restraint`.
    """
    refuse_unless(film.hoop >= 0, "hoop", film.hoop, to_say("0 or more"))
    ways = stack_ways(stack, profile, bearings, film.vertical_force)
    above = stack.load_height - stack.interface_heights
    pressing = stack.load_mass * GRAVITY * above / stack.load_height + film.vertical_force
    limits, slips, stays = [], [], []
    for way in ways:
        beside = film.along(way.walls)
        slip = slip_to_hold(way.needed, beside)
        limits.append(restraint_limit(beside))
        slips.append(slip)
        stays.append(residual_slip(slip, pressing, stack.friction, beside))
    return TransportScreen(profile, ways, np.array(limits), np.array(slips), np.array(stays))
