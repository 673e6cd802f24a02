"""Refusals and choices of the dancer's physics."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import RK45

from woold.errors import InputError, PhysicsError
from woold.physics import dancer_kernel
from woold.physics.dancer import Spring, balance_tension
from woold.physics.dancer_fit import fit_dancer
from woold.physics.dancer_modes import operating_point
from woold.physics.dancer_motion import Motion, simulate
from woold.physics.dancer_setup import Drive, FilmSpan
from woold.physics.dancer_springs import spring_choices
from woold.physics.dancer_tuning import (
    SmoothLimits,
    TuningAim,
    TuningGrid,
    _judge_swing,
    highest_smooth_speed,
    steady_swing,
    tune,
)
from woold.physics.orders import turn_samples
from woold.physics.turning import Turning, ramped_turning

RPM = 2 * np.pi / 60
SPRINGS = [Spring(rate, 0.18, 10.0) for rate in (600.0, 900.0, 1200.0, 1800.0)]
HOLES = [0.08, 0.11, 0.14, 0.17]


def test_springs_are_ranked_by_the_middle_of_the_travel_then_by_evenness(dancer_setup):
    choices = spring_choices(dancer_setup.arm, SPRINGS, HOLES, 45.0, 16e-6)
    assert len(choices) == 16
    assert [choice.rank for choice in choices] == list(range(1, 17))
    fitting = [choice for choice in choices if choice.fits]
    middle = [choice for choice in fitting if 1 / 3 <= choice.travel_share <= 2 / 3]
    assert fitting == list(choices[: len(fitting)])
    assert middle == fitting[: len(middle)]
    evenness = [choice.tension_per_film for choice in middle]
    assert evenness == sorted(evenness)
    for choice in fitting:
        assert choice.serves[0] < 16e-6 < choice.serves[1]
        assert choice.tension_lower > 45.0 > choice.tension_upper


@pytest.mark.parametrize(
    ("change", "tension", "words"),
    [
        ({}, 400.0, "too weak"),
        ({}, 5.0, "too strong"),
        ({"longest_length": 0.36}, 45.0, "beyond its longest length"),
        ({"free_length": 0.30, "rate": 2000.0}, 45.0, "goes slack"),
        ({"free_length": 0.2, "rate": 300.0, "preload": 150.0}, 57.0, "stop"),
    ],
)
def test_reasons_why_a_spring_does_not_fit(dancer_setup, change, tension, words):
    spring = replace(dancer_setup.spring, **change)
    choice = spring_choices(dancer_setup.arm, [spring], [0.14], tension, 16e-6)[0]
    assert not choice.fits
    assert words in choice.reason


def test_bad_parts_name_every_field(dancer_setup):
    with pytest.raises(InputError) as refusal:
        replace(dancer_setup.arm, inertia=0.0, damping=-1.0, lower_stop=0.6)
    fields = {problem.field for problem in refusal.value.problems}
    assert {"dancer.inertia", "dancer.damping"} <= fields
    assert any("lower_stop" in field for field in fields)
    with pytest.raises(InputError, match=r"dancer\.springs\.rate"):
        Spring(-1.0, 0.2)
    with pytest.raises(InputError, match=r"dancer\.springs\.longest_length"):
        Spring(900.0, 0.2, 0.0, 0.1)
    with pytest.raises(InputError, match=r"dancer\.gain"):
        Drive(0.0, 0.0, 0.0, 0.0, 0.1, 1.0, 1.0)
    with pytest.raises(InputError, match=r"film\.reload_modulus"):
        FilmSpan(0.0, 0.1, 1.0)
    with pytest.raises(InputError, match="program"):
        spring_choices(dancer_setup.arm, SPRINGS, HOLES, 0.0, 16e-6)
    with pytest.raises(InputError) as refusal:
        spring_choices(dancer_setup.arm, [], [], 45.0, 16e-6)
    assert len(refusal.value.problems) == 2


def test_set_ups_that_cannot_be(dancer_setup):
    with pytest.raises(PhysicsError, match=r"dancer\.set_angle"):
        replace(dancer_setup, drive=replace(dancer_setup.drive, set_angle=0.7))
    with pytest.raises(PhysicsError, match=r"machine\.exit_distance"):
        replace(dancer_setup, exit_distance=0.7)
    short = replace(dancer_setup.span, fixed_length=0.0)
    with pytest.raises(PhysicsError, match=r"dancer\.fixed_length"):
        replace(
            dancer_setup,
            span=short,
            arm=replace(dancer_setup.arm, arm_length=1.9),
        )
    slow = replace(dancer_setup, drive=replace(dancer_setup.drive, speed_limit=0.5))
    with pytest.raises(PhysicsError, match="speed limit"):
        operating_point(slow, 12 * RPM)


@pytest.mark.parametrize(
    "bad",
    [
        lambda: ramped_turning(-1.0, 3),
        lambda: ramped_turning(1.0, 0.0),
        lambda: ramped_turning(1.0, 3, -1.0),
        lambda: Turning(np.array([0.0, 0.0]), np.array([1.0, 1.0])),
        lambda: Turning(np.array([0.0, 1.0]), np.array([1.0, -1.0])),
        lambda: turn_samples(np.linspace(0, 3, 50), np.zeros(50)),
    ],
)
def test_values_that_cannot_be_used(bad):
    with pytest.raises(InputError):
        bad()


def test_bad_sampling(dancer_setup):
    turning = ramped_turning(1.0, 1.0)
    for arguments in ((0.0,), (100.0,), (0.01, 1e-13)):
        with pytest.raises(InputError):
            simulate(dancer_setup, turning, *arguments)


@pytest.mark.parametrize("turning_speed", np.linspace(0.9, 4.5, 25))
def test_every_sample_is_written(dancer_setup, turning_speed):
    """Whatever rounding makes of the last sample's time."""
    for interval in (0.005, 0.0071, 0.1):
        motion = simulate(dancer_setup, ramped_turning(turning_speed, 1.01, 0.7), interval)
        assert np.isfinite(motion.tension).all()
        assert np.abs(np.diff(motion.film_speed)).max() <= 3.0 * interval * 1.02
        assert np.abs(motion.arm_angle).max() < 0.8


