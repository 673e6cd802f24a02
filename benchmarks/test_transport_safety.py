"""How safe and how strict the transport screen is, and how long a verdict and a pulse take."""

from __future__ import annotations

import time
import tomllib
from typing import Any

import numpy as np
import pytest

from random_loads import agreement
from woold.case.file import case_from_table, starter_text
from woold.physics.stack_motion import MovingStack, pulse, stack_motion
from woold.prediction.predict import predict
from woold.transport.result import (
    GUESSED_UNSAID_SHARE,
    LARGEST_GIVE,
    SIMULATED_LOADS,
    STRICT_SHARE,
    UNSAFE_SHARE,
    UNSAID_SHARE,
)
from woold.transport.unmeasured import INPUT_NAMES, MARGIN, at_one_value
from woold.verdict.verdict import verdict_of

SEED = 1
GIVES = (0.0, 3e-4, 1e-3, LARGEST_GIVE)
"""From packages that hardly give to the softest that the rule answers for [m]."""

EVERY = tuple(each.removeprefix("transport.") for each in INPUT_NAMES if each != MARGIN)
UNMEASURED = {
    "all measured": (),
    "give not measured": ("package_give",),
    "kinetic friction not measured": ("kinetic_share",),
    "give and kinetic friction not measured": ("package_give", "kinetic_share"),
    "nothing measured": EVERY,
}


@pytest.mark.parametrize("count", [400, SIMULATED_LOADS])
@pytest.mark.parametrize("give", GIVES)
@pytest.mark.parametrize("named", UNMEASURED)
def test_screen_against_simulation(benchmark: Any, named: str, give: float, count: int) -> None:
    """Random loads under a pulse of 1 s; what cannot be said is neither unsafe nor too strict."""
    asked = (count, SEED, give, UNMEASURED[named])
    found = benchmark.pedantic(agreement, asked, rounds=1, iterations=1)
    (unsafe, error), (strict, other) = found.unsafe_share, found.strict_share
    unsaid, most = (
        found.unsaid_share[0],
        GUESSED_UNSAID_SHARE if UNMEASURED[named] else UNSAID_SHARE,
    )
    print(
        f"\n{count} loads, gives {1000 * give:g} mm, {named}: unsafe {unsafe:.1%} +- "
        f"{error:.1%} (at most {UNSAFE_SHARE:.0%}), too strict {strict:.1%} +- {other:.1%} (at most"
        f" {STRICT_SHARE:.0%}), cannot be said {unsaid:.1%} (at most {most:.0%})"
    )
    # What is told is told of the larger set; fewer loads may miss it by chance.
    chance = (0.0, 0.0) if count == SIMULATED_LOADS else (2.0 * error, 2.0 * other)
    assert unsafe <= UNSAFE_SHARE + chance[0]
    assert strict <= STRICT_SHARE + chance[1]
    assert unsaid <= most


def test_a_pulse_of_two_seconds(benchmark: Any) -> None:
    """Six tiers that slip on film: a 2 s pulse, median of 20 once compiled, under 30 ms."""
    half, panels = np.full(7, 0.5), np.zeros((7, 1, 2))
    panels[1:, 0, 0], panels[:, 0, 1] = 1200.0, 0.01
    stack = MovingStack(
        ahead=half,
        behind=half,
        heights=np.append(0.144, np.full(6, 0.25)),
        masses=np.append(25.0, np.full(6, 100.0)),
        friction=np.full(7, 0.4),
        kinetic_share=0.75,
        panels=panels,
    )
    base = pulse(0.41, 0.05, 1.9, 0.0)
    assert stack_motion(stack, base).top_travel > 0.02
    times = []
    for _ in range(20):
        start = time.process_time()
        stack_motion(stack, base)
        times.append(time.process_time() - start)
    print(f"\nprocessor time, median of 20: {np.median(times):.4f} s")
    benchmark(stack_motion, stack, base)
    assert np.median(times) < 0.03


ASKED = {
    "one direction": {"profiles": ["EUMOS 40509"], "acceleration": 0.4, "foot_blocked": True},
    "three directions": {"profiles": ["EN 12195-1 road"], "foot_blocked": True},
}


@pytest.mark.parametrize("is_measured", [True, False])
@pytest.mark.parametrize("asked", ASKED)
def test_what_a_verdict_adds_to_a_prediction(benchmark: Any, asked: str, is_measured: bool) -> None:
    """Paired with a prediction of the same case, processor time; asked for: under 0.2 ms."""
    case = case_from_table(tomllib.loads(starter_text()) | {"transport": ASKED[asked]})
    case = at_one_value(case) if is_measured else case
    prediction = predict(case)
    verdict_of(case, prediction)
    alone, both = [], []
    for _ in range(300):
        start = time.process_time()
        predict(case)
        middle = time.process_time()
        verdict_of(case, predict(case))
        alone.append(middle - start)
        both.append(time.process_time() - middle)
    added = 1000.0 * float(np.median(np.array(both) - np.array(alone)))
    print(
        f"\n{asked}, {'all' if is_measured else 'nothing'} measured: adds {added:.3f} ms to "
        f"{1000.0 * float(np.median(alone)):.2f} ms"
    )
    benchmark(verdict_of, case, prediction)
