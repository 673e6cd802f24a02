"""Transport screen: does the stack slide or tip under an acceleration, and how far does it slip.

Friction alone keeps a tier where it is; film acts once the tier slips (`woold.physics.restraint`)
and must take up a sudden start (`woold.physics.sudden_start`). Film does not keep a load from
tipping (`woold.physics.tipping`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.physics.interface_friction import GRAVITY, SLIP_MARGIN, restraint_needed
from woold.physics.numeric import FloatOrArray, refuse_unless
from woold.physics.restraint import (
    KINETIC_SHARE,
    ShearedFilm,
    residual_slip,
    restraint_limit,
    shear_restraint,
    side_walls,
    slip_to_hold,
)
from woold.physics.sudden_start import (
    film_chain_frequency,
    largest_ramp_residual,
    started_slip,
    sudden_share,
    sudden_slip,
)
from woold.physics.tipping import support_ahead, tipping_share, unit_centre
from woold.physics.transport_profiles import SUDDEN_RAMP, Action, Profile
from woold.words import to_say

__all__ = [
    "CAUTION",
    "FilmOverInterfaces",
    "Stack",
    "TransportScreen",
    "Way",
    "shares_without_travel",
    "stack_ways",
    "transport_screen",
]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_ALIKE: Final = 1e-8
"""Angles and supports that differ by less are alike [rad, m]."""

CAUTION: Final = to_say(
    "Engineering estimate, not a proof: a physical tilt or acceleration test decides. It "
    "reckons with a sudden start by a rule, leaves out vibration, crushing and leaning columns, "
    "and does not secure the load on the vehicle. Local codes, carriers' rules and the advice of "
    "licensed practitioners come first."
)


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
        vehicle_friction: static friction of pallet on vehicle [-].
        deck_height: pallet's deck above the vehicle's floor [m].
        pallet_vertices: corners of the pallet; None where it is as the load [m].
        pallet_mass: the empty pallet; 0 errs to the safe side [kg].
        kinetic_share: kinetic over static friction [-].
        foot_blocked: something keeps the pallet's foot from sliding on the vehicle.
        slip_margin: an interface counts as slipping from this much below its friction [-].
    """

    vertices: Floats
    corner_radius: float
    load_height: float
    load_mass: float
    interface_heights: Floats
    friction: Floats
    vehicle_friction: float
    deck_height: float
    pallet_vertices: Floats | None = None
    pallet_mass: float = 0.0
    kinetic_share: float = KINETIC_SHARE
    foot_blocked: bool = False
    slip_margin: float = SLIP_MARGIN

    @property
    def mass_above(self) -> Floats:
        """Mass above each interface, evenly spread over the height, shape (m,) [kg]."""
        above = self.load_height - self.interface_heights
        return np.asarray(self.load_mass * above / self.load_height)


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
    """What film does not change in one direction of the vehicle, the load one way round.

    Args:
        action: accelerations in that direction.
        bearing: direction of the inertia force from the load's x axis [rad].
        walls: the outline's sides, as `side_walls` gives them.
        slips: friction does not hold an interface, shape (m,).
        needed: force that film must give an interface that slips, shape (m,) [N].
        friction_drop: static less kinetic friction force of each interface, shape (m,) [N].
        ramp_time: time in which the acceleration grows [s].
    """

    action: Action
    bearing: float
    walls: tuple[Floats, Floats]
    slips: Flags
    needed: Floats
    friction_drop: Floats
    ramp_time: float


@dataclass(frozen=True, eq=False)
class TransportScreen:
    """A load and its film under a profile; rows are ways, columns interfaces from the deck up.

    Args:
        profile: the profile asked for.
        ways: what film does not change, one for each row.
        restraint_limit: most that film can give, shape (rows, m) [N].
        slip: travel that a start reaches; infinite where film cannot hold, shape (rows, m) [m].
        static_slip: travel if the acceleration came slowly, shape (rows, m) [m].
        residual_slip: travel that stays afterwards, shape (rows, m) [m].
        tipping: what tips the stack above each interface over what keeps it, shape (rows, m) [-].
        unit_tipping: the same for pallet and load together, shape (rows,) [-].
        unit_sliding: what pushes the pallet along the vehicle over what holds it; 0 where its
            foot is blocked, shape (rows,) [-].
        caution: what must stand beside these figures.
    """

    profile: Profile
    ways: tuple[Way, ...]
    restraint_limit: Floats
    slip: Floats
    static_slip: Floats
    residual_slip: Floats
    tipping: Floats
    unit_tipping: Floats
    unit_sliding: Floats
    caution: str = CAUTION


