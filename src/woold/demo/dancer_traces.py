"""Two invented recordings of a dancer, made from a seed: one that bounces, one that is smooth."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from woold.case.file import read_case

__all__ = ["TURN", "bouncing_angle", "write_bouncing_trace", "write_smooth_trace"]

Floats = NDArray[np.float64]

_RATE = 100.0  # samples a second
TURN = 5.0
"""Of the load [s]."""


def write_bouncing_trace(path: Path, seed: int = 20_250) -> None:
    """A swing at whole orders, and after each corner a ringing of 3.2 Hz that hardly dies out.

    Args:
        path: file to write.
        seed: of the generator.
    """
    random = np.random.default_rng(seed)
    time = np.arange(0.0, 58.0, 1 / _RATE)
    angle = bouncing_angle(time, random)
    angle += 0.02 * time  # the sensor's zero drifts
    pulse = (2 * np.pi * time / TURN % (2 * np.pi) < 0.25).astype(int)
    _write(path, random, time, angle, pulse)


def bouncing_angle(time: Floats, random: np.random.Generator) -> Floats:
    """Angle of the dancer that bounces [deg].

    Args:
        time: [s].
        random: by which the corners' kicks differ.
    """
    theta = 2 * np.pi * time / TURN
    angle = 0.6 * np.cos(theta) + 4 * np.cos(2 * theta) + 3 * np.cos(4 * theta + 0.8) - 2
    omega, damping = 2 * np.pi * 3.2, 0.04
    for kick in TURN * np.add.outer(np.arange(12), (0.10, 0.36, 0.60, 0.86)).ravel():
        since = np.maximum(time - kick, 0.0)
        size = 3.5 * (1 + 0.25 * random.normal())
        angle += size * np.exp(-damping * omega * since) * np.sin(omega * since)
    return np.asarray(angle)


def write_smooth_trace(path: Path, case_path: Path, seed: int = 20_251) -> None:
    """The case's dancer simulated with other constants than the case says, as a sensor sees it.

    Args:
        path: file to write.
        case_path: case with a dancer.
        seed: of the generator.
    """
    from woold.dancer.case_dancer import case_dancer
    from woold.physics.dancer_motion import simulate
    from woold.physics.model_turn import with_values
    from woold.physics.turning import ramped_turning

    random = np.random.default_rng(seed)
    case = read_case(case_path)
    other = {"inertia": 0.09, "damping": 0.6, "film_stiffness": 620.0}
    setup = with_values(case_dancer(case).setup, other)
    turning = ramped_turning(case.machine.speed, 12.0, case.machine.ramp_up, case.machine.ramp_down)
    motion = simulate(setup, turning, 1 / _RATE)
    pulse = (motion.theta % (2 * np.pi) < 0.25).astype(int)
    _write(path, random, motion.time, np.degrees(motion.arm_angle), pulse)


def _write(
    path: Path,
    random: np.random.Generator,
    time: Floats,
    angle: Floats,
    pulse: NDArray[np.int_],
) -> None:
    """The recording, with a sensor's noise and one sample in fifty lost."""
    noisy = angle + 0.03 * random.normal(size=len(angle))
    kept = random.uniform(size=len(time)) > 0.02
    rows = zip(time[kept], noisy[kept], pulse[kept], strict=True)
    lines = [f"{at:.3f},{degrees:.3f},{level}" for at, degrees, level in rows]
    heading = "time [s],dancer [deg],turn pulse"
    path.write_text("\n".join([heading, *lines]) + "\n", encoding="utf-8")
