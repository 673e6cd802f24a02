"""Speed of the dancer's simulation and of a long trace. Run with `make bench`.

Processor time is taken, so that whatever else the machine does does not count.
"""

from __future__ import annotations

import time
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from woold.case.file import case_from_table, starter_text
from woold.dancer.case_dancer import case_dancer
from woold.dancer.trace_study import TraceAsk, study_trace
from woold.physics.dancer_motion import simulate
from woold.physics.dancer_reference import reference_motion
from woold.physics.turning import ramped_turning

SPRINGS = """
[[dancer.springs]]
rate = "0.9 N/mm"
free_length = "180 mm"
preload = "10 N"
"""


def setup() -> Any:
    case = case_from_table(tomllib.loads(starter_text() + SPRINGS))
    return case_dancer(case).setup, ramped_turning(case.machine.speed, 11.4, 3.0, 3.0)


@pytest.mark.benchmark(timer=time.process_time)
def test_a_minute_of_wrapping(benchmark: Any) -> None:
    """60 s of wrapping, 12,001 samples: asked for under 20 ms after compilation."""
    dancer, turning = setup()
    simulate(dancer, turning)
    benchmark.pedantic(simulate, (dancer, turning), rounds=40)
    print(f"\n60 s of wrapping: {1e3 * benchmark.stats.stats.median:.1f} ms")
    assert benchmark.stats.stats.median < 0.020


@pytest.mark.benchmark(timer=time.process_time)
def test_against_scipy_at_equal_accuracy(benchmark: Any) -> None:
    """The same minute by solve_ivp, at no better accuracy: asked for 200 times slower or more.

    Both are measured against DOP853 at 1e-12. scipy's RK45 is the same pair of formulas as the
    kernel's; it gets its equations in plain scalar Python and is told where the sides are laid.
    """
    dancer, turning = setup()
    _, exact, _ = reference_motion(dancer, turning, 0.05, 1e-12)

    def error(angles: np.ndarray) -> float:
        return float(np.abs(angles - exact).max())

    began = time.process_time()
    _, angles, _ = reference_motion(dancer, turning, 0.05, 1e-6, "RK45")
    scipy_time = time.process_time() - began
    arguments = (dancer, turning, 0.05, 1.5e-7)
    simulate(*arguments)
    motion = benchmark.pedantic(simulate, arguments, rounds=40)
    ratio = scipy_time / benchmark.stats.stats.median
    print(
        f"\nsolve_ivp: {scipy_time:.2f} s, error {error(angles):.1e} rad; compiled:"
        f" {1e3 * benchmark.stats.stats.median:.2f} ms, error {error(motion.arm_angle):.1e} rad;"
        f" {ratio:.0f} times faster"
    )
    assert error(motion.arm_angle) <= error(angles)
    assert ratio >= 200


@pytest.fixture(scope="module")
def hour(tmp_path_factory: Any) -> Path:
    """An hour at 200 Hz."""
    instants = np.arange(720_000) / 200
    theta = 2 * np.pi * instants / 5 + 0.3 * np.sin(instants / 100)
    since = (theta / (2 * np.pi) * 4 % 1.0) * 1.25
    omega = 2 * np.pi * 5.0
    angle = 6 * np.cos(2 * theta) + 4 * np.cos(4 * theta + 1)
    angle += 0.6 * np.exp(-0.06 * omega * since) * np.sin(omega * since)
    angle += 0.1 * np.random.default_rng(1).normal(size=len(angle))
    path: Path = tmp_path_factory.mktemp("trace") / "hour.csv"
    rows = "\n".join(f"{t:.3f},{a:.4f}" for t, a in zip(instants, angle, strict=True))
    path.write_text("time [s],dancer [deg]\n" + rows + "\n", encoding="utf-8")
    return path


@pytest.mark.benchmark(timer=time.process_time)
def test_an_hour_of_trace(benchmark: Any, hour: Path) -> None:
    """Read, taken apart and judged: asked for under 3 s."""
    study, _ = benchmark.pedantic(study_trace, (hour, TraceAsk(stops=(-0.5, 0.5))), rounds=3)
    print(f"\n1 h at 200 Hz: {benchmark.stats.stats.median:.2f} s")
    assert study.bounce is not None
    assert abs(study.bounce.frequency_hz - 5.0) < 0.1
    assert benchmark.stats.stats.median < 3.0