def stack_ways(
    stack: Stack,
    profile: Profile,
    bearings: Floats,
    vertical_force: FloatOrArray = 0.0,
    ramp_time: float = SUDDEN_RAMP,
) -> tuple[Way, ...]:
    """Friction of a stack in every direction of a profile.

    Args:
        stack: the load.
        profile: accelerations to stand.
        bearings: directions of the load that may point along the vehicle, shape (k,) [rad].
        vertical_force: force that presses each interface together besides weight, shape (m,) [N].
        ramp_time: time in which the acceleration grows where the profile states none [s].

    Raises:
        InputError: negative friction.

    Source: Coulomb friction, as in EN 12195-1:2010.
    """
    refuse_unless(stack.friction >= 0, "transport.friction", stack.friction, to_say("0 or more"))
    masses, share = stack.mass_above, stack.kinetic_share
    ways = []
    for action, bearing in _turned(stack, profile, bearings):
        c, c_z = action.horizontal, action.vertical
        needed = restraint_needed(
            masses, stack.friction, c, c_z, vertical_force, share, stack.slip_margin
        )
        pressed = c_z * masses * GRAVITY + vertical_force
        ways.append(
            Way(
                action=action,
                bearing=bearing,
                walls=side_walls(stack.vertices, stack.corner_radius, bearing),
                slips=np.asarray(needed > 0.0),
                needed=np.asarray(needed),
                friction_drop=np.asarray((1.0 - share) * stack.friction * pressed),
                ramp_time=ramp_time if profile.ramp_time is None else profile.ramp_time,
            )
        )
    return tuple(ways)


def _turned(stack: Stack, profile: Profile, bearings: Floats) -> Iterator[tuple[Action, float]]:
    """Every action with every direction of the load in which it may act.

    Opposite directions differ in their supports only: where those are alike, the first stands for
    both.
    """
    for action in profile.actions:
        turned = bearings
        if action.direction == "sideways":
            turned = bearings + 0.5 * np.pi
        elif action.direction == "any":
            turned = np.concatenate([bearings, bearings + 0.5 * np.pi])
        seen: list[tuple[float, float, float]] = []
        for bearing in sorted({round(float(angle) % (2.0 * np.pi), 9) for angle in turned}):
            back = (bearing - np.pi, *_supports(stack, bearing))
            if any(
                max(abs(one - two) for one, two in zip(back, each, strict=True)) < _ALIKE
                for each in seen
            ):
                continue
            seen.append((bearing, *back[1:]))
            yield action, bearing


def _supports(stack: Stack, bearing: float) -> tuple[float, float]:
    """Support of the stack on its lowest tier and of the unit on its pallet [m]."""
    own = support_ahead(stack.vertices, stack.corner_radius, bearing)
    if stack.pallet_vertices is None:
        return own, own
    return own, support_ahead(stack.pallet_vertices, 0.0, bearing)


def transport_screen(
    stack: Stack,
    film: FilmOverInterfaces,
    profile: Profile,
    bearings: Floats,
    ramp_time: float = SUDDEN_RAMP,
) -> TransportScreen:
    """How far every interface slips before film holds it, and what tips, for each direction.

    Args:
        stack: the load.
        film: film over its interfaces.
        profile: accelerations to stand.
        bearings: directions of the load that may point along the vehicle, shape (k,) [rad].
        ramp_time: time in which the acceleration grows where the profile states none [s].

    Raises:
        InputError: negative friction or hoop tension.

    Source: `stack_ways`, `woold.physics.sudden_start`, `woold.physics.tipping`.
    """
    refuse_unless(film.hoop >= 0, "hoop", film.hoop, to_say("0 or more"))
    ways = stack_ways(stack, profile, bearings, film.vertical_force, ramp_time)
    pressing = stack.mass_above * GRAVITY + film.vertical_force
    limits, slips, statics, stays, tipping, units = [], [], [], [], [], []
    for way in ways:
        beside = film.along(way.walls)
        static, slip = _slips(stack, way, beside)
        limits.append(restraint_limit(beside))
        statics.append(static)
        slips.append(slip)
        stays.append(residual_slip(slip, pressing, stack.friction, beside, stack.kinetic_share))
        tipping.append(_tipping(stack, way, float(slip.sum())))
        units.append(
            (
                _unit_tipping(stack, way, float(slip.sum())),
                _unit_sliding(stack, way, slip, beside, film.vertical_force),
            )
        )
    unit_tipping, unit_sliding = np.array(units).reshape(len(ways), 2).T
    return TransportScreen(
        profile=profile,
        ways=ways,
        restraint_limit=np.array(limits),
        slip=np.array(slips),
        static_slip=np.array(statics),
        residual_slip=np.array(stays),
        tipping=np.array(tipping),
        unit_tipping=unit_tipping,
        unit_sliding=unit_sliding,
    )


