"""The dancer in motion: film demand, film span, arm and drive over a whole cycle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, PhysicsError, Problem
from woold.physics import dancer_state as column
from woold.physics.dancer import balance_tension, film_store, spring_energy
from woold.physics.dancer_setup import DancerSetup
from woold.physics.dancer_state import Constants
from woold.physics.demand import flush_sides, touch_vertex
from woold.physics.outlines import perimeter, side_vectors
from woold.physics.turning import Turning
from woold.words import say

__all__ = ["Motion", "simulate"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Motion:
    """What the dancer did over the cycle.

    Args:
        time: evenly spaced [s], shape (n,).
        theta: angle turned [rad], shape (n,).
        arm_angle: φ [rad], shape (n,).
        arm_speed: [rad/s], shape (n,).
        film_speed: surface speed of the fast roller [m/s], shape (n,).
        tension: film tension at the load [N], shape (n,).
        demand: film demand [m/s], shape (n,).
        lower_hits, upper_hits: times that the arm ran into its stops.
        slack_time: time without tension [s].
        film_laid: unloaded length of film laid on the load [m].
        work_by_load: work that turning did on the film [J].
        film_residual: film in, less film laid, less growth of the span, as share of film in.
        energy_residual: work done, less growth of energy, as share of the work by the load.
        steps: steps of integration.
    """

    time: Floats
    theta: Floats
    arm_angle: Floats
    arm_speed: Floats
    film_speed: Floats
    tension: Floats
    demand: Floats
    lower_hits: int
    upper_hits: int
    slack_time: float
    film_laid: float
    work_by_load: float
    film_residual: float
    energy_residual: float
    steps: int


def constants_of(setup: DancerSetup) -> Constants:
    """The set-up's numbers as the kernel takes them."""
    arm, spring, span, drive = setup.arm, setup.spring, setup.span, setup.drive
    return Constants(
        inertia=float(arm.inertia),
        damping=float(arm.damping),
        friction_torque=float(arm.friction_torque),
        lower_stop=float(arm.lower_stop),
        upper_stop=float(arm.upper_stop),
        stop_stiffness=float(arm.stop_stiffness),
        stop_damping=float(arm.stop_damping),
        film_reach=float(arm.film_lines * arm.arm_length),
        anchor_x=float(arm.anchor[0]),
        anchor_y=float(arm.anchor[1]),
        hole_radius=float(setup.hole_radius),
        spring_rate=float(spring.rate),
        spring_free_length=float(spring.free_length),
        spring_preload=float(spring.preload),
        film_stiffness=float(span.film_stiffness),
        roller_strain=float(span.roller_strain),
        fixed_length=float(span.fixed_length),
        exit_distance=float(setup.exit_distance),
        corner_radius=float(setup.outline.corner_radius),
        mean_distance=perimeter(setup.outline) / (2 * np.pi),
        set_angle=float(drive.set_angle),
        gain=float(drive.gain),
        integral_gain=float(drive.integral_gain),
        feed_forward=float(drive.feed_forward),
        lag=float(drive.lag),
        acceleration_limit=float(drive.acceleration_limit),
        speed_limit=float(drive.speed_limit),
    )


def smooth_pieces(setup: DancerSetup, turning: Turning, start_theta: float = 0.0) -> Floats:
    """The cycle cut wherever the film lies flush on a side or the turning's slope changes.

    Returns:
        One row for each piece: start and end [s], angle [rad], turning speed [rad/s] and its rate
        [rad/s²] at the start, touched corner (x, y) [m], length laid at its end [m].
    """
    outline, exit_distance = setup.outline, setup.exit_distance
    flush = flush_sides(outline, exit_distance, 1.0).theta
    sides = np.hypot(*side_vectors(outline.vertices).T)
    rates = np.diff(turning.speeds) / np.diff(turning.times)
    turned = start_theta + turning.turned
    blocks = []
    for knot, rate in enumerate(rates):
        begin, finish = turning.times[knot], turning.times[knot + 1]
        cuts, laid = _flush_times(
            flush, sides, turned[knot], turned[knot + 1], turning.speeds[knot], rate
        )
        inside = cuts < finish - begin
        since = np.concatenate([[0.0], cuts[inside]])
        block = np.empty((len(since), column.LAID_AT_END + 1))
        block[:, column.START] = begin + since
        block[:, column.END] = np.append(begin + since[1:], finish)
        block[:, column.THETA] = turned[knot] + since * (turning.speeds[knot] + rate * since / 2)
        block[:, column.TURNING] = turning.speeds[knot] + rate * since
        block[:, column.TURNING_RATE] = rate
        block[:, column.LAID_AT_END] = np.append(laid[inside], 0.0)
        blocks.append(block)
    pieces = np.concatenate(blocks)
    starts = pieces[:, column.THETA]
    middles = (starts + np.append(starts[1:], turned[-1])) / 2
    touched = touch_vertex(middles, outline, exit_distance)
    pieces[:, [column.CORNER_X, column.CORNER_Y]] = outline.vertices[touched]
    return pieces


def _flush_times(
    flush: Floats, sides: Floats, first: float, last: float, speed: float, rate: float
) -> tuple[Floats, Floats]:
    """Times since the knot at which a side is laid, and the length of that side."""
    if not len(flush) or last <= first:
        return np.empty(0), np.empty(0)
    turns = 2 * np.pi * np.arange(np.floor(first / (2 * np.pi)), np.ceil(last / (2 * np.pi)) + 1)
    angles = (flush + turns[:, None]).ravel()
    lengths = np.tile(sides, len(turns))
    inside = (angles > first + 1e-12) & (angles <= last)
    order = np.argsort(angles[inside])
    ahead = angles[inside][order] - first
    # speed t + rate t²/2 = ahead, in the form that does not cancel.
    root = np.sqrt(np.maximum(speed**2 + 2 * rate * ahead, 0.0))
    return 2 * ahead / (speed + root), lengths[inside][order]


