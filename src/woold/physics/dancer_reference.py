"""The dancer's motion in its literal form, by another integrator: slow, for verification.

Its film state is the unloaded content l_r of the span, which drops by a step where a side is laid
at once; scipy's solver is restarted there. Nothing is shared with `dancer_kernel`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from woold.errors import PhysicsError
from woold.physics.dancer_motion import rest_state, smooth_pieces
from woold.physics.dancer_setup import DancerSetup
from woold.physics.outlines import perimeter
from woold.physics.turning import Turning
from woold.words import say

__all__ = ["reference_motion"]

Floats = NDArray[np.float64]

_FRICTION_SPEED = 0.02  # as in the kernel, where it is explained


def reference_motion(
    setup: DancerSetup,
    turning: Turning,
    sample_interval: float = 0.005,
    relative_tolerance: float = 1e-10,
    method: str = "DOP853",
    start_theta: float = 0.0,
) -> tuple[Floats, Floats, Floats]:
    """Arm angle and tension over a cycle by scipy's solve_ivp.

    d l_r/dt = v_fast/(1 + e_r) - v_wrapped/(1 + e), e = l/l_r - 1, T = EA max(e, 0)

    Args:
        setup: the dancer and all that hangs on it.
        turning: speed of turning over the cycle.
        sample_interval: time between samples [s].
        relative_tolerance: of the solver; absolute tolerance is a hundredth of it.
        method: of solve_ivp.
        start_theta: angle of the exit point at the start [rad].

    Returns:
        Time [s], arm angle [rad], tension [N], each of shape (n,).

    Raises:
        PhysicsError: the solver gave up.
    """
    from scipy.integrate import solve_ivp

    duration = float(turning.times[-1] - turning.times[0])
    count = int(np.floor(duration / sample_interval + 1e-9)) + 1
    time = np.minimum(
        turning.times[0] + sample_interval * np.arange(count), float(turning.times[-1])
    )
    angles, tensions = np.empty(count), np.empty(count)
    state: Floats | None = None
    for start, end, theta, speed, rate, corner_x, corner_y, side in smooth_pieces(
        setup, turning, start_theta
    ):
        length, derivative = _literal_model(
            setup, (start, theta, speed, rate), (corner_x, corner_y)
        )
        if state is None:
            rest = rest_state(setup)
            state = np.array([rest[0], 0.0, 0.0, length(start, rest[0]) / (1 + rest[3]), 0.0])
        inside = np.flatnonzero((time >= start) & (time <= end))
        solution = solve_ivp(
            derivative,
            (start, end),
            state,
            method=method,
            rtol=relative_tolerance,
            atol=relative_tolerance / 100,
            t_eval=np.unique(np.append(time[inside], end)),
            max_step=0.05,
        )
        if not solution.success:
            raise PhysicsError.one(
                "dancer",
                str(solution.message),
                say("a motion that can be followed"),
                say("Look for a value of [dancer] in a wrong unit."),
            )
        for place, values in zip(inside, solution.y.T, strict=False):
            angles[place] = values[0]
            strain = length(time[place], values[0]) / values[3] - 1
            tensions[place] = setup.span.film_stiffness * max(strain, 0.0)
        state = solution.y[:, -1].copy()
        strain = length(end, state[0]) / state[3] - 1
        state[3] -= side / (1 + strain)
    return time, angles, tensions


def _literal_model(
    setup: DancerSetup, motion: tuple[float, float, float, float], corner: tuple[float, float]
) -> tuple[Callable[[float, float], float], Callable[[float, Sequence[float]], list[float]]]:
    """Length of the span, and the equations, while the film turns about one corner."""
    arm, spring, span, drive = setup.arm, setup.spring, setup.span, setup.drive
    start, theta0, speed0, speed_rate = motion
    radius, corner_radius = setup.exit_distance, setup.outline.corner_radius
    mean_distance = perimeter(setup.outline) / (2 * math.pi)

    def to_corner(time: float) -> tuple[float, float, float, float, float]:
        since = time - start
        theta = theta0 + speed0 * since + speed_rate * since**2 / 2
        exit_x, exit_y = radius * math.cos(theta), radius * math.sin(theta)
        x, y = exit_x - corner[0], exit_y - corner[1]
        return speed0 + speed_rate * since, exit_x, exit_y, x, y

    def free_span(time: float) -> float:
        _, _, _, x, y = to_corner(time)
        return math.sqrt(x * x + y * y - corner_radius**2)

    def length(time: float, angle: float) -> float:
        store = arm.film_lines * arm.arm_length * math.sin(angle)
        return free_span(time) + store + span.fixed_length

    def derivative(time: float, state: Sequence[float]) -> list[float]:
        angle, speed, film_speed, content, integral = state
        turning, exit_x, exit_y, x, y = to_corner(time)
        free = math.sqrt(x * x + y * y - corner_radius**2)
        # Unit vector along the film, from the load to the exit point: the corner's direction
        # turned by the angle under which the rounding is seen.
        to_film = math.atan2(y, x) + math.asin(corner_radius / math.hypot(x, y))
        demand = turning * (exit_x * math.sin(to_film) - exit_y * math.cos(to_film))
        free_rate = turning * (y * exit_x - x * exit_y) / free
        wrapped = demand - free_rate
        strain = length(time, angle) / content - 1
        tension = span.film_stiffness * max(strain, 0.0)

        gap_x = arm.anchor[0] - setup.hole_radius * math.cos(angle)
        gap_y = arm.anchor[1] - setup.hole_radius * math.sin(angle)
        spring_length = math.hypot(gap_x, gap_y)
        extension = spring_length - spring.free_length
        force = spring.preload + spring.rate * extension if extension > 0 else 0.0
        hole_x, hole_y = math.cos(angle), math.sin(angle)
        pull = setup.hole_radius * (hole_x * gap_y - hole_y * gap_x) * force / spring_length
        torque = pull - tension * arm.film_lines * arm.arm_length * math.cos(angle)
        torque -= arm.damping * speed + arm.friction_torque * speed / math.hypot(
            speed, _FRICTION_SPEED
        )
        for stop, side in ((arm.lower_stop, 1.0), (arm.upper_stop, -1.0)):
            depth = side * (stop - angle)
            if depth > 0:
                press = arm.stop_stiffness * depth - side * arm.stop_damping * speed
                torque += side * max(press, 0.0)

        error = drive.set_angle - angle
        wanted = (
            drive.feed_forward * turning * mean_distance
            + drive.gain * error
            + drive.integral_gain * integral
        )
        follow = (min(max(wanted, 0.0), drive.speed_limit) - film_speed) / drive.lag
        limit = drive.acceleration_limit
        held = (wanted > drive.speed_limit and error > 0) or (wanted < 0 and error < 0)
        return [
            speed,
            torque / arm.inertia,
            min(max(follow, -limit), limit),
            film_speed / (1 + span.roller_strain) - wrapped / (1 + strain),
            0.0 if held else error,
        ]

    return length, derivative