def test_ramped_turning_turns_as_asked():
    for turns, up, down in ((5.0, 2.0, 3.0), (0.1, 2.0, 3.0), (2.0, 0.0, 0.0), (1.0, 0.0, 2.0)):
        turning = ramped_turning(1.3, turns, up, down)
        assert turning.turned[-1] == pytest.approx(2 * np.pi * turns, rel=1e-12)
        assert turning.speeds.max() <= 1.3 + 1e-12
        middle = np.linspace(0, turning.times[-1], 501)
        np.testing.assert_allclose(
            np.gradient(turning.angle(middle), middle)[2:-2], turning.speed(middle)[2:-2], atol=0.02
        )


def test_a_part_of_a_turn_that_never_comes_up_to_speed():
    """Ramps of 1 s at .8 rad/s pass .8 rad; .2 rad is a quarter: half the speed, .5 s each."""
    turning = ramped_turning(0.8, 0.2 / (2 * np.pi), 1.0, 1.0)
    assert turning.speeds.max() == pytest.approx(0.4)
    assert turning.times[-1] == pytest.approx(1.0)


def test_ripple_of_film_that_hardly_pulls(dancer_setup):
    """Softly sprung the arm balances .48 N at rest, and there is a ripple of it: 10 N/m × 172.3 mm
    at a lever of 139.1 mm, over two lines at 250 mm."""
    soft = replace(dancer_setup, spring=Spring(rate=10.0, free_length=0.18, preload=0.0))
    found = steady_swing(soft, 6 * RPM)
    assert 0.0 < found.tension_mean < 1.0
    assert np.isfinite(found.ripple)


def test_the_integrator_s_numbers_are_dormand_s_and_prince_s():
    """Against scipy's RK45 (J. R. Dormand and P. J. Prince, J. Comput. Appl. Math. 6 (1980) 19)."""
    np.testing.assert_allclose(dancer_kernel._NODES[:6], RK45.C, rtol=1e-14)
    np.testing.assert_allclose(dancer_kernel._STAGES[:6, :5], RK45.A, rtol=1e-14)
    np.testing.assert_allclose(dancer_kernel._STAGES[6], RK45.B, rtol=1e-14)
    np.testing.assert_allclose(np.abs(dancer_kernel._ERROR), np.abs(RK45.E), rtol=1e-14)
    # One step of a constant rate goes as far as its node; an error is none of it.
    np.testing.assert_allclose(dancer_kernel._STAGES.sum(axis=1), dancer_kernel._NODES, atol=1e-14)
    assert dancer_kernel._ERROR.sum() == pytest.approx(0.0, abs=1e-15)
    # Its last polynomial's numbers, as scipy's P gives them by the fourth power: none is lost.
    np.testing.assert_allclose(
        dancer_kernel._DENSE / dancer_kernel._DENSE[0], RK45.P[:, 3] / RK45.P[0, 3], rtol=1e-12
    )


