"""Inertia, damping and film stiffness from a measured swing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, PhysicsError
from woold.physics.bounce import Bounce
from woold.physics.dancer_modes import bounce_mode, operating_point
from woold.physics.dancer_motion import simulate
from woold.physics.dancer_setup import DancerSetup
from woold.physics.orders import turn_samples
from woold.physics.turning import ramped_turning
from woold.words import say

__all__ = [
    "FITTABLE",
    "ConstantInFit",
    "DancerFit",
    "fit_dancer",
    "laid_over",
    "steady_turn",
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
_WIDEST = np.log(30.0)  # a value is looked for within this factor of where it starts
_SETTLING_TIME = 6.0


@dataclass(frozen=True)
class ConstantInFit:
    """A fitted constant.

    Args:
        name: one of `FITTABLE`.
        start: value that the fit began with, SI.
        value: fitted, SI.
        low, high: value over and times its standard error's factor, two of them either way, SI.
    """

    name: str
    start: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class DancerFit:
    """A dancer fitted to its trace.

    Args:
        setup: the set-up with the fitted values.
        values: what was fitted.
        correlation: of the fitted values' logarithms, shape (n, n) [-].
        shift: angle of the trace's turn start on the model's turntable [rad].
        simulated: average turn of the fitted model about its mean, at the trace's steps [rad].
        residual_rms: of measured less simulated turn [rad].
        bounce_frequency: of the fitted model, or None [Hz].
        bounce_damping: of the fitted model, or None [-].
    """

    setup: DancerSetup
    values: tuple[ConstantInFit, ...]
    correlation: Floats
    shift: float
    simulated: Floats
    residual_rms: float
    bounce_frequency: float | None
    bounce_damping: float | None


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
    start = float(np.ceil(turning_speed * (ramp / 2 + _SETTLING_TIME) / (2 * np.pi)))
    turning = ramped_turning(turning_speed, start + 1.01, ramp)
    interval = min(0.005, 2 * np.pi / turning_speed / samples_per_turn)
    # Tight, so that differences for the fit's slopes are not those of the step control.
    motion = simulate(setup, turning, interval, tolerance=1e-8)
    late = motion.theta >= 2 * np.pi * start - 0.1
    turn = turn_samples(motion.theta[late], motion.arm_angle[late], samples_per_turn)[0]
    return np.asarray(turn - turn.mean())


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
    shift = _best_shift(measured, simulated)
    laid = _shifted(simulated, shift)
    return laid, shift, float(np.sqrt(np.mean((measured - laid) ** 2)))


def fit_dancer(
    setup: DancerSetup,
    turns: Floats,
    period: float,
    bounce: Bounce | None = None,
    names: Sequence[str] = ("inertia", "damping", "film_stiffness"),
) -> DancerFit:
    """Constants with which the simulated turn lies on the measured one.

    Least squares on the average turn's samples, weighted by their standard error, and on the
    logarithms of the bounce's frequency and damping if they were found. The start of the turn and
    the sensor's zero are fitted along.

    Args:
        setup: the dancer with the values to start from.
        turns: measured arm angle, one row a turn, storing film positive [rad], (turns, per turn).
        period: of the turn [s].
        bounce: found in the trace.
        names: what to fit, of `FITTABLE`.

    Returns:
        The fit.

    Raises:
        InputError: a name that is none of `FITTABLE`, or fewer than three turns.
        PhysicsError: the model cannot run at this turning speed.
    """
    _require_fit(setup, turns, names)
    problem = _FitProblem(setup, tuple(names), turns, 2 * np.pi / period, bounce)
    found, jacobian = _least_squares(problem)
    fitted, simulated = problem.model(found), problem.simulated(found)
    residual = problem.measured - simulated
    # What the model leaves over is taken for noise where it is more than the measured noise, and
    # as many samples for one as its neighbours go along with.
    excess = max(1.0, problem.weight * float(np.sqrt(np.mean(residual**2))))
    covariance = np.linalg.pinv(jacobian.T @ jacobian) * excess**2 * _likeness(residual)
    errors = np.sqrt(np.diag(covariance))[:-1]
    mode = _mode(fitted, problem.turning_speed)
    return DancerFit(
        setup=fitted,
        values=tuple(
            ConstantInFit(
                name,
                float(value),
                float(value * np.exp(log)),
                float(value * np.exp(log - 2 * error)),
                float(value * np.exp(log + 2 * error)),
            )
            for name, value, log, error in zip(
                names, problem.start, found[:-1], errors, strict=True
            )
        ),
        correlation=covariance[:-1, :-1] / np.maximum(np.outer(errors, errors), 1e-300),
        shift=float(found[-1] % (2 * np.pi)),
        simulated=simulated,
        residual_rms=float(np.sqrt(np.mean(residual**2))),
        bounce_frequency=mode[0] if mode else None,
        bounce_damping=mode[1] if mode else None,
    )


def _require_fit(setup: DancerSetup, turns: Floats, names: Sequence[str]) -> None:
    unknown = [name for name in names if name not in FITTABLE]
    if unknown or not names:
        raise InputError.one(
            "--fit",
            ", ".join(unknown) or say("nothing"),
            ", ".join(FITTABLE),
            say("Write one or more of these names."),
        )
    if len(turns) < 3:
        raise InputError.one(
            "trace",
            say("turns: {turns}", turns=len(turns)),
            say("three turns or more"),
            say("Record for longer, with a pulse in each turn."),
        )
    start = [_value_of(setup, name) for name in names]
    if not all(value > 0 for value in start):
        raise InputError.one(
            "dancer",
            ", ".join(f"{name} {value:g}" for name, value in zip(names, start, strict=True)),
            say("a value above zero to start from, for each"),
            say("Mend [dancer]."),
        )


class _FitProblem:
    """Measured turn, and the model's at a point: logarithms over the start, and the turn's shift.

    Args:
        setup: the dancer with the values to start from.
        names: what to fit.
        turns: measured arm angle, one row a turn [rad].
        turning_speed: Ω [rad/s].
        bounce: found in the trace.
    """

    def __init__(
        self,
        setup: DancerSetup,
        names: tuple[str, ...],
        turns: Floats,
        turning_speed: float,
        bounce: Bounce | None,
    ) -> None:
        self.setup, self.names = setup, names
        self.turning_speed, self.bounce = turning_speed, bounce
        self.measured = turns.mean(axis=0) - turns.mean()
        self.start = np.array([_value_of(setup, name) for name in names])
        # Neighbouring samples share their noise; the standard error is that of a single sample.
        noise = float(np.std(turns - turns.mean(axis=0)) / np.sqrt(len(turns)))
        self.weight = 1 / max(noise, 1e-3 * float(np.std(self.measured)), 1e-9)

    def model(self, point: Floats) -> DancerSetup:
        """The dancer with the values of a point."""
        values = self.start * np.exp(point[:-1])
        return with_values(self.setup, dict(zip(self.names, values, strict=True)))

    def simulated(self, point: Floats) -> Floats:
        """The model's turn, shifted."""
        turn = steady_turn(self.model(point), self.turning_speed, len(self.measured))
        return _shifted(turn, float(point[-1]))

    def residuals(self, point: Floats) -> Floats:
        """Measured less simulated, over the standard error."""
        parts = [self.weight * (self.measured - self.simulated(point))]
        if self.bounce is not None:
            parts.append(_bounce_residuals(self.model(point), self.turning_speed, self.bounce))
        return np.concatenate(parts)


