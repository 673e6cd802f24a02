"""How fast the load turns over a cycle: ramps, full speed, standstills."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, Problem
from woold.words import say

__all__ = ["Turning", "ramped_turning"]

Floats = NDArray[np.float64]


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
                say("Put the times in their order, one speed for each."),
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
        Problem(field, f"{value:g} {unit}", say("above zero"), say("Mend the value."))
        for field, value, unit in (
            ("machine.speed", turning_speed, "rad/s"),
            ("turns", turns, say("turns")),
        )
        if not 0 < value < np.inf
    ]
    problems += [
        Problem(field, f"{value:g} s", say("zero or more"), say("Mend the value."))
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
