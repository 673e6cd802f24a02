"""The time simulation of a case's load: what a pulse or a recorded trip does to it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.case.transport import Transport
from woold.physics.interface_friction import GRAVITY
from woold.physics.restraint import side_walls
from woold.physics.stack_motion import (
    SINK,
    BaseMotion,
    MovingStack,
    StackMotion,
    film_panels,
    pulse,
    stack_motion,
)
from woold.physics.tipping import support_ahead
from woold.prediction.result import Finding, Prediction
from woold.rows.told import Told
from woold.transport.film_over_interfaces import Wrap, wrap_over_interfaces
from woold.transport.result import TransportResult, WayResult
from woold.transport.screen import load_bearings, load_stack, transport_of
from woold.transport.unmeasured import asked_states, unmeasured_inputs
from woold.transport.ways import no_if_any_is_no
from woold.words import to_say

__all__ = [
    "PULSE_TIME",
    "SIMULATION_CAUTION",
    "SimulatedWay",
    "TransportSimulation",
    "moving_stack",
    "simulate_transport",
]

Floats = NDArray[np.float64]

PULSE_TIME = 1.0
"""Time for which a pulse keeps its level, longer than most tests, to the safe side [s]."""

SIMULATION_CAUTION = to_say(
    "A simulation, not a test: tiers are rigid bodies, each in one piece, that move in one plane;"
    " film has no losses, and neither vibration nor crushing is in it."
)

_SAMPLES = 151


@dataclass(frozen=True, slots=True)
class SimulatedWay:
    """One direction; bodies are the pallet and the tiers, a slip is over the body below.

    It moves as is guessed of what nobody measured; `holds` is None where one of those inputs, moved
    alone over its range, turns the answer, and `decided_by` names them.
    """

    profile: str
    direction: str
    bearing_rad: float
    acceleration_g: float
    largest_slips_m: tuple[float, ...]
    largest_lift_m: float
    largest_turn_rad: float
    top_travel_m: float
    top_travel_kept_m: float
    fell_at_s: float | None
    screen_top_travel_m: float | None
    screen_holds: bool | None
    holds: bool | None
    decided_by: tuple[str, ...]
    times_s: tuple[float, ...]
    slips_m: tuple[tuple[float, ...], ...]
    positions: tuple[tuple[tuple[float, float, float], ...], ...]


@dataclass(frozen=True, slots=True, repr=False)
class TransportSimulation(Told):
    """Every direction that was simulated."""

    told_as = "transport-simulation"
    told_by = "woold.transport.simulation_rows:simulation_blocks"

    title: str
    caution: str
    holds: bool | None
    body_heights_m: tuple[float, ...]
    body_ahead_m: tuple[tuple[float, ...], ...]
    body_behind_m: tuple[tuple[float, ...], ...]
    ways: tuple[SimulatedWay, ...]
    findings: tuple[Finding, ...] = ()


def moving_stack(case: Case, asked: Transport, wrap: Wrap, bearing: float) -> MovingStack:
    """A case's load as bodies that move along a direction.

    Args:
        case: the case.
        asked: its [transport] table.
        wrap: film over its interfaces.
        bearing: direction of the inertia force from the load's x axis [rad].
    """
    stack, load = load_stack(case, asked), case.load
    outline = (stack.vertices, stack.corner_radius)
    pallet = outline if stack.pallet_vertices is None else (stack.pallet_vertices, 0.0)
    ends = [
        np.append(support_ahead(*pallet, way), np.full(load.tiers, support_ahead(*outline, way)))
        for way in (bearing, bearing + math.pi)
    ]
    panels = film_panels(wrap.over(asked).along(side_walls(*outline, bearing)))
    bare = np.broadcast_to([0.0, 1.0], panels[:1].shape)
    # A deck on the floor and a pallet without mass have no place among rigid bodies.
    return MovingStack(
        ahead=ends[0],
        behind=ends[1],
        heights=np.append(
            max(load.deck_height, 0.01), np.full(load.tiers, load.height / load.tiers)
        ),
        masses=np.append(
            max(asked.pallet_mass, 0.01 * load.mass), np.full(load.tiers, load.mass / load.tiers)
        ),
        friction=np.append(asked.vehicle_friction, stack.friction),
        kinetic_share=asked.kinetic_share,
        panels=np.concatenate([bare, panels]),
        foot_blocked=asked.foot_blocked,
        pressing_force=asked.pressing_force,
        give=max(asked.package_give, SINK),
    )


def simulate_transport(
    case: Case,
    prediction: Prediction,
    screen: TransportResult,
    recording: BaseMotion | None = None,
    pulse_time: float = PULSE_TIME,
) -> TransportSimulation:
    """Move the load in every direction of the screen, or as a vehicle was recorded to move.

    Args:
        case: a case with a [transport] table.
        prediction: its prediction.
        screen: its screen, whose worst way round counts in each direction.
        recording: what bodies felt on a trip; pulses at the profiles' levels if not given.
        pulse_time: time for which a pulse keeps its level [s].

    Raises:
        InputError: no [transport] table.
    """
    mover = _Mover(case, prediction)
    stacks, ways = [], []
    if recording is not None:
        level = float(abs(recording.along).max()) / GRAVITY
        for bearing in sorted({float(each) % math.pi for each in load_bearings(mover.asked)}):
            stacks.append(mover.stack(mover.asked, bearing))
            ways.append(mover.way(recording, ("", "recorded", bearing, level), None))
    else:
        for profile in screen.profiles:
            for way in profile.ways:
                base = pulse(
                    way.acceleration_g, way.ramp_time_s, pulse_time, vertical=way.vertical_g
                )
                stacks.append(mover.stack(mover.asked, way.bearing_rad))
                named = (profile.profile, way.direction, way.bearing_rad, way.acceleration_g)
                ways.append(mover.way(base, named, way))
    return TransportSimulation(
        title=case.title,
        caution=SIMULATION_CAUTION,
        holds=no_if_any_is_no(way.holds for way in ways),
        body_heights_m=tuple(stacks[0].heights.tolist()),
        body_ahead_m=tuple(tuple(each.ahead.tolist()) for each in stacks),
        body_behind_m=tuple(tuple(each.behind.tolist()) for each in stacks),
        ways=tuple(ways),
    )


def _times(base: BaseMotion) -> Floats:
    return np.linspace(base.times[0], base.times[-1], _SAMPLES)


class _Mover:
    """A case's load, moved as guessed and at every end of what nobody measured.

    Args:
        case: the case.
        prediction: its prediction.
    """

    def __init__(self, case: Case, prediction: Prediction) -> None:
        self.case, self.asked = case, transport_of(case)
        self.wrap = wrap_over_interfaces(case, self.asked, prediction)
        self.unmeasured = unmeasured_inputs(case)

    def stack(self, asked: Transport, bearing: float) -> MovingStack:
        """The load as bodies, with other values of its [transport] table."""
        return moving_stack(self.case, asked, self.wrap, bearing)

    def way(
        self, base: BaseMotion, named: tuple[str, str, float, float], screened: WayResult | None
    ) -> SimulatedWay:
        """What one direction does to it."""
        profile, direction, bearing, level = named
        done = stack_motion(self.stack(self.asked, bearing), base, _times(base))
        holds, decided = self._keeps(done), self._decided_by(base, bearing)
        return SimulatedWay(
            profile=profile,
            direction=direction,
            bearing_rad=bearing,
            acceleration_g=level,
            largest_slips_m=tuple(done.largest_slips.tolist()),
            largest_lift_m=done.largest_lift,
            largest_turn_rad=float(done.largest_turns.max()),
            top_travel_m=done.top_travel,
            top_travel_kept_m=done.top_travel_kept,
            fell_at_s=done.fell_at,
            screen_top_travel_m=screened.top_travel_m if screened else None,
            screen_holds=screened.holds if screened else None,
            holds=None if decided else holds,
            decided_by=decided,
            times_s=tuple(done.times.tolist()),
            slips_m=tuple(map(tuple, done.slips.tolist())),
            positions=tuple(
                tuple((x, y, turn) for x, y, turn in bodies) for bodies in done.positions.tolist()
            ),
        )

    def _decided_by(self, base: BaseMotion, bearing: float) -> tuple[str, ...]:
        """Inputs that nobody measured and that turn the answer over their ranges."""
        answers: dict[str, set[bool]] = {}
        ends = np.array([base.times[0], base.times[-1]])
        for field, asked in asked_states(self.asked, self.unmeasured):
            done = stack_motion(self.stack(asked, bearing), base, ends)
            answers.setdefault(field, set()).add(self._keeps(done))
        guessed = answers.pop("")
        return tuple(field for field, found in answers.items() if found != guessed)

    def _keeps(self, done: StackMotion) -> bool:
        """Whether a motion keeps within all limits."""
        asked, height = self.asked, self.case.load.height
        return (
            done.fell_at is None
            and float(done.largest_slips.max()) <= asked.slip_limit
            and done.top_travel <= asked.lean_limit * height
            and done.top_travel_kept <= asked.kept_limit * height
        )
