"""Motions of an invented dancer's arm, all of them known: truth for the tests."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Motion:
    """An arm's angle over time [rad], all of it known.

    The swing has orders two and four of the turn; after each of a turn's four corners a ringing
    dies away; stops hold the arm.
    """

    period: float = 2.0
    level: float = 0.2
    second: float = 0.10
    fourth: float = 0.05
    ringing: float = 0.0
    frequency: float = 4.0
    damping: float = 0.05
    hunting: float = 0.0
    stops: tuple[float, float] = (-9.0, 9.0)

    def angle(self, time: np.ndarray | float) -> np.ndarray:
        time = np.asarray(time, dtype=float)
        turn = 2 * np.pi * time / self.period
        swing = self.second * np.cos(2 * turn + 0.4) + self.fourth * np.cos(4 * turn + 1.3)
        since = np.mod(time, self.period / 4)
        omega = 2 * np.pi * self.frequency
        ring = np.zeros_like(time)
        for earlier in range(6):  # the tail of decays before the last corner
            age = since + earlier * self.period / 4
            damped = omega * np.sqrt(1 - self.damping**2)
            ring = ring + np.exp(-self.damping * omega * age) * np.sin(damped * age)
        hunt = self.hunting * np.sin(2 * np.pi * time / (2.7 * self.period))
        return np.clip(self.level + swing + self.ringing * ring + hunt, *self.stops)