def _least_squares(problem: _FitProblem) -> tuple[Floats, Floats]:
    """The point of least squares and the slopes there."""
    from scipy.optimize import least_squares

    count = len(problem.names)
    first = steady_turn(problem.setup, problem.turning_speed, len(problem.measured))
    begin = np.append(np.zeros(count), _best_shift(problem.measured, first))
    found = least_squares(
        problem.residuals,
        begin,
        bounds=(
            np.append(np.full(count, -_WIDEST), begin[-1] - np.pi),
            np.append(np.full(count, _WIDEST), begin[-1] + np.pi),
        ),
        x_scale=np.append(np.full(count, 0.3), 0.1),
        diff_step=1e-3,
    )
    return np.asarray(found.x), np.asarray(found.jac)


def _likeness(residual: Floats) -> float:
    """How many neighbouring samples say the same: the sum of the autocorrelation over the turn."""
    power = np.abs(np.fft.rfft(residual)) ** 2
    correlation = np.fft.irfft(power, len(residual))
    half = correlation[: len(residual) // 2] / max(float(correlation[0]), 1e-300)
    end = int(np.argmax(half <= 0)) or len(half)
    return float(max(1.0, 1 + 2 * half[1:end].sum()))


def _value_of(setup: DancerSetup, name: str) -> float:
    return float(getattr(getattr(setup, _OWNER[name]), name))


def _mode(setup: DancerSetup, turning_speed: float) -> tuple[float, float] | None:
    try:
        mode = bounce_mode(setup, operating_point(setup, turning_speed))
    except PhysicsError:
        return None
    return (mode.frequency, mode.damping) if mode is not None else None


def _bounce_residuals(setup: DancerSetup, turning_speed: float, bounce: Bounce) -> Floats:
    mode = _mode(setup, turning_speed)
    if mode is None:
        return np.array([10.0, 10.0])
    # The spread over the kicks does not hold the method's own error: one and ten per cent.
    frequency_error = np.hypot(bounce.frequency_error / bounce.frequency, 0.01)
    damping_error = np.hypot(bounce.damping_error / bounce.damping, 0.1)
    return np.array(
        [
            np.log(mode[0] / bounce.frequency) / frequency_error,
            np.log(max(mode[1], 1e-4) / bounce.damping) / damping_error,
        ]
    )


def _best_shift(measured: Floats, simulated: Floats) -> float:
    match = np.fft.irfft(np.fft.rfft(measured) * np.conj(np.fft.rfft(simulated)), len(measured))
    return float(2 * np.pi * match.argmax() / len(measured))


def _shifted(turn: Floats, angle: float) -> Floats:
    """The turn, later by an angle."""
    lines = np.fft.rfft(turn)
    return np.asarray(np.fft.irfft(lines * np.exp(-1j * np.arange(len(lines)) * angle), len(turn)))
