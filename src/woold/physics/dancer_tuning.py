"""How fast one can turn, and which gain, spring and hole keep the dancer smooth."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, PhysicsError, Problem
from woold.physics.dancer import Spring, balance_tension
from woold.physics.dancer_modes import drive_damping, operating_point
from woold.physics.dancer_motion import Motion, simulate
from woold.physics.dancer_setup import DancerSetup
from woold.physics.orders import corner_orders, split_orders, turn_samples
from woold.physics.turning import ramped_turning
from woold.words import say

__all__ = [
    "SmoothLimits",
    "SmoothSpeed",
    "SteadySwing",
    "Tuning",
    "TuningAim",
    "TuningGrid",
    "highest_smooth_speed",
    "steady_swing",
    "tried_in_motion",
    "tune",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class SmoothLimits:
    """What is called smooth. Common practice, no source.

    Args:
        corner_share: least share of the swing's energy at the corner orders [-].
        travel_share: largest share of the travel that the swing may reach into, stop to stop,
            measured on the side where it comes nearer to a stop [-].
        peak_over_mean: largest peak tension over mean tension [-].
        drive_damping: least damping ratio of the drive's own swing, asked of a tuned gain [-].
    """

    corner_share: float = 0.8
    travel_share: float = 0.8
    peak_over_mean: float = 1.3
    drive_damping: float = 0.5


@dataclass(frozen=True)
class SteadySwing:
    """The dancer's swing at a steady turning speed, after the start has died out.

    Args:
        turning_speed: Ω [rad/s].
        tension_mean, tension_peak, tension_low: film tension [N].
        ripple: standard deviation of the tension over its mean [-].
        angle_low, angle_high: of the arm [rad].
        travel_used: 0 in the middle of the travel, 1 at a stop, by the farther excursion [-].
        corner_share: share of the swing's energy at the corner orders [-].
        stop_hits: in the turns looked at.
        slack_time: in the turns looked at [s].
        faults: why it is not smooth; empty if it is.
    """

    turning_speed: float
    tension_mean: float
    tension_peak: float
    tension_low: float
    ripple: float
    angle_low: float
    angle_high: float
    travel_used: float
    corner_share: float
    stop_hits: int
    slack_time: float
    faults: tuple[str, ...]

    @property
    def is_smooth(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.faults


@dataclass(frozen=True, eq=False)
class SmoothSpeed:
    """How fast the load may turn.

    Args:
        highest: turning speed up to which every speed tried was smooth, or None [rad/s].
        swings: every speed tried, growing.
    """

    highest: float | None
    swings: tuple[SteadySwing, ...]


@dataclass(frozen=True, eq=False)
class Tuning:
    """A spring in a hole with a gain, tried in motion.

    Args:
        spring: the spring.
        hole_radius: its hole [m].
        gain: of the drive [m/s per rad].
        swing: what came of it.
        tension_error: mean tension over the asked one, less 1 [-].
        fits: smooth and near the asked tension.
    """

    spring: Spring
    hole_radius: float
    gain: float
    swing: SteadySwing
    tension_error: float
    fits: bool


@dataclass(frozen=True, slots=True)
class TuningGrid:
    """What a tuning tries, each with each.

    Args:
        springs: springs to choose from.
        hole_radii: holes on the arm [m].
        gains: of the drive [m/s per rad].
    """

    springs: Sequence[Spring]
    hole_radii: Sequence[float]
    gains: Sequence[float]


@dataclass(frozen=True, slots=True)
class TuningAim:
    """What a tuning is for.

    Args:
        turning_speed: Ω [rad/s].
        tension: asked mean film tension [N].
        tension_tolerance: allowed distance of the mean tension from the asked one [-].
        limits: what is called smooth.
    """

    turning_speed: float
    tension: float
    tension_tolerance: float = 0.15
    limits: SmoothLimits = field(default_factory=SmoothLimits)


def steady_swing(
    setup: DancerSetup,
    turning_speed: float,
    limits: SmoothLimits | None = None,
    settling_time: float = 6.0,
    turns: int = 3,
) -> SteadySwing:
    """Simulate until the start has died out, and look at whole turns after that.

    Args:
        setup: the dancer and all that hangs on it.
        turning_speed: Ω [rad/s].
        limits: what is called smooth.
        settling_time: left out after the ramp [s].
        turns: looked at.

    Returns:
        The swing.

    Raises:
        PhysicsError: as `simulate`.
    """
    asked = limits or SmoothLimits()
    ramp = 2.0
    settling = ramp / 2 * turning_speed + settling_time * turning_speed
    start = float(np.ceil(settling / (2 * np.pi)))
    turning = ramped_turning(turning_speed, start + turns + 0.01, ramp)
    interval = min(0.005, 2 * np.pi / turning_speed / 200)
    motion = simulate(setup, turning, interval, tolerance=1e-5)
    return _judge_swing(setup, motion, turning_speed, asked, 2 * np.pi * start)


def _judge_swing(
    setup: DancerSetup, motion: Motion, turning_speed: float, limits: SmoothLimits, start: float
) -> SteadySwing:
    arm = setup.arm
    late = motion.theta >= start - 1e-9
    angle, tension = motion.arm_angle[late], motion.tension[late]
    orders = corner_orders(setup.outline, setup.exit_distance)
    share = split_orders(turn_samples(motion.theta[late], angle), orders).corner_share
    low, high = float(angle.min()), float(angle.max())
    middle, half = (arm.upper_stop + arm.lower_stop) / 2, (arm.upper_stop - arm.lower_stop) / 2
    used = max(high - middle, middle - low) / half
    beyond = (angle <= arm.lower_stop) | (angle >= arm.upper_stop)
    hits = int(np.sum(~beyond[:-1] & beyond[1:])) + int(beyond[0])
    slack = float(np.sum(tension <= 0) * (motion.time[1] - motion.time[0]))
    mean = float(tension.mean())
    moves = (high - low) / (2 * half) > 0.005
    faults = []
    if hits:
        faults.append(say("the arm hits a stop"))
    if slack > 0:
        faults.append(say("film goes slack"))
    if used > limits.travel_share:
        faults.append(
            say("the swing comes to {used:.0%} of the way from mid travel to a stop", used=used)
        )
    if mean > 0 and tension.max() > limits.peak_over_mean * mean:
        peak = float(tension.max()) / mean
        faults.append(say("tension peaks at {peak:.2f} times its mean", peak=peak))
    if moves and share < limits.corner_share:
        faults.append(say("only {share:.0%} of the swing comes with the corners", share=share))
    return SteadySwing(
        turning_speed=turning_speed,
        tension_mean=mean,
        tension_peak=float(tension.max()),
        tension_low=float(tension.min()),
        ripple=float(tension.std() / mean) if mean > 0 else np.inf,
        angle_low=low,
        angle_high=high,
        travel_used=float(used),
        corner_share=share,
        stop_hits=hits,
        slack_time=slack,
        faults=tuple(faults),
    )


def highest_smooth_speed(
    setup: DancerSetup,
    slowest: float,
    fastest: float,
    limits: SmoothLimits | None = None,
    steps: int = 24,
    progress: Callable[[], None] | None = None,
) -> SmoothSpeed:
    """Highest turning speed up to which the dancer stays smooth.

    A grid of speeds, then halving between the last smooth one and the first that is not.

    Args:
        setup: the dancer and all that hangs on it.
        slowest, fastest: turning speeds tried [rad/s].
        limits: what is called smooth.
        steps: of the grid.
        progress: called after each speed.

    Returns:
        The speed, to a thirtieth of a grid step; None where the slowest is not smooth.

    Raises:
        InputError: slowest is not below fastest, or not above zero.
    """
    if not 0 < slowest < fastest < np.inf or steps < 2:
        raise InputError.one(
            "speeds",
            say("{slowest:g} to {fastest:g} rad/s", slowest=slowest, fastest=fastest),
            say("from above zero to a higher one"),
            say("Give the lower speed first."),
        )
    swings: list[SteadySwing] = []

    def tried(speed: float) -> SteadySwing:
        swings.append(steady_swing(setup, speed, limits))
        if progress is not None:
            progress()
        return swings[-1]

    highest: float | None = None
    failed: float | None = None
    for speed in np.linspace(slowest, fastest, steps):
        smooth = tried(float(speed)).is_smooth
        if failed is None and smooth:
            highest = float(speed)
        elif failed is None:
            failed = float(speed)
    if highest is not None and failed is not None:
        for _ in range(5):
            middle = (highest + failed) / 2
            if tried(middle).is_smooth:
                highest = middle
            else:
                failed = middle
    return SmoothSpeed(highest, tuple(sorted(swings, key=lambda swing: swing.turning_speed)))


def tune(
    setup: DancerSetup,
    grid: TuningGrid,
    aim: TuningAim,
    progress: Callable[[], None] | None = None,
) -> tuple[Tuning, ...]:
    """Spring, hole and gain that pass the corners with the least tension ripple.

    A full grid: every spring in every hole with every gain is simulated, save those that cannot
    balance a tension within twice the tolerance of the asked one anywhere in the travel. Of those
    that are smooth, near the asked mean tension and whose drive does not swing by itself, the least
    ripple comes first; then the rest by their faults and distance from the asked tension.

    Args:
        setup: the dancer and all that hangs on it.
        grid: springs, holes and gains to try.
        aim: turning speed and tension asked for.
        progress: called after each spring and hole.

    Returns:
        All that was tried, the best first.

    Raises:
        InputError: nothing to choose from, or no choice that can balance the asked tension.
    """
    _require_grid(grid, aim)
    tried: list[Tuning] = []
    angles = np.linspace(setup.arm.lower_stop, setup.arm.upper_stop, 41)
    reach = 1 + 2 * aim.tension_tolerance
    for spring, hole in itertools.product(grid.springs, grid.hole_radii):
        balance = balance_tension(angles, setup.arm, spring, hole)
        if balance.max() >= aim.tension / reach and balance.min() <= aim.tension * reach:
            for gain in grid.gains:
                drive = replace(setup.drive, gain=gain)
                setting = replace(setup, spring=spring, hole_radius=hole, drive=drive)
                found = tried_in_motion(setting, aim)
                tried += [] if found is None else [found]
        if progress is not None:
            progress()
    if not tried:
        raise InputError.one(
            "dancer.springs",
            say("springs: {springs}, holes: {holes}", springs=len(grid.springs),
                holes=len(grid.hole_radii)),
            say("one that balances about {tension:.3g} N within the arm's travel",
                tension=aim.tension),
            say("See `woold dancer springs` for what each of them balances."),
        )  # fmt: skip
    return tuple(sorted(tried, key=_merit))


def _require_grid(grid: TuningGrid, aim: TuningAim) -> None:
    problems = [
        Problem(field, say("none"), say("one or more"), say("Give at least one."))
        for field, given in (
            ("dancer.springs", grid.springs),
            ("dancer.holes", grid.hole_radii),
            ("gains", grid.gains),
        )
        if not len(given)
    ]
    if not aim.tension > 0:
        problems.append(
            Problem("program.force_to_load", f"{aim.tension:g} N", say("a force above zero"),
                    say("Mend the value."))
        )  # fmt: skip
    if problems:
        raise InputError.many(problems)


def _merit(tuning: Tuning) -> tuple[bool, float, int, float]:
    """Those that fit by their ripple, the others by faults and distance from the tension."""
    return (
        not tuning.fits,
        tuning.swing.ripple if tuning.fits else 0.0,
        len(tuning.swing.faults),
        abs(tuning.tension_error),
    )


def tried_in_motion(setup: DancerSetup, aim: TuningAim) -> Tuning | None:
    """A dancer as it is set, tried in motion; None where the motion runs away.

    Args:
        setup: the dancer and all that hangs on it.
        aim: turning speed and tension asked for.
    """
    try:
        swing = steady_swing(setup, aim.turning_speed, aim.limits)
    except PhysicsError:
        return None  # nothing to rank
    swing = _with_drive_fault(setup, swing, aim.limits)
    error = swing.tension_mean / aim.tension - 1
    fits = swing.is_smooth and abs(error) <= aim.tension_tolerance
    return Tuning(setup.spring, setup.hole_radius, setup.drive.gain, swing, error, fits)


def _with_drive_fault(setup: DancerSetup, swing: SteadySwing, limits: SmoothLimits) -> SteadySwing:
    try:
        point = operating_point(setup, swing.turning_speed)
    except PhysicsError:
        return swing  # it stands at a stop, and its faults say so
    damping = drive_damping(setup, point)
    if damping >= limits.drive_damping:
        return swing
    fault = say("the drive's own swing has a damping ratio of {damping:.2f} only", damping=damping)
    return replace(swing, faults=(*swing.faults, fault))
