"""A film of a simulated dancer sent to the server: the model is laid over it, and its constants are
found in it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("cv2")

from film_maker import Scene, write_film
from woold.case.file import case_from_table, starter_text
from woold.dancer.case_dancer import case_dancer
from woold.physics.dancer_motion import simulate
from woold.physics.model_turn import with_values
from woold.physics.turning import ramped_turning
from woold.rows.wording import Wording
from woold.web.film_view import FilmOfDancer, film_view

SPRINGS = """
[[dancer.springs]]
rate = "0.9 N/mm"
free_length = "180 mm"
preload = "10 N"
"""
INERTIA = 0.075  # kg m², the case says 0.05


@dataclass(frozen=True, eq=False)
class SimulatedArm:
    """A motion whose angle is that of a simulated dancer, two turns after its start."""

    period: float
    time: np.ndarray
    arm_angle: np.ndarray

    def angle(self, time: np.ndarray | float) -> np.ndarray:
        """Of the arm [rad]."""
        late = np.asarray(time, dtype=float) + 2 * self.period
        return np.interp(late, self.time, self.arm_angle)


def test_a_case_is_laid_over_a_film_and_fitted_to_it(tmp_path: Path) -> None:
    """The camera sees the arm turn the other way round; the inertia was typed a third too low."""
    table = tomllib.loads(starter_text() + SPRINGS)
    case = case_from_table(table)
    period = 2 * np.pi / case.machine.speed
    true = with_values(case_dancer(case).setup, {"inertia": INERTIA})
    motion = simulate(true, ramped_turning(case.machine.speed, 10, 3, 3))
    arm = SimulatedArm(period, motion.time, motion.arm_angle)
    length = 5.3 * period
    scene = Scene(width=480, height=270, length=length, motion=arm, noise=2, distance=0.9)
    write_film(tmp_path / "simulated.mp4", scene, quality=18)
    asked = FilmOfDancer(size=1, case=table, reverse=True, fit=["inertia", "damping"])
    view = film_view(str(tmp_path / "simulated.mp4"), asked, Wording())
    assert [each.field for each in view.fitted] == ["dancer.inertia", "dancer.damping"]
    trace = view.study.trace
    assert trace is not None
    assert trace.turn_period_s == pytest.approx(period, rel=0.002)
    swing = np.ptp(arm.angle(np.arange(0, length, 0.01)))
    assert trace.swing_peak_to_peak == pytest.approx(swing, rel=0.03)
    assert trace.simulated is not None
    assert trace.fit is not None
    inertia, damping = trace.fit.values
    assert inertia.value == pytest.approx(INERTIA, rel=0.1)
    assert inertia.low < INERTIA < inertia.high
    assert damping.low < damping.value < damping.high
    assert inertia.high / inertia.low < 1.5
