"""How often a fit's ranges hold the true constants. Run with `make bench`.

200 seeded swings: in half of them all that is not fitted was typed rightly, in the other half gain,
lag or friction was typed up to three times too large or too small. Asked for: 90 % in each half.
"""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np

from woold.case.file import case_from_table, starter_text
from woold.dancer.case_dancer import case_dancer
from woold.physics.dancer_fit import fit_dancer
from woold.physics.dancer_motion import simulate
from woold.physics.model_turn import with_values
from woold.physics.trace import Trace
from woold.physics.trace_analysis import analyse_trace
from woold.physics.turning import ramped_turning

_TRUE = {
    "inertia": (0.03, 0.15),
    "damping": (0.2, 1.0),
    "film_stiffness": (500.0, 1200.0),
    "friction_torque": (0.05, 0.6),
    "gain": (0.7, 2.2),
    "lag": (0.05, 0.2),
}
_SPRINGS = """
[[dancer.springs]]
rate = "0.9 N/mm"
free_length = "180 mm"
preload = "10 N"
"""
_FITTED = ("inertia", "damping", "film_stiffness")


def test_ranges_of_200_fits() -> None:
    """Coverage of the three fitted constants, and how wide the ranges are."""
    dancer_setup = case_dancer(case_from_table(tomllib.loads(starter_text() + _SPRINGS))).setup
    held: dict[bool, list[bool]] = {True: [], False: []}
    widths, offered = [], {True: 0, False: 0}
    for seed in range(200):
        random = np.random.default_rng([seed, 4711])

        def drawn(low: float, high: float, random: Any = random) -> float:
            return float(np.exp(random.uniform(np.log(low), np.log(high))))

        truth = {name: drawn(*ends) for name, ends in _TRUE.items()}
        typed = {name: value * drawn(0.5, 2.0) for name, value in truth.items() if name in _FITTED}
        is_wrong = seed % 2 == 1
        if is_wrong:
            wrong = str(random.choice(["friction_torque", "gain", "lag"]))
            typed[wrong] = truth[wrong] * drawn(1.3, 3.0) ** random.choice([-1.0, 1.0])
        speed = random.uniform(9, 15) * 2 * np.pi / 60
        true_setup = with_values(dancer_setup, truth)
        motion = simulate(true_setup, ramped_turning(speed, random.integers(10, 18), 3, 3))
        noise = drawn(3e-4, 4e-3) * random.normal(size=len(motion.time))
        trace = Trace(motion.time[::2], (motion.arm_angle + noise)[::2])
        analysis = analyse_trace(trace, turn_period=2 * np.pi / speed)
        fit = fit_dancer(with_values(true_setup, typed), analysis.turns, analysis.turn.period)
        held[is_wrong] += [each.low <= truth[each.name] <= each.high for each in fit.values]
        widths += [np.sqrt(each.high / each.low) for each in fit.values]
        offered[is_wrong] += fit.gain_of_all > 10.0
    for is_wrong, each in held.items():
        print(
            f"\n{'wrong' if is_wrong else 'right'} inputs: {np.mean(each):.1%} of {len(each)},"
            f" fit of all offered in {offered[is_wrong]} of 100",
            end="",
        )
    print(f"\nhalf of the ranges reach no farther than a factor of {np.median(widths):.2f}")
    assert np.mean(held[False]) >= 0.9
    assert np.mean(held[True]) >= 0.9
