"""Transport screen: does the stack slide or tip under an acceleration, and how far does it slip.

Friction alone keeps a tier where it is; film acts once the tier slips (`woold.physics.restraint`)
and must take up a sudden start (`woold.physics.sudden_start`). Film does not keep a load from
tipping (`woold.physics.tipping`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from woold.physics.interface_friction import GRAVITY
from woold.physics.numeric import refuse_unless
from woold.physics.restraint import (
    ShearedFilm,
    residual_slip,
    restraint_limit,
    shear_restraint,
    slip_to_hold,
)
from woold.physics.stack_ways import Stack, Way, stack_ways
from woold.physics.sudden_start import (
    film_chain_frequency,
    largest_ramp_residual,
    started_slip,
    sudden_share,
    sudden_slip,
)
from woold.physics.tipping import tipping_share, unit_centre
from woold.physics.transport_profiles import SUDDEN_RAMP, Profile
from woold.words import to_say

__all__ = [
    "CAUTION",
    "FilmOverInterfaces",
    "TransportScreen",
    "transport_screen",
]

Floats = NDArray[np.float64]
CAUTION: Final = to_say(
    "Engineering estimate, not a proof: a physical tilt or acceleration test decides. It "
    "reckons with a sudden start by a rule, leaves out vibration, crushing and leaning columns, "
    "and does not secure the load on the vehicle. Local codes, carriers' rules and the advice of "
    "licensed practitioners come first."
)


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
class TransportScreen:
    """A load and its film under a profile; rows are ways, columns interfaces from the deck up.

    Args:
        profile: the profile asked for.
        ways: what film does not change, one for each row.
        restraint_limit: most that film can give, shape (rows, m) [N].
        slip: travel that a start reaches; infinite where film cannot hold, shape (rows, m) [m].
        static_slip: travel if the acceleration came slowly, shape (rows, m) [m].
        residual_slip: travel that stays afterwards, shape (rows, m) [m].
        tipping: what tips the stack above each interface over what keeps it; without travel where
            film never stops a tier, shape (rows, m) [-].
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
        # A tier that film never stops falls by itself: what stands or tips is said as if it stayed.
        travel = float(slip.sum()) if np.isfinite(slip).all() else 0.0
        tipping.append(_tipping(stack, way, travel))
        units.append(
            (
                _unit_tipping(stack, way, travel),
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


def _slips(stack: Stack, way: Way, beside: ShearedFilm) -> tuple[Floats, Floats]:
    """Slip of each interface if the acceleration came slowly, and as it comes."""
    static = np.asarray(slip_to_hold(way.needed, beside))
    held = (way.needed > 0.0) & np.isfinite(static)
    stiffness = way.needed / np.where(held, static, 1.0)
    frequency = film_chain_frequency(stack.mass_above, stiffness, held)
    residual = largest_ramp_residual(frequency, way.ramp_time)
    share = sudden_share(way.needed, way.friction_drop, residual)
    started = np.asarray(started_slip(static, sudden_slip(way.needed, beside), share))
    return static, started + way.sway_travel


def _tipping(stack: Stack, way: Way, top_travel: float) -> Floats:
    base = way.supports[0]
    centre = 0.5 * (stack.load_height - stack.interface_heights)
    action = way.action
    tipping = way.tipping_margin * action.tipping
    return np.asarray(tipping_share(base, centre, tipping, action.vertical, top_travel))


def _unit_tipping(stack: Stack, way: Way, top_travel: float) -> float:
    centre, share = unit_centre(
        stack.load_mass, stack.load_height, stack.deck_height, stack.pallet_mass
    )
    base, action = way.supports[1], way.action
    tipping = way.tipping_margin * action.tipping
    return float(tipping_share(base, centre, tipping, action.vertical, share * top_travel))


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
    push = way.slip_margin * c * mass * GRAVITY
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
