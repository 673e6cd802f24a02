"""What a test of a stack says of its film and friction: truth known, because it was simulated."""

import numpy as np
import pytest

from woold.errors import InputError
from woold.physics.stack_fit import MeasuredSlips, stack_fit
from woold.physics.stack_motion import MovingStack, pulse, stack_motion

RANGES = {"calibration": (0.5, 1.5), "friction": (0.25, 0.5), "kinetic_share": (0.5, 1.0)}
TRUTH = {"calibration": 0.8, "friction": 0.36, "kinetic_share": 0.7}


def _stack(inputs):
    count = 4
    panels = np.zeros((count, 1, 2))
    panels[1:, 0, 0], panels[:, 0, 1] = inputs["calibration"] * 2500.0, 0.012
    friction = np.full(count, inputs["friction"])
    friction[1] = 0.55
    half = np.full(count, 0.5)
    return MovingStack(
        half,
        half,
        np.array([0.144, 0.3, 0.3, 0.3]),
        np.array([25.0, 150.0, 150.0, 150.0]),
        friction,
        inputs["kinetic_share"],
        panels,
    )


def _measured(acceleration, noise, rng):
    base = pulse(acceleration, 0.05, 0.4, 0.6)
    done = stack_motion(_stack(TRUTH), base)
    largest = done.largest_slips + noise * rng.standard_normal(4)
    kept = abs(done.slips[-1]) + noise * rng.standard_normal(4)
    largest[0] = kept[0] = np.nan
    return MeasuredSlips(base, largest, kept)


def test_two_tests_bring_back_what_made_them():
    # The truth is what the readings were made with; 90 % ranges of three inputs, all of which must
    # hold it here (the seed is fixed), and be much narrower than before.
    rng = np.random.default_rng(4)
    tests = [_measured(level, 0.001, rng) for level in (0.4, 0.5)]
    steps = []
    fit = stack_fit(_stack, RANGES, tests, draws=240, progress=lambda *done: steps.append(done))
    assert steps[-1] == (240, 240)
    for each in fit.ranges:
        assert each.low < TRUTH[each.name] < each.high
        assert (each.before_low, each.before_high) == RANGES[each.name]
        assert each.is_decided
    assert fit.misfit < 1.5
    assert fit.effective_draws > 30
    assert fit.weights.sum() == pytest.approx(1.0)


def test_a_test_in_which_nothing_moved_says_nothing_of_the_film():
    still = MeasuredSlips(pulse(0.2, 0.05, 0.2, 0.2), np.zeros(4), np.zeros(4))
    film, friction, _ = stack_fit(_stack, RANGES, [still], draws=60).ranges
    assert not film.is_decided
    assert not friction.is_decided  # anything from .25 holds .2 g


def test_readings_that_no_input_explains_show_in_the_misfit():
    base = pulse(0.5, 0.05, 0.3, 0.4)
    far = MeasuredSlips(base, np.array([np.nan, 0.0, 0.3, 0.0]), np.full(4, np.nan))
    assert stack_fit(_stack, RANGES, [far], draws=60).misfit > 3.0


def test_what_cannot_be_fitted_is_refused():
    nothing = MeasuredSlips(pulse(0.5, 0.05, 0.3), np.full(4, np.nan), np.full(4, np.nan))
    with pytest.raises(InputError, match="no slip at all"):
        stack_fit(_stack, RANGES, [nothing])
    with pytest.raises(InputError, match="above the lowest"):
        stack_fit(_stack, {"friction": (0.5, 0.2)}, [nothing])
