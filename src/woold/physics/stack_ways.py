"""The load as tiers on its deck, and what friction leaves to film in each direction."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.physics.interface_friction import (
    GRAVITY,
    SLIP_MARGIN,
    force_beyond_friction,
    restraint_needed,
)
from woold.physics.numeric import FloatOrArray, refuse_unless
from woold.physics.restraint import KINETIC_SHARE, side_walls
from woold.physics.sudden_start import largest_ramp_residual
from woold.physics.swing import overturning_factor, slip_factor, sway_travel, swing_frequency
from woold.physics.tipping import support_ahead
from woold.physics.transport_profiles import SUDDEN_RAMP, Action, Profile
from woold.words import to_say

__all__ = ["Stack", "Way", "stack_ways", "turned_bearings"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_ALIKE: Final = 1e-8
"""Angles and supports that differ by less are alike [rad, m]."""


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
        slip_margin: an interface counts as slipping from this much below its friction, at least
            [-].
        give: by how much all of the weight presses an interface in; 0 for packages that do not
            give [m].
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
    give: float = 0.0

    @property
    def mass_above(self) -> Floats:
        """Mass above each interface, evenly spread over the height, shape (m,) [kg]."""
        above = self.load_height - self.interface_heights
        return np.asarray(self.load_mass * above / self.load_height)


@dataclass(frozen=True, eq=False)
class Way:
    """What film does not change in one direction of the vehicle, the load one way round.

    Args:
        action: accelerations in that direction.
        bearing: direction of the inertia force from the load's x axis [rad].
        supports: from the middle to the edge of the stack, and of the unit on its pallet [m].
        walls: the outline's sides, as `side_walls` gives them.
        slips: friction does not hold an interface, or not in the swing alone, shape (m,).
        needed: force that film must give an interface that slips, shape (m,) [N].
        sway_travel: travel that the swing adds to each that slips, shape (m,) [m].
        friction_drop: static less kinetic friction force of each interface, shape (m,) [N].
        ramp_time: time in which the acceleration grows [s].
        slip_margin: an interface counts as slipping from this much below its friction [-].
        tipping_margin: and the load as tipping from this much below its limit [-].
    """

    action: Action
    bearing: float
    supports: tuple[float, float]
    walls: tuple[Floats, Floats]
    slips: Flags
    needed: Floats
    sway_travel: Floats
    friction_drop: Floats
    ramp_time: float
    slip_margin: float
    tipping_margin: float


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
    ramp = ramp_time if profile.ramp_time is None else profile.ramp_time
    ways = []
    for action, bearing, supports in _turned(stack, profile, bearings):
        c, c_z = action.horizontal, action.vertical
        frequency = _swing_frequency(stack, supports[0])
        swing = float(largest_ramp_residual(frequency, ramp))
        margin = float(slip_factor(swing, stack.slip_margin))
        loose = force_beyond_friction(masses, stack.friction, margin * c, c_z, vertical_force) > 0.0
        sway = np.where(loose, sway_travel(c, frequency), 0.0)
        needed = restraint_needed(masses, stack.friction, c, c_z, vertical_force, share, margin)
        pressed = c_z * masses * GRAVITY + vertical_force
        ways.append(
            Way(
                action=action,
                bearing=bearing,
                supports=supports,
                walls=side_walls(stack.vertices, stack.corner_radius, bearing),
                slips=np.asarray((needed > 0.0) | (sway > 0.0)),
                needed=np.asarray(needed),
                sway_travel=sway,
                friction_drop=np.asarray((1.0 - share) * stack.friction * pressed),
                ramp_time=ramp,
                slip_margin=margin,
                tipping_margin=float(overturning_factor(swing)),
            )
        )
    return tuple(ways)


def _turned(
    stack: Stack, profile: Profile, bearings: Floats
) -> Iterator[tuple[Action, float, tuple[float, float]]]:
    """Every action with every direction of the load in which it may act, and its supports.

    Opposite directions differ in their supports only: where those are alike, the first stands for
    both.
    """
    for action in profile.actions:
        seen: list[tuple[float, float, float]] = []
        for bearing in turned_bearings(action, bearings):
            supports = _supports(stack, bearing)
            back = (bearing - np.pi, *supports)
            if any(
                max(abs(one - two) for one, two in zip(back, each, strict=True)) < _ALIKE
                for each in seen
            ):
                continue
            seen.append((bearing, *supports))
            yield action, bearing, supports


def turned_bearings(action: Action, bearings: Floats) -> list[float]:
    """Directions of the load in which an action may push it [rad].

    Args:
        action: accelerations in a direction of the vehicle.
        bearings: directions of the load that may point along the vehicle, shape (k,) [rad].
    """
    turned = bearings
    if action.direction == "sideways":
        turned = bearings + 0.5 * np.pi
    elif action.direction == "any":
        turned = np.concatenate([bearings, bearings + 0.5 * np.pi])
    return sorted({round(float(angle) % (2.0 * np.pi), 9) for angle in turned})


def _swing_frequency(stack: Stack, support: float) -> float:
    """Of the tiers and the pallet under them [rad/s]."""
    tiers = np.diff(stack.interface_heights, append=stack.load_height)
    heights = np.concatenate([[stack.deck_height], tiers])
    masses = np.concatenate([[stack.pallet_mass], tiers * (stack.load_mass / stack.load_height)])
    return swing_frequency(heights, masses, support, stack.give)


def _supports(stack: Stack, bearing: float) -> tuple[float, float]:
    """Support of the stack on its lowest tier and of the unit on its pallet [m]."""
    own = support_ahead(stack.vertices, stack.corner_radius, bearing)
    if stack.pallet_vertices is None:
        return own, own
    return own, support_ahead(stack.pallet_vertices, 0.0, bearing)