def simulate(
    setup: DancerSetup,
    turning: Turning,
    sample_interval: float = 0.005,
    tolerance: float = 1e-6,
    start_theta: float = 0.0,
) -> Motion:
    """The dancer's motion from rest over a cycle.

    d l_r/dt = v_fast/(1 + e_r) - v_wrapped/(1 + e), T = EA e, e = l/l_r - 1, no less than 0
    J φ'' = τ(φ) - N T r cos φ - c φ' - Coulomb friction + stops

    It starts with the arm at the drive's set angle and the film at the tension that balances it.

    Args:
        setup: the dancer and all that hangs on it.
        turning: speed of turning over the cycle.
        sample_interval: time between the samples given back [s].
        tolerance: relative error allowed in a step of integration.
        start_theta: angle of the exit point at the start [rad].

    Returns:
        The motion.

    Raises:
        PhysicsError: the motion cannot be integrated, or film runs out of the span.
        InputError: a sample interval or tolerance that cannot be used.
    """
    # Loaded here: whoever only asks for a set-up's numbers needs no compiler.
    from woold.physics import dancer_kernel

    duration = float(turning.times[-1] - turning.times[0])
    _require_steps(sample_interval, tolerance, duration)
    constants = constants_of(setup)
    pieces = smooth_pieces(setup, turning, start_theta)
    count = int(np.floor(duration / sample_interval + 1e-9)) + 1
    # Rounding must not carry the last sample beyond the last piece.
    time = np.minimum(turning.times[0] + sample_interval * np.arange(count), pieces[-1, column.END])
    initial = rest_state(setup)
    states, final, tally = dancer_kernel.integrate(constants, pieces, time, initial, tolerance)
    if tally[column.FAILED]:
        raise PhysicsError.one(
            "dancer",
            say("no motion beyond {tally:.3g} s", tally=tally[column.FAILED] - 1),
            say("constants for which arm and film move at a finite speed"),
            say("Look at inertia, stop stiffness and the film left in the span."),
        )
    theta = start_theta + turning.angle(time)
    began, ended = (
        _held(setup, state, dancer_kernel.film_line(constants, piece, at)[2])
        for state, piece, at in (
            (initial, pieces[0], turning.times[0]),
            (final, pieces[-1], turning.times[-1]),
        )
    )
    grown, gained = ended[0] - began[0], ended[1] - began[1]
    film_in, laid = final[column.FILM_IN], final[column.FILM_LAID]
    by_load = final[column.WORK_LOAD]
    return Motion(
        time=time,
        theta=theta,
        arm_angle=states[:, column.ANGLE],
        arm_speed=states[:, column.SPEED],
        film_speed=states[:, column.FILM_SPEED],
        tension=setup.span.film_stiffness * np.maximum(states[:, column.STRAIN], 0.0),
        demand=states[:, column.DEMAND],
        lower_hits=int(tally[column.LOWER_HITS]),
        upper_hits=int(tally[column.UPPER_HITS]),
        slack_time=float(tally[column.SLACK_TIME]),
        film_laid=float(laid),
        work_by_load=float(by_load),
        film_residual=float((film_in - laid - grown) / max(film_in, 1e-300)),
        energy_residual=float(
            (by_load + final[column.WORK_REST] - gained) / max(abs(by_load), 1e-300)
        ),
        steps=int(tally[column.STEPS]),
    )


def _require_steps(sample_interval: float, tolerance: float, duration: float) -> None:
    problems = []
    if not 0 < sample_interval <= duration:
        problems.append(
            Problem(
                "sample_interval",
                f"{sample_interval:g} s",
                say("above zero, to {duration:g} s", duration=duration),
                say("Choose a time in that range."),
            )
        )
    if not 1e-10 <= tolerance <= 1e-2:
        problems.append(
            Problem(
                "tolerance",
                f"{tolerance:g}",
                say("from 1e-10 to 0.01"),
                say("Choose a number in that range."),
            )
        )
    if problems:
        raise InputError.many(problems)


def rest_state(setup: DancerSetup) -> Floats:
    """State in which the cycle starts: arm at the set angle, film at its balance."""
    state = np.zeros(column.STATES)
    angle = setup.drive.set_angle
    tension = max(float(balance_tension(angle, setup.arm, setup.spring, setup.hole_radius)), 0.0)
    state[column.ANGLE] = angle
    state[column.STRAIN] = tension / setup.span.film_stiffness
    return state


def _held(setup: DancerSetup, state: Floats, free: float) -> tuple[float, float]:
    """Unloaded film in the span [m] and energy of arm, spring and film [J]; `free` is free span."""
    angle, strain = state[column.ANGLE], state[column.STRAIN]
    length = free + float(film_store(angle, setup.arm)) + setup.span.fixed_length
    unloaded = length / (1 + strain)
    film = setup.span.film_stiffness * max(strain, 0.0) ** 2 / 2 * unloaded
    spring = float(spring_energy(angle, setup.arm.anchor, setup.spring, setup.hole_radius))
    return unloaded, setup.arm.inertia * state[column.SPEED] ** 2 / 2 + spring + film
