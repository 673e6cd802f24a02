"""Recordings of simulated dancers that are not quite what their case says."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from woold.case.model import Case
from woold.dancer.case_dancer import case_dancer
from woold.dancer.trace_file import TraceFile
from woold.physics.dancer_motion import simulate
from woold.physics.trace import Trace
from woold.physics.turning import ramped_turning

__all__ = ["dancer_recording"]


def dancer_recording(case: Case, machine: int, load: int = 0) -> tuple[TraceFile, float]:
    """A cycle of a dancer that is not quite the case's, and its true mean force.

    Args:
        case: what is said of the dancer.
        machine: seed of how it differs.
        load: seed of the noise.
    """
    random, noise = np.random.default_rng(machine), np.random.default_rng([machine, load])
    setup = case_dancer(case).setup
    arm, spring = setup.arm, setup.spring
    usual = 1.6449  # nine in ten of a normal distribution

    def off(reach: float) -> float:
        return float(reach * random.normal() / usual)

    true = replace(
        setup,
        arm=replace(
            arm,
            inertia=float(random.uniform(0.02, 0.2)),
            damping=float(random.uniform(0.1, 1.5)),
            friction_torque=float(random.uniform(0.05, 1.0)),
            arm_length=arm.arm_length + off(0.003),
            anchor=(arm.anchor[0] + off(0.003), arm.anchor[1] + off(0.003)),
        ),
        spring=replace(
            spring,
            rate=spring.rate * (1 + off(0.10)),
            preload=spring.preload * (1 + off(0.15)),
            free_length=spring.free_length + off(0.003),
        ),
        hole_radius=setup.hole_radius + off(0.003),
    )
    speed = case.machine.speed
    motion = simulate(true, ramped_turning(speed, 10.0, 3.0, 3.0), 0.01)
    zero = off(math.radians(2.0))
    angle = motion.arm_angle + zero + 0.001 * noise.normal(size=motion.arm_angle.size)
    steady = (motion.theta > 4 * np.pi) & (motion.theta <= 16 * np.pi)
    return TraceFile(Trace(motion.time, angle), "angle", angle.size, 0), float(
        motion.tension[steady].mean()
    )
