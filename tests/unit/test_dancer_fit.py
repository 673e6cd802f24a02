"""A fit of the dancer allows for what was not fitted, and says where it does not fit."""

from types import SimpleNamespace

import numpy as np
import pytest

from woold.case.dancer import Dancer, DancerDrive
from woold.case.fields import facts_of
from woold.physics import fit_search
from woold.physics.dancer_fit import fit_dancer
from woold.physics.dancer_motion import simulate
from woold.physics.model_turn import steady_turn, with_values
from woold.physics.trace import Trace
from woold.physics.trace_analysis import analyse_trace
from woold.physics.turn_lines import turn_lines
from woold.physics.turning import ramped_turning

TRUE = {"inertia": 0.08, "damping": 0.5, "film_stiffness": 700.0, "gain": 1.6, "lag": 0.08}


@pytest.fixture
def turns(dancer_setup):
    """Turns of a dancer with known constants, read with a noise of 1 mrad."""
    setup = with_values(dancer_setup, TRUE)
    motion = simulate(setup, ramped_turning(12 * 2 * np.pi / 60, 12, 3, 3))
    noise = 0.001 * np.random.default_rng(2).normal(size=len(motion.time))
    trace = Trace(motion.time[::2], (motion.arm_angle + noise)[::2])
    return analyse_trace(trace, turn_period=5.0).turns


@pytest.mark.parametrize("gain", [0.7, 2.2])
def test_the_models_turn_is_steady_however_weak_its_drive(dancer_setup, gain):
    """A load that looks the same after half a turn swings the arm alike in both halves."""
    turn = steady_turn(with_values(dancer_setup, {"gain": gain, "lag": 0.05}), 1.46, 256)
    np.testing.assert_allclose(turn[:128], turn[128:], atol=1e-3 * np.ptp(turn))


def test_errors_of_the_orders_are_those_of_white_noise():
    """Each part of an order's amplitude is known to σ √(2/M)/√N, by hand."""
    noise, count, samples = 0.01, 400, 256
    found = turn_lines(noise * np.random.default_rng(1).normal(size=(count, samples)))
    by_hand = noise * np.sqrt(2 / samples) / np.sqrt(count)
    assert np.median(found.line_error) == pytest.approx(by_hand, rel=0.05)


def test_a_turn_that_was_read_badly_counts_for_little():
    """Of readings off by s and by 10 s, one each, the best mean is off by s/√1.01: 1/Σ s⁻²."""
    random, samples, good = np.random.default_rng(2), 64, np.full(8, 0.01)
    errors = np.where(np.arange(8) < 4, good, 10 * good)
    theta = 2 * np.pi * np.arange(samples) / samples
    turns = np.cos(2 * theta) + errors[:, None] * random.normal(size=(8, samples))
    found = turn_lines(turns, errors * np.sqrt(2 / samples))
    by_hand = 0.01 * np.sqrt(2 / samples) / np.sqrt(4 * 1.01)
    # Turns all alike but for their reading: what is left of the scatter is nothing, or little.
    assert by_hand * 0.99 <= np.median(found.line_error) < 2 * by_hand
    off = np.abs(found.lines - np.where(np.arange(len(found.lines)) == 1, 1.0, 0.0))
    plain = np.abs(turn_lines(turns).lines - np.where(np.arange(len(found.lines)) == 1, 1.0, 0.0))
    assert np.sqrt(np.mean(off**2)) < 0.4 * np.sqrt(np.mean(plain**2))


def test_what_was_typed_wrong_widens_the_ranges_and_is_offered(dancer_setup, turns):
    """Gain typed at 1.2 for 1.6 and lag at 0.1 s for 0.08 s: the others are held all the same."""
    fit = fit_dancer(dancer_setup, turns, 5.0)
    for each in fit.values:
        assert each.low <= TRUE[each.name] <= each.high
        assert each.high / each.low < 3.0
    assert fit.gain_of_all > 10.0
    assert not fit.lack_of_fit.is_found
    assert fit.starts[1] >= 2
    every = ("inertia", "damping", "film_stiffness", "friction_torque", "gain", "lag")
    whole = {each.name: each for each in fit_dancer(dancer_setup, turns, 5.0, every).values}
    assert whole["gain"].low <= TRUE["gain"] <= whole["gain"].high
    assert abs(whole["gain"].value - TRUE["gain"]) < abs(1.2 - TRUE["gain"])


def test_nothing_more_is_offered_where_all_else_was_typed_rightly(dancer_setup, turns):
    typed = with_values(dancer_setup, {"gain": 1.6, "lag": 0.08})
    fit = fit_dancer(typed, turns, 5.0)
    assert fit.gain_of_all < 10.0
    assert not fit.lack_of_fit.is_found


def test_lack_of_fit_is_found(dancer_setup, turns):
    """A wave of 5 mrad at order 7 and half as much at 11, which no constant of the model makes."""
    theta = 2 * np.pi * np.arange(turns.shape[1]) / turns.shape[1]
    other = turns + 0.005 * np.cos(7 * theta) + 0.0025 * np.cos(11 * theta)
    fit = fit_dancer(dancer_setup, other, 5.0)
    assert fit.lack_of_fit.is_found
    assert fit.lack_of_fit.ratio > 3.0
    # Scatter is that of four orders side by side, two parts each, of the turns less their mean.
    assert fit.lack_of_fit.freedom[1] == 8 * (len(turns) - 1)
    plain = fit_dancer(dancer_setup, turns, 5.0)
    for bad, good in zip(fit.values, plain.values, strict=True):
        assert bad.high / bad.low > good.high / good.low


def test_typed_constants_may_be_off_as_far_as_placeholders_are():
    """Half of the way, in factors, from the low end of a placeholder's range to its high one.

    By hand: √(.2/.02) = 3.16, √(1.5/.1) = 3.87, √(1/.05) = 4.47, √(4/.4) = 3.16, √(.4/.03) = 3.65.
    """
    by_hand = {"inertia": 3.16, "damping": 3.87, "friction_torque": 4.47, "gain": 3.16, "lag": 3.65}
    for name, factor in by_hand.items():
        facts = facts_of(Dancer if name in Dancer.model_fields else DancerDrive, name)
        assert np.sqrt(facts.high / facts.low) == pytest.approx(factor, abs=0.005)
        # Rounded to a digit that is easily said.
        assert fit_search.RANGES[name] == pytest.approx(factor, rel=0.06)


def test_a_search_goes_on_from_the_starts_that_lie_best(monkeypatch):
    """Of inertias at 0, .7, -.7, .7, -.7 and 0 (ln) two lie at the best, .7, and two .7 from it."""
    problem = SimpleNamespace(
        names=("inertia",), residuals=lambda point: np.array([point[0] - 0.7, 0.7 - point[0]])
    )

    def followed(_, points):
        raise InterruptedError([float(point[0]) for point in points])

    monkeypatch.setattr(fit_search, "_results", followed)
    with pytest.raises(InterruptedError) as kept:
        fit_search.searched(problem, 0.1)
    assert sorted(kept.value.args[0]) == [0.0, 0.7, 0.7]
