"""The model's turn: constants by name, the swing over a steady turn, and where it lies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.errors import PhysicsError
from woold.physics.dancer_modes import modes, operating_point
from woold.physics.dancer_motion import simulate
from woold.physics.dancer_setup import DancerSetup
from woold.physics.orders import turn_samples
from woold.physics.turning import ramped_turning

__all__ = [
    "FITTABLE",
    "best_shift",
    "laid_over",
    "shifted_turn",
    "steady_turn",
    "value_of",
    "with_values",
]

Floats = NDArray[np.float64]

_OWNER = {
    "inertia": "arm",
    "damping": "arm",
    "film_stiffness": "span",
    "friction_torque": "arm",
    "gain": "drive",
    "lag": "drive",
}
FITTABLE = tuple(_OWNER)
_SETTLING_TIME, _LONGEST_SETTLING = 6.0, 60.0  # s
_LEFT = 1e-4  # of the start, that the slowest motion may leave when the turn begins


def with_values(setup: DancerSetup, values: Mapping[str, float]) -> DancerSetup:
    """The set-up with other constants, by the names of `FITTABLE`."""
    given: dict[str, dict[str, Any]] = {
        owner: {name: value for name, value in values.items() if _OWNER[name] == owner}
        for owner in ("arm", "span", "drive")
    }
    return replace(
        setup,
        arm=replace(setup.arm, **given["arm"]),
        span=replace(setup.span, **given["span"]),
        drive=replace(setup.drive, **given["drive"]),
    )


def value_of(setup: DancerSetup, name: str) -> float:
    """A constant of the set-up, by its name in `FITTABLE`, SI."""
    return float(getattr(getattr(setup, _OWNER[name]), name))


def steady_turn(setup: DancerSetup, turning_speed: float, samples_per_turn: int) -> Floats:
    """Arm angle over a turn at a steady speed, its mean taken off.

    Args:
        setup: the dancer and all that hangs on it.
        turning_speed: Ω [rad/s].
        samples_per_turn: even steps.

    Returns:
        Angle about its mean [rad], shape (samples_per_turn,).
    """
    ramp = 2.0
    settled = ramp / 2 + _settling_time(setup, turning_speed)
    start = float(np.ceil(turning_speed * settled / (2 * np.pi)))
    turning = ramped_turning(turning_speed, start + 1.01, ramp)
    interval = min(0.005, 2 * np.pi / turning_speed / samples_per_turn)
    # Tight, so that differences for the fit's slopes are not those of the step control.
    motion = simulate(setup, turning, interval, tolerance=1e-8)
    late = motion.theta >= 2 * np.pi * start - 0.1
    turn = turn_samples(motion.theta[late], motion.arm_angle[late], samples_per_turn)[0]
    return np.asarray(turn - turn.mean())


def _settling_time(setup: DancerSetup, turning_speed: float) -> float:
    """Until what is left of the start has died out: a weak drive takes long [s]."""
    try:
        slowest = min(
            -each.eigenvalue.real for each in modes(setup, operating_point(setup, turning_speed))
        )
    except PhysicsError:
        return _SETTLING_TIME
    needed = -np.log(_LEFT) / max(slowest, 1e-6)
    return float(np.clip(needed, _SETTLING_TIME, _LONGEST_SETTLING))


def laid_over(setup: DancerSetup, turns: Floats, period: float) -> tuple[Floats, float, float]:
    """The simulated turn, shifted to lie on the measured one.

    Args:
        setup: the dancer and all that hangs on it.
        turns: measured arm angle, one row a turn [rad], shape (turns, per turn).
        period: of the turn [s].

    Returns:
        Simulated turn about its mean [rad]; by what angle it was shifted [rad]; root mean square
        of the difference [rad].

    Raises:
        PhysicsError: the model cannot run at this turning speed.
    """
    measured = turns.mean(axis=0) - turns.mean()
    simulated = steady_turn(setup, 2 * np.pi / period, len(measured))
    shift = best_shift(measured, simulated)
    laid = shifted_turn(simulated, shift)
    return laid, shift, float(np.sqrt(np.mean((measured - laid) ** 2)))


def best_shift(measured: Floats, simulated: Floats) -> float:
    """Angle by which a simulated turn lies best on the measured one [rad].

    Args:
        measured, simulated: about their means [rad], shape (per turn,).
    """
    match = np.fft.irfft(np.fft.rfft(measured) * np.conj(np.fft.rfft(simulated)), len(measured))
    return float(2 * np.pi * match.argmax() / len(measured))


def shifted_turn(turn: Floats, shift: float) -> Floats:
    """A turn, later by an angle.

    Args:
        turn: even samples, shape (per turn,).
        shift: of the turntable [rad].
    """
    lines = np.fft.rfft(turn)
    return np.asarray(np.fft.irfft(lines * np.exp(-1j * np.arange(len(lines)) * shift), len(turn)))
