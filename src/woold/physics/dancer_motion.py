"""The dancer in motion: film demand, film span, arm and drive over a whole cycle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, PhysicsError, Problem
from woold.physics import dancer_kernel as kernel
from woold.physics.dancer import (
    DancerArm,
    Spring,
    balance_tension,
    film_store,
    spring_energy,
)
from woold.physics.demand import flush_sides, free_span, touch_vertex
from woold.physics.outlines import Outline, perimeter, require_clear_exit, side_vectors
from woold.words import say

__all__ = [
    "DancerSetup",
    "Drive",
    "FilmSpan",
    "Motion",
    "Turning",
    "ramped_turning",
    "simulate",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FilmSpan:
    """The film between fast roller and load.

    Args:
        film_stiffness: EA of the stretched film, force per strain [N].
        roller_strain: strain at which the fast roller delivers film, against no tension [-].
        fixed_length: film in the span apart from dancer store and free span [m].
    """

    film_stiffness: float
    roller_strain: float
    fixed_length: float

    def __post_init__(self) -> None:
        problems = []
        if not 0 < self.film_stiffness < np.inf:
            problems.append(
                Problem(
                    "film.reload_modulus", f"{self.film_stiffness:g} N", say("stiffness above zero")
                )
            )
        if not 0 <= self.roller_strain < np.inf:
            problems.append(
                Problem(
                    "carriage.prestretch",
                    say("strain {roller_strain:g}", roller_strain=self.roller_strain),
                    say("zero or more"),
                )
            )
        if not 0 <= self.fixed_length < np.inf:
            problems.append(
                Problem("dancer.fixed_length", f"{self.fixed_length:g} m", say("zero or more"))
            )
        if problems:
            raise InputError.many(problems)


@dataclass(frozen=True)
class Drive:
    """How the carriage's drive follows the dancer.

    Speed asked of the fast roller = feed-forward x mean film demand at the present turning speed
    + gain x (set angle - angle) + integral gain x its integral, between zero and the speed limit;
    the roller follows with a lag and no faster than the acceleration limit.

    Args:
        set_angle: angle of the dancer that the drive steers to [rad].
        gain: film speed per angle [m/s per rad].
        integral_gain: film speed per angle and time [m/s per rad s].
        feed_forward: share of the mean film demand that is given without the dancer [-].
        lag: time constant of the drive [s].
        acceleration_limit: of the film speed [m/s²].
        speed_limit: of the film speed [m/s].
    """

    set_angle: float
    gain: float
    integral_gain: float
    feed_forward: float
    lag: float
    acceleration_limit: float
    speed_limit: float

    def __post_init__(self) -> None:
        problems = [
            Problem(f"dancer.{field}", f"{value:g} {unit}", say("above zero {unit}", unit=unit))
            for field, value, unit in (
                ("lag", self.lag, "s"),
                ("acceleration_limit", self.acceleration_limit, "m/s²"),
                ("speed_limit", self.speed_limit, "m/s"),
            )
            if not value > 0
        ]
        problems += [
            Problem(f"dancer.{field}", f"{value:g}", say("zero or more"))
            for field, value in (
                ("gain", self.gain),
                ("integral_gain", self.integral_gain),
                ("feed_forward", self.feed_forward),
            )
            if not 0 <= value < np.inf
        ]
        if not (self.gain or self.integral_gain or self.feed_forward):
            problems.append(
                Problem(
                    "dancer.gain",
                    say("0, with no integral gain and no feed-forward"),
                    say("one of the three above zero"),
                    say("Without one the drive never moves."),
                )
            )
        if problems:
            raise InputError.many(problems)


@dataclass(frozen=True, eq=False)
class Turning:
    """Speed of turning over the cycle, linear between knots.

    Args:
        times: knots, growing [s], shape (n,).
        speeds: turning speed at them, zero or more [rad/s], shape (n,).
    """

    times: Floats
    speeds: Floats

    def __post_init__(self) -> None:
        good = (
            self.times.ndim == 1
            and self.times.shape == self.speeds.shape
            and len(self.times) >= 2
            and bool(np.isfinite(self.times).all() and np.isfinite(self.speeds).all())
            and bool((np.diff(self.times) > 0).all() and (self.speeds >= 0).all())
        )
        if not good:
            raise InputError.one(
                "turning",
                say("times {times}, speeds {speeds}", times=self.times, speeds=self.speeds),
                say("two or more growing times with speeds of zero or more"),
            )

    @property
    def turned(self) -> Floats:
        """Angle turned at the knots [rad]."""
        means = (self.speeds[1:] + self.speeds[:-1]) / 2
        return np.concatenate([[0.0], np.cumsum(means * np.diff(self.times))])

    def angle(self, time: Floats) -> Floats:
        """Angle turned at any time of the cycle [rad]."""
        index = np.clip(np.searchsorted(self.times, time, "right") - 1, 0, len(self.times) - 2)
        since = time - self.times[index]
        rate = (np.diff(self.speeds) / np.diff(self.times))[index]
        return np.asarray(self.turned[index] + since * (self.speeds[index] + rate * since / 2))

    def speed(self, time: Floats) -> Floats:
        """Turning speed at any time of the cycle [rad/s]."""
        return np.asarray(np.interp(time, self.times, self.speeds))


@dataclass(frozen=True)
class DancerSetup:
    """A dancer, its spring in a hole, its film and drive, and the load that it feeds.

    Args:
        arm: the arm.
        spring: the spring.
        hole_radius: pivot to the spring's hole [m].
        span: the film.
        drive: the drive.
        outline: the load.
        exit_distance: the film's exit point from the axis of turning [m].
    """

    arm: DancerArm
    spring: Spring
    hole_radius: float
    span: FilmSpan
    drive: Drive
    outline: Outline
    exit_distance: float

    def __post_init__(self) -> None:
        require_clear_exit(self.outline, self.exit_distance)
        arm = self.arm
        if not arm.lower_stop <= self.drive.set_angle <= arm.upper_stop:
            raise PhysicsError.one(
                "dancer.set_angle",
                f"{np.degrees(self.drive.set_angle):.4g}°",
                say(
                    "between the stops, {degrees:.4g}° and {degrees_2:.4g}°",
                    degrees=np.degrees(arm.lower_stop),
                    degrees_2=np.degrees(arm.upper_stop),
                ),
            )
        shortest = float(film_store(arm.lower_stop, arm)) + self.span.fixed_length
        nearest = float(
            free_span(np.linspace(0, 2 * np.pi, 721), self.outline, self.exit_distance).min()
        )
        if shortest + nearest <= 0.05:
            raise PhysicsError.one(
                "dancer.fixed_length",
                f"{self.span.fixed_length:g} m",
                say(
                    "more than {nearest:.3g} m: film must be left in the span with the arm at"
                    " its lower stop",
                    nearest=self.span.fixed_length + 0.05 - shortest - nearest,
                ),
            )


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


def ramped_turning(
    turning_speed: float, turns: float, ramp_up: float = 0.0, ramp_down: float = 0.0
) -> Turning:
    """Turning with a linear ramp at either end; too few turns give a lower top speed.

    Args:
        turning_speed: Ω [rad/s].
        turns: of the whole cycle, ramps included [turns].
        ramp_up, ramp_down: from standstill to Ω and back [s].

    Returns:
        The speed of turning.

    Raises:
        InputError: a value that is not positive (ramps may be zero).
    """
    problems = [
        Problem(field, f"{value:g} {unit}", say("above zero"))
        for field, value, unit in (
            ("machine.speed", turning_speed, "rad/s"),
            ("turns", turns, "turns"),
        )
        if not 0 < value < np.inf
    ]
    problems += [
        Problem(field, f"{value:g} s", say("zero or more"))
        for field, value in (("machine.ramp_up", ramp_up), ("machine.ramp_down", ramp_down))
        if not 0 <= value < np.inf
    ]
    if problems:
        raise InputError.many(problems)
    angle = 2 * np.pi * turns
    in_ramps = turning_speed * (ramp_up + ramp_down) / 2
    reached = min(1.0, np.sqrt(angle / in_ramps)) if in_ramps > 0 else 1.0
    top = turning_speed * reached
    steady = max(angle - in_ramps * reached**2, 0.0) / top
    lengths = np.array([ramp_up * reached, steady, ramp_down * reached])
    times = np.concatenate([[0.0], np.cumsum(lengths)])
    speeds = np.array([0.0 if ramp_up else top, top, top, 0.0 if ramp_down else top])
    keep = np.concatenate([[True], np.diff(times) > 1e-9])
    return Turning(times[keep], speeds[keep])


def constants_of(setup: DancerSetup) -> kernel.Constants:
    """The set-up's numbers as the kernel takes them."""
    arm, spring, span, drive = setup.arm, setup.spring, setup.span, setup.drive
    return kernel.Constants(
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
        block = np.empty((len(since), kernel.LAID_AT_END + 1))
        block[:, kernel.START] = begin + since
        block[:, kernel.END] = np.append(begin + since[1:], finish)
        block[:, kernel.THETA] = turned[knot] + since * (turning.speeds[knot] + rate * since / 2)
        block[:, kernel.TURNING] = turning.speeds[knot] + rate * since
        block[:, kernel.TURNING_RATE] = rate
        block[:, kernel.LAID_AT_END] = np.append(laid[inside], 0.0)
        blocks.append(block)
    pieces = np.concatenate(blocks)
    starts = pieces[:, kernel.THETA]
    middles = (starts + np.append(starts[1:], turned[-1])) / 2
    touched = touch_vertex(middles, outline, exit_distance)
    pieces[:, [kernel.CORNER_X, kernel.CORNER_Y]] = outline.vertices[touched]
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
    duration = float(turning.times[-1] - turning.times[0])
    problems = []
    if not 0 < sample_interval <= duration:
        problems.append(
            Problem(
                "sample_interval",
                f"{sample_interval:g} s",
                say("above zero, to {duration:g} s", duration=duration),
            )
        )
    if not 1e-10 <= tolerance <= 1e-2:
        problems.append(Problem("tolerance", f"{tolerance:g}", say("from 1e-10 to 0.01")))
    if problems:
        raise InputError.many(problems)
    constants = constants_of(setup)
    pieces = smooth_pieces(setup, turning, start_theta)
    count = int(np.floor(duration / sample_interval + 1e-9)) + 1
    # Rounding must not carry the last sample beyond the last piece.
    time = np.minimum(turning.times[0] + sample_interval * np.arange(count), pieces[-1, kernel.END])
    initial = rest_state(setup)
    states, final, tally = kernel.integrate(constants, pieces, time, initial, tolerance)
    if tally[kernel.FAILED]:
        raise PhysicsError.one(
            "dancer",
            say("no motion beyond {tally:.3g} s", tally=tally[kernel.FAILED] - 1),
            say("constants for which arm and film move at a finite speed"),
            say("Look at inertia, stop stiffness and the film left in the span."),
        )
    theta = start_theta + turning.angle(time)
    began, ended = (
        _held(setup, state, kernel.film_line(constants, piece, at)[2])
        for state, piece, at in (
            (initial, pieces[0], turning.times[0]),
            (final, pieces[-1], turning.times[-1]),
        )
    )
    grown, gained = ended[0] - began[0], ended[1] - began[1]
    film_in, laid = final[kernel.FILM_IN], final[kernel.FILM_LAID]
    by_load = final[kernel.WORK_LOAD]
    return Motion(
        time=time,
        theta=theta,
        arm_angle=states[:, kernel.ANGLE],
        arm_speed=states[:, kernel.SPEED],
        film_speed=states[:, kernel.FILM_SPEED],
        tension=setup.span.film_stiffness * np.maximum(states[:, kernel.STRAIN], 0.0),
        demand=states[:, kernel.DEMAND],
        lower_hits=int(tally[kernel.LOWER_HITS]),
        upper_hits=int(tally[kernel.UPPER_HITS]),
        slack_time=float(tally[kernel.SLACK_TIME]),
        film_laid=float(laid),
        work_by_load=float(by_load),
        film_residual=float((film_in - laid - grown) / max(film_in, 1e-300)),
        energy_residual=float(
            (by_load + final[kernel.WORK_REST] - gained) / max(abs(by_load), 1e-300)
        ),
        steps=int(tally[kernel.STEPS]),
    )


def rest_state(setup: DancerSetup) -> Floats:
    """State in which the cycle starts: arm at the set angle, film at its balance."""
    state = np.zeros(kernel.STATES)
    angle = setup.drive.set_angle
    tension = max(float(balance_tension(angle, setup.arm, setup.spring, setup.hole_radius)), 0.0)
    state[kernel.ANGLE] = angle
    state[kernel.STRAIN] = tension / setup.span.film_stiffness
    return state


def _held(setup: DancerSetup, state: Floats, free: float) -> tuple[float, float]:
    """Unloaded film in the span [m] and energy of arm, spring and film [J]; `free` is free span."""
    angle, strain = state[kernel.ANGLE], state[kernel.STRAIN]
    length = free + float(film_store(angle, setup.arm)) + setup.span.fixed_length
    unloaded = length / (1 + strain)
    film = setup.span.film_stiffness * max(strain, 0.0) ** 2 / 2 * unloaded
    spring = float(spring_energy(angle, setup.arm.anchor, setup.spring, setup.hole_radius))
    return unloaded, setup.arm.inertia * state[kernel.SPEED] ** 2 / 2 + spring + film
