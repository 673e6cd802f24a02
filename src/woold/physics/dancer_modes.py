"""Small motions of the dancer: natural frequencies, damping, and how it answers each order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import PhysicsError
from woold.physics.dancer import balance_tension, film_store, spring_stiffness
from woold.physics.dancer_setup import DancerSetup
from woold.physics.demand import free_span
from woold.physics.orders import CORNER_ORDERS, demand_orders
from woold.physics.outlines import perimeter
from woold.words import say

__all__ = [
    "Mode",
    "OperatingPoint",
    "OrderResponse",
    "bounce_mode",
    "drive_damping",
    "modes",
    "operating_point",
    "order_responses",
    "state_matrix",
    "undriven_frequency",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OperatingPoint:
    """Where the dancer stands when the load takes film at its mean speed.

    Args:
        turning_speed: Ω [rad/s].
        arm_angle: φ [rad].
        tension: T [N].
        film_speed: of the fast roller [m/s].
        span_length: film between fast roller and load, mean over a turn [m].
    """

    turning_speed: float
    arm_angle: float
    tension: float
    film_speed: float
    span_length: float


@dataclass(frozen=True)
class Mode:
    """One way in which the dancer moves by itself.

    Args:
        eigenvalue: s, as in exp(s t) [1/s].
        frequency: natural frequency |s|/2π [Hz].
        damping: ratio -Re s/|s| [-]; 1 where it does not oscillate, negative where it grows.
    """

    eigenvalue: complex
    frequency: float
    damping: float

    @property
    def oscillates(self) -> bool:
        """Whether it swings to and fro at all."""
        return self.eigenvalue.imag > 0


@dataclass(frozen=True)
class OrderResponse:
    """How the dancer answers one order of the film demand.

    Args:
        order: times a turn.
        frequency: of it [Hz].
        demand_amplitude: of the film demand [m/s].
        swing_amplitude: of the arm [rad].
        tension_amplitude: of the film tension [N].
        frequency_ratio: frequency over the bounce frequency [-].
        amplification: of the bounce at that ratio, 1/√((1 - r²)² + (2ζr)²) [-].
        resonant: the ratio lies within the asked closeness of 1 and the load drives this order.
    """

    order: int
    frequency: float
    demand_amplitude: float
    swing_amplitude: float
    tension_amplitude: float
    frequency_ratio: float
    amplification: float
    resonant: bool


def operating_point(setup: DancerSetup, turning_speed: float) -> OperatingPoint:
    """Where the dancer stands at a steady turning speed.

    v_fast = Ω p (1 + e_r)/(1 + e), with e from the spring's balance and v_fast from the drive

    Args:
        setup: the dancer and all that hangs on it.
        turning_speed: Ω [rad/s].

    Returns:
        The operating point.

    Raises:
        PhysicsError: the drive does not reach the film demand with the arm between its stops.
    """
    from scipy.optimize import brentq

    arm, drive, span = setup.arm, setup.drive, setup.span
    demand = turning_speed * perimeter(setup.outline) / (2 * np.pi)

    def needed(angle: float) -> float:
        tension = float(balance_tension(angle, arm, setup.spring, setup.hole_radius))
        strain = max(tension, 0.0) / span.film_stiffness
        return demand * (1 + span.roller_strain) / (1 + strain)

    def missing(angle: float) -> float:
        given = drive.feed_forward * demand + drive.gain * (drive.set_angle - angle)
        return min(max(given, 0.0), drive.speed_limit) - needed(angle)

    angle: float | None = None
    if drive.integral_gain > 0:
        angle = drive.set_angle if needed(drive.set_angle) <= drive.speed_limit else None
    elif missing(arm.lower_stop) >= 0 >= missing(arm.upper_stop):
        angle = float(brentq(missing, arm.lower_stop, arm.upper_stop, xtol=1e-12))
    if angle is None:
        short = missing(arm.lower_stop) < 0
        raise PhysicsError.one(
            "dancer.gain",
            say(
                "{gain:g} m/s per rad, speed limit {speed_limit:g} m/s",
                gain=drive.gain,
                speed_limit=drive.speed_limit,
            ),
            say(
                "what gives {needed:.3g} m/s of film with the arm between its stops",
                needed=needed(arm.lower_stop if short else arm.upper_stop),
            ),
            (
                say("Raise gain, feed-forward or the speed limit, or turn more slowly.")
                if short
                else say("Lower the feed-forward or the set angle.")
            ),
        )
    theta = np.arange(720) * 2 * np.pi / 720
    free = float(free_span(theta, setup.outline, setup.exit_distance).mean())
    return OperatingPoint(
        turning_speed=turning_speed,
        arm_angle=angle,
        tension=float(balance_tension(angle, arm, setup.spring, setup.hole_radius)),
        film_speed=needed(angle),
        span_length=free + float(film_store(angle, arm)) + span.fixed_length,
    )


def state_matrix(setup: DancerSetup, point: OperatingPoint) -> tuple[Floats, Floats]:
    """Linear equations of small motions about an operating point, without dry friction.

    d/dt (φ, φ', e, v_fast, ∫φ) = A (...) + B demand

    Returns:
        A, shape (5, 5) or (4, 4) without integral gain, and B, shape (5,) or (4,).
    """
    arm, span, drive = setup.arm, setup.span, setup.drive
    reach = arm.film_lines * arm.arm_length
    slope, bend = reach * np.cos(point.arm_angle), -reach * np.sin(point.arm_angle)
    strain = point.tension / span.film_stiffness
    spring = float(spring_stiffness(point.arm_angle, arm.anchor, setup.spring, setup.hole_radius))
    share = (1 + strain) / point.span_length
    speed = point.film_speed / (1 + span.roller_strain)
    matrix = np.array(
        [
            [0, 1, 0, 0, 0],
            [
                -(spring + point.tension * bend) / arm.inertia,
                -arm.damping / arm.inertia,
                -slope * span.film_stiffness / arm.inertia,
                0,
                0,
            ],
            [0, share * slope, -share * speed, -share * (1 + strain) / (1 + span.roller_strain), 0],
            [-drive.gain / drive.lag, 0, 0, -1 / drive.lag, drive.integral_gain / drive.lag],
            [-1, 0, 0, 0, 0],
        ]
    )
    size = 5 if drive.integral_gain > 0 else 4
    return matrix[:size, :size], np.array([0, 0, share, 0, 0])[:size]


def undriven_frequency(setup: DancerSetup, point: OperatingPoint) -> float:
    """Natural frequency of arm, spring and film with the drive and the load standing still.

    ω² = [k + (N r cos φ)² EA (1 + e)/l]/J, k the spring's stiffness with the film's geometry

    Returns:
        Frequency [Hz].
    """
    matrix, _ = state_matrix(setup, point)
    square = -matrix[1, 0] - matrix[1, 2] * matrix[2, 1]
    return float(np.sqrt(max(square, 0.0)) / (2 * np.pi))


def modes(setup: DancerSetup, point: OperatingPoint) -> tuple[Mode, ...]:
    """All modes about an operating point, the fastest first, one of each conjugate pair."""
    matrix, _ = state_matrix(setup, point)
    values = np.linalg.eigvals(matrix).astype(complex)
    kept = values[values.imag >= 0]
    return tuple(
        Mode(complex(value), float(abs(value) / (2 * np.pi)), float(-value.real / abs(value)))
        for value in sorted(kept, key=abs, reverse=True)
    )


def bounce_mode(setup: DancerSetup, point: OperatingPoint) -> Mode | None:
    """The mode in which the arm bounces on film and spring; None where it does not oscillate."""
    swinging = [mode for mode in modes(setup, point) if mode.oscillates]
    if not swinging:
        return None
    undriven = undriven_frequency(setup, point)
    return min(swinging, key=lambda mode: abs(mode.frequency - undriven))


def drive_damping(setup: DancerSetup, point: OperatingPoint) -> float:
    """Least damping ratio of the swings that drive and dancer make together, the bounce aside.

    Returns:
        Damping ratio [-]; 1 where there is no such swing.
    """
    bounce = bounce_mode(setup, point)
    others = [mode.damping for mode in modes(setup, point) if mode.oscillates and mode != bounce]
    return min([1.0, *others])


def order_responses(
    setup: DancerSetup,
    point: OperatingPoint,
    orders: Sequence[int] = CORNER_ORDERS,
    closeness: float = 0.15,
) -> tuple[OrderResponse, ...]:
    """Swing and tension ripple at each order, for small motions.

    (iω - A) x = B Ω p_n, ω = n Ω

    Args:
        setup: the dancer and all that hangs on it.
        point: operating point.
        orders: times a turn.
        closeness: distance of the frequency ratio from 1 that is called resonance [-].

    Returns:
        One response for each order.
    """
    matrix, entry = state_matrix(setup, point)
    lines = demand_orders(setup.outline, setup.exit_distance, max(orders))
    strongest = max(float(np.abs(lines[1:]).max()), 1e-12)
    bounce = bounce_mode(setup, point)
    responses = []
    for order in orders:
        omega = order * point.turning_speed
        demand = point.turning_speed * abs(lines[order])
        answer = np.linalg.solve(1j * omega * np.eye(len(matrix)) - matrix, entry * demand)
        ratio, amplification = 0.0, 1.0
        if bounce is not None:
            ratio = omega / (2 * np.pi * bounce.frequency)
            amplification = float(1 / np.hypot(1 - ratio**2, 2 * bounce.damping * ratio))
        driven = abs(lines[order]) > 0.02 * strongest
        responses.append(
            OrderResponse(
                order=order,
                frequency=omega / (2 * np.pi),
                demand_amplitude=float(demand),
                swing_amplitude=float(abs(answer[0])),
                tension_amplitude=float(abs(answer[2]) * setup.span.film_stiffness),
                frequency_ratio=float(ratio),
                amplification=amplification,
                resonant=bool(bounce is not None and driven and abs(ratio - 1) <= closeness),
            )
        )
    return tuple(responses)