def shares_without_travel(stack: Stack, way: Way) -> dict[str, float]:
    """What tips or slides a load in a direction, over what keeps it, where no tier slips at all.

    Above 1 no film holds it.

    Args:
        stack: the load.
        way: the direction.

    Returns:
        Shares by "stack_tips", "unit_tips" and "unit_slides" [-].
    """
    action = way.action
    slides = np.inf
    if stack.foot_blocked:
        slides = 0.0
    elif stack.vehicle_friction > 0.0:
        slides = stack.slip_margin * action.horizontal / (stack.vehicle_friction * action.vertical)
    return {
        "stack_tips": float(_tipping(stack, way, 0.0).max()),
        "unit_tips": _unit_tipping(stack, way, 0.0),
        "unit_slides": slides,
    }


def _slips(stack: Stack, way: Way, beside: ShearedFilm) -> tuple[Floats, Floats]:
    """Slip of each interface if the acceleration came slowly, and as it comes."""
    static = np.asarray(slip_to_hold(way.needed, beside))
    held = way.slips & np.isfinite(static)
    stiffness = way.needed / np.where(held, static, 1.0)
    frequency = film_chain_frequency(stack.mass_above, stiffness, held)
    residual = largest_ramp_residual(frequency, way.ramp_time)
    share = sudden_share(way.needed, way.friction_drop, residual)
    return static, np.asarray(started_slip(static, sudden_slip(way.needed, beside), share))


def _tipping(stack: Stack, way: Way, top_travel: float) -> Floats:
    base = support_ahead(stack.vertices, stack.corner_radius, way.bearing)
    centre = 0.5 * (stack.load_height - stack.interface_heights)
    action = way.action
    return np.asarray(tipping_share(base, centre, action.tipping, action.vertical, top_travel))


def _unit_tipping(stack: Stack, way: Way, top_travel: float) -> float:
    centre, share = unit_centre(
        stack.load_mass, stack.load_height, stack.deck_height, stack.pallet_mass
    )
    base, action = _supports(stack, way.bearing)[1], way.action
    return float(tipping_share(base, centre, action.tipping, action.vertical, share * top_travel))


def _unit_sliding(
    stack: Stack, way: Way, slip: Floats, beside: ShearedFilm, vertical_force: Floats
) -> float:
    """Push on the pallet over its friction; tiers that film turns round push more than they weigh.

    Below the lowest interface that slips everything keeps up with the vehicle; above it no more
    is passed down than kinetic friction and what film gives at the turning point.
    """
    if stack.foot_blocked:
        return 0.0
    c, c_z = way.action.horizontal, way.action.vertical
    mass = stack.load_mass + stack.pallet_mass
    push = stack.slip_margin * c * mass * GRAVITY
    if way.slips.any():
        lowest = int(np.argmax(way.slips))
        pressed = c_z * stack.mass_above * GRAVITY + vertical_force
        reached = np.where(np.isfinite(slip), slip, 1e3)
        passed = (
            stack.kinetic_share * stack.friction * pressed + shear_restraint(reached, beside)
        )[lowest]
        push = max(push, c * (mass - stack.mass_above[lowest]) * GRAVITY + float(passed))
    held = stack.vehicle_friction * c_z * mass * GRAVITY
    return push / held if held > 0.0 else np.inf
