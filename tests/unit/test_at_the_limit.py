"""What is said exactly at a limit, and in cases that come up seldom; by hand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.errors import InputError
from woold.physics import stack_kernel
from woold.physics.film_fit import fit_haward
from woold.physics.neck_down import width_loss_uncertainty
from woold.physics.orders import order_spectrum, split_orders, turn_samples
from woold.physics.pattern import Band, WrapProgram, film_length, wrap_path
from woold.physics.stack_motion import MovingStack, pulse, stack_motion
from woold.physics.tipping import tips
from woold.prediction.predict import predict
from woold.sites.claim_reader import read_claim
from woold.sites.covariates import explain_together
from woold.sites.influence import small_trial_look
from woold.trial.setup import Aim, FittedOnce
from woold.trial.sight import what_rolls_show
from woold.watch.breaks import place_of_rate_change
from woold.watch.counters import amounts_of_counter
from woold.watch.run_length import gap_limit_for, gap_run_length


def codes(case: Case) -> set[str]:
    return {each.code for each in predict(case).findings}


def test_a_body_in_balance_does_not_tip() -> None:
    # .4 m before the centre at 1 g down against .8 m of height at .5 g: .4 on either side.
    assert not tips(0.4, 0.8, 0.5, 1.0)


@pytest.mark.parametrize("stretch", [2.0, 2.5, 3.0, 3.6, 4.0])
def test_the_law_of_width_is_known_to_half_of_itself(stretch: float) -> None:
    # Each edge loses .2 to .3 of the gap (reference/neckdown-2d.csv); u(f) is .06 to .10 of it.
    assert 0.05 < float(width_loss_uncertainty(stretch)) < 0.12


@pytest.mark.parametrize("bits", [15, 16, 31, 32])
def test_counters_of_any_usual_size_roll_over(bits: int) -> None:
    """A counter of 2^bits that shows 20 below it and then 10 has counted 30."""
    top = 2.0**bits
    counter = np.array([top - 110, top - 80, top - 50, top - 20, 10.0, 40.0, 70.0])
    found = amounts_of_counter(counter)
    assert (found.roll_overs, found.resets) == (1, 0)
    assert found.values[1:] == pytest.approx([30.0] * 6)


def test_all_places_of_a_change_of_rate() -> None:
    """Five breaks in the last five of ten loads: from load 5 on, and no other load is ruled out.

    ln L is 0 at 5, 5 ln(5/9) = -2.94 at 1 and 4 ln(4/9) = -3.24 at 9, all within 7.35, twice
    what many breaks on either side would leave: one side has none.
    """
    assert place_of_rate_change(np.arange(5, 10), 10) == (5, 1, 9)


def test_slopes_that_are_chance_have_a_chance_of_one_at_most() -> None:
    rng = np.random.default_rng(2)
    effects, errors = rng.normal(0.05, 0.01, 12), np.full(12, 0.01)
    noise = {name: rng.normal(size=12) for name in ("one", "two", "three")}
    found = explain_together(effects, errors, noise)
    assert max(each.p_value for each in found.slopes) > 0.5
    assert max(each.adjusted_p_value for each in found.slopes) == 1.0


def test_limit_of_small_trials_lies_in_its_interval() -> None:
    rng = np.random.default_rng(4)
    look = small_trial_look(rng.normal(0.05, 0.01, 8), np.linspace(0.004, 0.02, 8))
    assert look is not None
    assert look.limit_low < look.limit < look.limit_high


@pytest.mark.parametrize("angle", [0.1, -0.5, 1.0])
def test_sine_of_a_tier_that_leans(angle: float) -> None:
    # Four terms of the series leave less than the next: a^9/9! and a^10/10!.
    stack, state = np.ones((1, 8)), np.zeros((1, 32))
    state[0, stack_kernel.ANGLE] = angle
    stack_kernel._begin.py_func(stack, state, 0, 0.0, 9.81)
    sin, cos = state[0, stack_kernel.SIN], state[0, stack_kernel.COS]
    assert sin == pytest.approx(math.sin(angle), abs=abs(angle) ** 9 / 362_880 + 1e-15)
    assert cos == pytest.approx(math.cos(angle), abs=angle**10 / 3_628_800 + 1e-15)


def test_positions_of_a_stack_are_along_up_and_turned() -> None:
    half = np.array([0.6, 0.6])
    stack = MovingStack(
        half, half, np.array([0.144, 0.4]), np.array([25.0, 300.0]), np.full(2, 0.3), 1.0,
        np.ones((2, 1, 2)),
    )  # fmt: skip
    done = stack_motion(stack, pulse(0.1, 0.05, 0.1, 0.0))
    assert done.positions.shape[1:] == (2, 3)


def test_a_pause_of_no_time_is_none(table: dict[str, Any]) -> None:
    table["machine"] |= {"ramp_up": "3 s", "ramp_down": "3 s"}
    plain = predict(case_from_table(table))
    table["program"]["pauses"] = [{"before": "top wraps", "time": "0 s"}]
    assert predict(case_from_table(table)).cycle_time_s == plain.cycle_time_s


def test_findings_of_a_program_that_leaves_the_side_bare(table: dict[str, Any]) -> None:
    # Film of some 488 mm that rises 900 mm a turn leaves strips; at 200 mm it covers all.
    assert "uncovered" not in codes(case_from_table(table))
    table["program"] |= {"rise_per_turn": "900 mm", "fall_per_turn": "900 mm"}
    table["as_typed"] = ["program.rise_per_turn", "program.fall_per_turn"]
    assert "uncovered" in codes(case_from_table(table))


def test_findings_of_a_table_that_starts_at_once(table: dict[str, Any]) -> None:
    for kind, jerks in (("turntable", True), ("rotary arm", False)):
        table["machine"] |= {"kind": kind, "ramp_up": "0 s", "ramp_down": "0 s"}
        assert ("turntable_without_ramp" in codes(case_from_table(table))) is jerks
    table["machine"] |= {"kind": "turntable", "ramp_up": "3 s", "ramp_down": "3 s"}
    assert "turntable_without_ramp" not in codes(case_from_table(table))


def test_findings_of_soft_loads(table: dict[str, Any]) -> None:
    # One layer after another of 45 N on a load that gives much: the first falls slack.
    table["load"]["hoop_stiffness"] = "50 kN"
    assert "soft_load_slack" not in codes(case_from_table(table))
    table["load"]["hoop_stiffness"] = "0.5 kN"
    assert "soft_load_slack" in codes(case_from_table(table))


def test_a_close_grip_is_told_below_a_margin_of_1_15(case: Case) -> None:
    # The slow roller holds T0 exp(mu pi): a margin of 1.15 needs .0445 more friction than one of 1.
    rough = case.with_values({"carriage.friction": 1.5})
    force = predict(rough).drawing_force_n
    for margin, is_close in ((1.02, True), (1.10, True), (1.20, False), (1.60, False)):
        friction = math.log(margin * force / 25.0) / math.pi
        found = predict(case.with_values({"carriage.friction": friction}))
        assert found.grip_margin_slow == pytest.approx(margin, rel=1e-6)
        assert ("grip_close" in {each.code for each in found.findings}) is is_close


def test_an_interval_that_does_not_hold_its_saving() -> None:
    with pytest.raises(InputError) as raised:
        read_claim("5 % on average (95 % confidence interval 6 to 7 %)")
    assert "the interval 6 to 7 % does not stand around 5 %" in str(raised.value)


@pytest.mark.parametrize("rolls", [6, 12, 24])
def test_power_over_rolls_is_no_more_than_that_of_each_part(rolls: int) -> None:
    """What is not missed in any of three zones nor in the film: 1 - (1 - p) - 3 (1 - q), or 0."""
    aim = Aim(saving=0.06, margin=0.15)
    seen = what_rolls_show(aim, FittedOnce(), rolls, 4, 3)
    missed = (1 - seen.equal_hold_power) + 3 * (1 - seen.containment_power)
    assert seen.both_power == pytest.approx(max(1 - missed, 0.0), abs=1e-12)
    assert seen.both_power <= min(seen.equal_hold_power, seen.containment_power)


def test_run_length_of_gaps_that_grow() -> None:
    """Sums of exponential gaps less 1.5 each, until they pass 3: 6000 of them, simulated."""
    rng = np.random.default_rng(12)
    sums, first = np.zeros(6000), np.full(6000, 0)
    for count in range(1, 2000):
        sums = np.maximum(sums + rng.exponential(size=6000) - 1.5, 0.0)
        first[(first == 0) & (sums > 3.0)] = count
        sums[first > 0] = 0.0
    # Their mean has a standard error of 1.3 %; the chain has so many states, no more.
    assert (first > 0).mean() > 0.999
    assert gap_run_length(1.5, 3.0, longer=True) == pytest.approx(first.mean(), rel=0.05)


def test_where_one_long_gap_is_rare_enough_it_alarms_at_once() -> None:
    """More than 3 mean gaps between breaks: one in exp(3) = 20.1, which is as rare as was asked."""
    limit = gap_limit_for(20.0, 3.0, longer=True)
    assert limit < 0.05
    assert gap_run_length(3.0, limit, longer=True) == pytest.approx(math.exp(3.0), rel=0.05)


def test_a_swing_far_smaller_than_where_it_stands() -> None:
    """A ten millionth on 1, at twice a turn: all of it comes with the corners, 1e-7/√2 of it."""
    theta = np.linspace(0, 16 * np.pi, 8 * 2000 + 1)
    split = split_orders(turn_samples(theta, 1.0 + 1e-7 * np.cos(2 * theta)))
    assert split.corner_share == pytest.approx(1.0, abs=1e-3)
    assert split.rms == pytest.approx(7.0711e-8, rel=1e-3)
    assert split_orders(np.ones((3, 8))).corner_share == 0.0


def test_the_fastest_order_of_even_samples_counts_once() -> None:
    # Up and down from sample to sample: an amplitude of 1 at half the number of samples, no more.
    orders, amplitudes = order_spectrum(np.array([[1.0, -1.0, 1.0, -1.0]]))
    assert orders.tolist() == [0.0, 1.0, 2.0]
    assert amplitudes == pytest.approx([0.0, 0.0, 1.0], abs=1e-12)


def test_a_film_that_never_locks() -> None:
    """9 MPa over the stretch, and 2.4 MPa (stretch - 1/stretch²): no sign of locking to 500 %.

    A curve that bends the other way by a part in five hundred at its end is given the form without.
    """
    stretches = np.linspace(1.5, 6.0, 60)
    stresses = 9e6 / stretches + 2.4e6 * (stretches - stretches**-2.0)
    bent = stresses * (1 - 1e-4 * (stretches - 1.5) ** 2)
    fit = fit_haward(stretches, bent)
    assert fit.fit.values[:2] == pytest.approx([9e6, 2.4e6], rel=0.01)
    assert fit.fit.values[2] >= 1e4 * (1 - 1e-9)


def test_stops_that_no_step_tells_apart_are_no_way_between() -> None:
    # 8 + 1 + 1 wraps, .5 m up and 1.15 m in all both ways at .4 m a turn, 1 at the top, 1 at last.
    low = 0.5
    stops = [Band(low, 1.0, "up"), Band(math.nextafter(low, 1.0), 1.0, "up")]
    program = WrapProgram(
        load_height=1.5, film_width=0.4, start_height=0.0, bottom_wraps=8.0, rise_per_turn=0.4,
        top_overlap=0.05, top_wraps=1.0, fall_per_turn=0.4, closing_wraps=1.0, bands=stops,
    )  # fmt: skip
    legs = wrap_path(program)
    assert legs[-1].last_turn == pytest.approx(8 + 2 + 1 + 1 + 2 * 1.15 / 0.4)
    assert all(leg.turns > 0.0 for leg in legs)
    assert film_length(legs, 4.0).sum() >= 4.0 * legs[-1].last_turn