def test_an_arm_that_just_comes_to_its_stops_hits_them(dancer_setup):
    """Once each: at the upper one for two samples, at the lower for one; else it stays inside."""
    arm, speed = dancer_setup.arm, 2 * np.pi / 5
    time = np.arange(0.0, 20.0, 0.01)
    middle, half = (arm.upper_stop + arm.lower_stop) / 2, (arm.upper_stop - arm.lower_stop) / 2
    angle = middle + 0.4 * half * np.cos(4 * speed * time)
    angle[[500, 501]] = arm.upper_stop
    angle[900] = arm.lower_stop
    still, steady = np.zeros(time.size), np.full(time.size, 45.0)
    motion = Motion(time, speed * time, angle, still, steady, steady, steady, *(0,) * 8)
    found = _judge_swing(dancer_setup, motion, speed, SmoothLimits(), 0.0)
    assert found.stop_hits == 2
    assert found.travel_used == pytest.approx(1.0)
    assert "the arm hits a stop" in found.faults
    angle[[500, 501, 900]] = middle
    assert _judge_swing(dancer_setup, motion, speed, SmoothLimits(), 0.0).stop_hits == 0


def test_highest_smooth_speed_lies_between_smooth_and_not(dancer_setup):
    found = highest_smooth_speed(dancer_setup, 10 * RPM, 30 * RPM, steps=6)
    assert found.highest is not None
    assert steady_swing(dancer_setup, found.highest).is_smooth
    assert not steady_swing(dancer_setup, found.highest + 0.2 * RPM).is_smooth
    speeds = [swing.turning_speed for swing in found.swings]
    assert speeds == sorted(speeds)
    hopeless = replace(dancer_setup, drive=replace(dancer_setup.drive, speed_limit=0.2))
    assert highest_smooth_speed(hopeless, 10 * RPM, 30 * RPM, steps=3).highest is None
    with pytest.raises(InputError):
        highest_smooth_speed(dancer_setup, 2.0, 1.0)


def test_tuning_finds_less_ripple_inside_the_limits(dancer_setup):
    gains = [0.6, 1.2, 3.0, 30.0]
    aim = TuningAim(12 * RPM, 45.0)
    tried = tune(dancer_setup, TuningGrid(SPRINGS[1:3], HOLES[1:3], gains), aim)
    best = tried[0]
    assert best.fits
    assert best.gain < 30.0  # there the drive swings by itself
    assert abs(best.tension_error) <= 0.15
    ripples = [each.swing.ripple for each in tried if each.fits]
    assert ripples == sorted(ripples)
    unstable = [each for each in tried if each.gain == 30.0]
    assert unstable
    assert not any(each.fits for each in unstable)
    with pytest.raises(InputError, match=r"dancer\.springs"):
        tune(dancer_setup, TuningGrid(SPRINGS, HOLES, gains), TuningAim(12 * RPM, 900.0))
    # A spring is tried up to twice the 15 % that a tension may be off, so a third more is beyond.
    angles = np.linspace(dancer_setup.arm.lower_stop, dancer_setup.arm.upper_stop, 41)
    most = float(balance_tension(angles, dancer_setup.arm, SPRINGS[1], HOLES[1]).max())
    assert tune(dancer_setup, TuningGrid(SPRINGS[1:2], HOLES[1:2], gains[:1]),
                TuningAim(12 * RPM, 1.25 * most))  # fmt: skip
    with pytest.raises(InputError, match=r"dancer\.springs"):
        tune(dancer_setup, TuningGrid(SPRINGS[1:2], HOLES[1:2], gains[:1]),
             TuningAim(12 * RPM, 1.35 * most))  # fmt: skip
    with pytest.raises(InputError) as refusal:
        tune(dancer_setup, TuningGrid([], [], []), aim)
    assert len(refusal.value.problems) == 3


def test_fit_refuses_what_it_cannot_fit(dancer_setup):
    turns = np.zeros((5, 64))
    with pytest.raises(InputError, match="--fit"):
        fit_dancer(dancer_setup, turns, 5.0, names=("colour",))
    with pytest.raises(InputError, match="turns"):
        fit_dancer(dancer_setup, turns[:2], 5.0)
