"""The dancer's motion against scipy's integrator, its balances, and formulas of any textbook."""

from dataclasses import replace

import numpy as np
import pytest

from woold.physics import dancer_kernel
from woold.physics.dancer import (
    Spring,
    balance_tension,
    film_store,
    spring_energy,
    spring_length,
    spring_stiffness,
    spring_torque,
)
from woold.physics.dancer_modes import (
    bounce_mode,
    modes,
    operating_point,
    order_responses,
    state_matrix,
    undriven_frequency,
)
from woold.physics.dancer_motion import constants_of, rest_state, simulate, smooth_pieces
from woold.physics.dancer_reference import reference_motion
from woold.physics.dancer_setup import Drive, FilmSpan
from woold.physics.orders import (
    corner_orders,
    demand_orders,
    order_spectrum,
    split_orders,
    turn_samples,
)
from woold.physics.outlines import polygon_outline, rectangle_outline, round_outline
from woold.physics.turning import Turning, ramped_turning

RPM = 2 * np.pi / 60


def _case(setup, name):
    if name == "rectangle, proportional drive":
        drive = Drive(0.5, 1.2, 0.0, 0.0, 0.1, 3.0, 2.0)
        return replace(setup, drive=drive), ramped_turning(12 * RPM, 3, 2, 2)
    if name == "rectangle off the axis, film pulled tight":
        outline = rectangle_outline(1.2, 0.8, (0.05, 0.03))
        drive = Drive(0.5, 1.2, 0.0, 0.0, 0.1, 3.0, 2.0)
        return (
            replace(setup, outline=outline, exit_distance=1.2, drive=drive),
            ramped_turning(24 * RPM, 3, 2, 2),
        )
    if name == "round load off the axis":
        return replace(setup, outline=round_outline(1.0, (0.1, 0.05))), ramped_turning(
            15 * RPM, 3, 2, 2
        )
    if name == "triangle, lively arm without friction":
        outline = polygon_outline([(0, 0), (1.2, 0), (0.6, 1.0)], (-0.6, -0.35))
        arm = replace(setup.arm, damping=0.05, friction_torque=0.0)
        return replace(setup, outline=outline, arm=arm), ramped_turning(10 * RPM, 3, 1, 3)
    # The table stops and goes again; the film goes slack and the arm hits both stops.
    times = np.array([0.0, 0.5, 4.0, 4.2, 6.0, 6.5, 12.0, 12.4])
    speeds = np.array([0.0, 2.5, 2.5, 0.0, 0.0, 2.0, 2.0, 0.0])
    slow = Drive(0.2, 3.0, 0.0, 0.9, 0.4, 1.5, 2.5)
    return replace(setup, drive=slow), Turning(times, speeds)


CASES = [
    "rectangle, proportional drive",
    "rectangle off the axis, film pulled tight",
    "round load off the axis",
    "triangle, lively arm without friction",
    "stop and go, slack film, stops",
]


@pytest.mark.parametrize("name", CASES)
def test_motion_against_scipy_in_literal_form(dancer_setup, name):
    """solve_ivp (DOP853, rtol 1e-11) on the unloaded film content, restarted at every laid side.

    Agreement asked: 3e-7 rad and 5e-5 N at tolerance 1e-9; 1e-4 rad and 1e-2 N at the tolerance
    that commands use. Measured: 1.3e-7 rad and 2e-5 N, 4e-5 rad and 4e-3 N in the worst case,
    the one that runs into its stops; thirty times better in the others.
    """
    setup, turning = _case(dancer_setup, name)
    time, angle, tension = reference_motion(setup, turning, 0.02, 1e-11)
    tight = simulate(setup, turning, 0.02, tolerance=1e-9)
    np.testing.assert_array_equal(tight.time, time)
    np.testing.assert_allclose(tight.arm_angle, angle, atol=3e-7)
    np.testing.assert_allclose(tight.tension, tension, atol=5e-5)
    usual = simulate(setup, turning, 0.02)
    np.testing.assert_allclose(usual.arm_angle, angle, atol=1e-4)
    np.testing.assert_allclose(usual.tension, tension, atol=1e-2)


def test_stops_and_slack_film_are_counted_as_scipy_finds_them(dancer_setup):
    """What scipy's motion shows, looked at every millisecond, from rest to rest.

    Slack time within 3 ms: a step counts whole, and the film goes slack four times.
    """
    setup, turning = _case(dancer_setup, CASES[-1])
    _, angle, tension = reference_motion(setup, turning, 0.001, 1e-9)
    found = simulate(setup, turning)
    lower, upper = angle < setup.arm.lower_stop, angle > setup.arm.upper_stop
    hits = [int(np.sum(~beyond[:-1] & beyond[1:])) for beyond in (lower, upper)]
    assert hits == [2, 3]
    assert [found.lower_hits, found.upper_hits] == hits
    assert found.slack_time == pytest.approx(0.001 * np.sum(tension <= 0.0), abs=3e-3)


@pytest.mark.parametrize("name", CASES)
def test_film_and_energy_are_conserved(dancer_setup, name):
    """Film in, laid and held; work of load, rollers, losses and stops against energy held."""
    setup, turning = _case(dancer_setup, name)
    motion = simulate(setup, turning)
    assert abs(motion.film_residual) < 1e-6
    assert abs(motion.energy_residual) < 1e-6
    assert motion.work_by_load > 1.0


def test_compiled_kernel_equals_plain_python(dancer_setup):
    turning = ramped_turning(20 * RPM, 0.4, 0.5, 0.0)
    constants = constants_of(dancer_setup)
    pieces = smooth_pieces(dancer_setup, turning)
    times = np.linspace(0.0, float(turning.times[-1]), 50)
    rest = rest_state(dancer_setup)
    plain = dancer_kernel.integrate.py_func(constants, pieces, times, rest, 1e-5)
    compiled = dancer_kernel.integrate(constants, pieces, times, rest, 1e-5)
    for one, other in zip(plain, compiled, strict=True):
        # Compiled code may add in another order: a few units of the last place, amplified by steps.
        np.testing.assert_allclose(one, other, rtol=1e-9, atol=1e-11)


def test_natural_frequency_formula(dancer_setup):
    """Arm on its spring and on the film, without losses, before a round load; worked on paper.

    At 0 rad the spring is 352.278 mm long and pulls 165.050 N (see the statics below). Its length
    changes by L' = -.14 × .35/.352278 = -.139095 m/rad and bends by
    L" = (.14 × .10 - .139095²)/.352278 = -.015180 m/rad², so it adds
    900 × .139095² - 165.050 × .015180 = 14.907 N m/rad. The film pulls 45.915 N; a strain of
    .051017 of EA 900 N. It is √(1.5² - .55²) + 1 = 2.395531 m long, and two lines over .25 m move
    by .5 m/rad: .5² × 900 × 1.051017/2.395531 = 98.717 N m/rad. ω² = 113.624/.05, ω = 47.670 rad/s.
    """
    still = replace(
        dancer_setup,
        arm=replace(dancer_setup.arm, damping=0.0, friction_torque=0.0),
        span=FilmSpan(film_stiffness=900.0, roller_strain=0.0, fixed_length=1.0),
        outline=round_outline(1.1),
    )
    point = operating_point(still, 1e-6)
    assert point.arm_angle == pytest.approx(0.0, abs=1e-6)
    # Five digits of each term.
    assert undriven_frequency(still, point) * 2 * np.pi == pytest.approx(47.670, abs=1e-3)


def test_equations_of_small_motions(dancer_setup):
    """All of them before a round load, worked on paper; what is 0 knows nothing of the other.

    At 1 rad/s the load takes .55 m/s. The set angle is 0, where the film pulls 45.915 N, its strain
    is e = .051017 and the span is l = 2.395531 m (see the formula above), so that the arm's row is
    -14.907/.05 = -298.14, -.4/.05 = -8 and -.5 × 900/.05 = -9000.

    The unloaded film in the span, l/(1 + e), grows by v/1.11, the drive's, and shrinks by
    D/(1 + e): e' = (1 + e)/l [l' + D - v (1 + e)/1.11], in which l' = .5 φ'. With s =
    1.051017/2.395531 = .438741 it follows φ' by .5 s = .219371, D by s, v by
    -s × 1.051017/1.11 = -.415424, and itself by -s × v/1.11 = -s × .55/1.051017 = -.229595.

    The drive comes up to 1.2 (0 - φ) + .8 ∫ with a lag of .1 s: -12, -10 and 8.
    """
    setup = replace(dancer_setup, outline=round_outline(1.1))
    matrix, by_demand = state_matrix(setup, operating_point(setup, 1.0))
    expected = [
        [0.0, 1.0, 0.0, 0.0, 0.0],
        [-298.14, -8.0, -9000.0, 0.0, 0.0],
        [0.0, 0.219371, -0.229595, -0.415424, 0.0],
        [-12.0, 0.0, 0.0, -10.0, 8.0],
        [-1.0, 0.0, 0.0, 0.0, 0.0],
    ]
    # Five digits of each term were worked.
    np.testing.assert_allclose(matrix, expected, rtol=2e-5)
    np.testing.assert_allclose(by_demand, [0.0, 0.0, 0.438741, 0.0, 0.0], rtol=2e-5)


def test_free_ringing_has_the_linear_frequency_and_decrement(dancer_setup):
    """The table stops at once, the drive stands still: what rings is arm on spring and film."""
    setup = replace(
        dancer_setup,
        arm=replace(dancer_setup.arm, friction_torque=0.0, damping=0.3),
        drive=Drive(0.0, 1e-9, 0.0, 0.0, 1.0, 1.0, 1.0),
    )
    turning = Turning(np.array([0.0, 0.02, 0.03, 6.0]), np.array([0.0, 0.02, 0.0, 0.0]))
    motion = simulate(setup, turning, 0.0005, tolerance=1e-10)
    late = motion.time > 0.2
    rest = motion.arm_angle[-1]
    swing, time = motion.arm_angle[late] - rest, motion.time[late]
    tops = np.flatnonzero((swing[1:-1] > swing[:-2]) & (swing[1:-1] > swing[2:])) + 1
    peaks, places = [], []
    for top in tops[:5]:
        bend = swing[top - 1] - 2 * swing[top] + swing[top + 1]
        shift = 0.5 * (swing[top - 1] - swing[top + 1]) / bend
        places.append(time[top] + shift * 0.0005)
        peaks.append(swing[top] - 0.25 * (swing[top - 1] - swing[top + 1]) * shift)
    period = (places[-1] - places[0]) / 4
    decrement = np.log(peaks[0] / peaks[-1]) / 4
    # The operating point at rest, with drive and load standing still.
    point = replace(
        operating_point(replace(setup, drive=dancer_setup.drive), 1e-9),
        film_speed=0.0,
        arm_angle=rest,
        tension=float(balance_tension(rest, setup.arm, setup.spring, setup.hole_radius)),
    )
    span_now = motion.tension[-1] / 900.0
    matrix, _ = state_matrix(setup, point)
    from woold.physics.demand import free_span

    length = free_span(motion.theta[-1], setup.outline, 1.5) + film_store(rest, setup.arm) + 1.0
    matrix[2] *= point.span_length / length
    values = np.linalg.eigvals(matrix[:3, :3])
    value = values[np.argmax(values.imag)]
    assert span_now > 0.01
    # The swing is a thousandth of a radian: what is not linear in it is some 1e-4 of it.
    assert period == pytest.approx(2 * np.pi / value.imag, rel=1e-3)
    assert decrement == pytest.approx(-value.real * period, rel=5e-3)


def test_small_motions_answer_as_the_linear_model_says(dancer_setup):
    setup = replace(dancer_setup, arm=replace(dancer_setup.arm, friction_torque=0.0))
    turning_speed = 12 * RPM
    point = operating_point(setup, turning_speed)
    motion = simulate(setup, ramped_turning(turning_speed, 12, 2.0))
    late = motion.theta > 2 * np.pi * 6 - 0.01
    orders, swing = order_spectrum(turn_samples(motion.theta[late], motion.arm_angle[late]))
    for response in order_responses(setup, point):
        place = int(np.abs(orders - response.order).argmin())
        # The span's length swings by a fifth over the turn, which the linear model leaves out.
        assert swing[place] == pytest.approx(response.swing_amplitude, rel=0.06, abs=1e-4)
    assert modes(setup, point)[0].frequency == bounce_mode(setup, point).frequency


def test_resonance_is_seen_where_order_eight_meets_the_bounce(dancer_setup):
    setup = replace(dancer_setup, arm=replace(dancer_setup.arm, inertia=0.3, damping=0.1))
    bounce = bounce_mode(setup, operating_point(setup, 20 * RPM))
    turning_speed = bounce.frequency * 2 * np.pi / 8
    responses = order_responses(setup, operating_point(setup, turning_speed))
    assert [response.order for response in responses if response.resonant] == [8]
    quiet = order_responses(setup, operating_point(setup, 0.6 * turning_speed))
    assert not any(response.resonant for response in quiet)


def orders_by_corners(corners, exit_distance, highest):
    """Sizes of the orders of the farthest line from the exit point through a corner, summed up."""
    theta = (np.arange(7200) + 0.5) * 2 * np.pi / 7200
    exits = exit_distance * np.column_stack([np.cos(theta), np.sin(theta)])
    way = np.asarray(corners)[None] - exits[:, None]
    lines = (way[..., 0] * exits[:, None, 1] - way[..., 1] * exits[:, None, 0]) / np.hypot(
        way[..., 0], way[..., 1]
    )
    waves = np.exp(-1j * np.outer(np.arange(highest + 1), theta))
    sizes = np.abs(waves @ lines.max(axis=1)) / len(theta)
    return sizes * np.where(np.arange(highest + 1) > 0, 2, 1)


@pytest.mark.parametrize(
    ("corners", "offset", "exit_distance"),
    [
        ([(-0.6, -0.4), (0.6, -0.4), (0.6, 0.4), (-0.6, 0.4)], (0.0, 0.0), 1.2),
        ([(-0.6, -0.4), (0.6, -0.4), (0.6, 0.4), (-0.6, 0.4)], (0.05, 0.03), 1.2),
        ([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)], (0.0, 0.0), 1.5),
        ([(0.0, 0.6), (-0.52, -0.3), (0.52, -0.3)], (0.0, 0.0), 1.2),
    ],
)
def test_orders_against_the_lines_through_the_corners(corners, offset, exit_distance):
    found = np.abs(demand_orders(polygon_outline(corners, offset), exit_distance))
    expected = orders_by_corners(np.asarray(corners) + offset, exit_distance, 16)
    # Sums of 7200 places of a line with kinks.
    np.testing.assert_allclose(found, expected, atol=2e-6)


def test_orders_of_a_rectangle():
    """A centred rectangle drives even orders only, a square those of four; order 0 is the perimeter
    over 2π."""
    centred = np.abs(demand_orders(rectangle_outline(1.2, 0.8), 1.2))
    assert centred[0] == pytest.approx(4.0 / (2 * np.pi), abs=1e-6)
    assert centred[1::2].max() < 1e-12
    square = np.abs(demand_orders(rectangle_outline(1.0, 1.0), 1.5))
    assert square[[1, 2, 3, 5, 6, 7]].max() < 1e-12
    triangle = polygon_outline([(0, 0.6), (-0.52, -0.3), (0.52, -0.3)])
    assert 3 in corner_orders(triangle, 1.2)
    assert corner_orders(rectangle_outline(1.2, 0.8), 1.2)[:4] == (1, 2, 4, 6)


@pytest.mark.parametrize("unit", [1.0, 1e-12])
def test_split_of_a_made_swing(unit):
    """Energy of sines by Parseval: A²/2 each, whatever the unit of the trace."""
    theta = np.linspace(0, 2 * np.pi * 8, 8 * 4000 + 1)
    signal = 3 + 0.4 * np.cos(2 * theta) + 0.2 * np.cos(4 * theta + 1) + 0.1 * np.cos(5.5 * theta)
    turns = turn_samples(theta, unit * signal)
    split = split_orders(turns)
    assert split.corner_share == pytest.approx(0.20 / 0.21, rel=1e-3)
    assert split.repeating_share == pytest.approx(0.20 / 0.21, rel=1e-3)
    orders, amplitudes = order_spectrum(turns)
    for order, amplitude in ((2, 0.4), (4, 0.2), (5.5, 0.1)):
        found = amplitudes[np.abs(orders - order).argmin()]
        assert found == pytest.approx(unit * amplitude, rel=1e-3)


def test_spring_statics_by_virtual_work(dancer_setup):
    """Torque is minus the slope of the energy, stiffness minus that of the torque."""
    anchor, spring = dancer_setup.arm.anchor, dancer_setup.spring
    angles, step = np.linspace(-0.5, 0.5, 11), 1e-5

    def slope(function):
        ends = [function(angles + side * step, anchor, spring, 0.14) for side in (1, -1)]
        return (ends[0] - ends[1]) / (2 * step)

    torque = spring_torque(angles, anchor, spring, 0.14)
    np.testing.assert_allclose(torque, -slope(spring_energy), rtol=1e-8)
    np.testing.assert_allclose(
        spring_stiffness(angles, anchor, spring, 0.14), -slope(spring_torque), rtol=1e-7
    )
    # By hand: hole (0.14, 0), anchor (0.10, 0.35): L = √(0.04² + 0.35²) = 0.352278;
    # F = 10 + 900 x 0.172278 = 165.050 N; lever 0.14 x 0.35/L = 0.139095 m; τ = 22.9577 N m;
    # T = τ/(2 x 0.25) = 45.915 N.
    assert float(spring_length(0.0, anchor, 0.14)) == pytest.approx(0.352278, abs=1e-6)
    assert float(spring_torque(0.0, anchor, spring, 0.14)) == pytest.approx(22.9577, abs=1e-3)
    tension = balance_tension(0.0, dancer_setup.arm, spring, 0.14)
    assert float(tension) == pytest.approx(45.915, abs=1e-3)


def test_slack_spring_pulls_nothing(dancer_setup):
    loose = Spring(rate=900.0, free_length=0.6, preload=10.0)
    assert float(spring_torque(0.0, dancer_setup.arm.anchor, loose, 0.14)) == 0.0
    assert float(spring_energy(0.0, dancer_setup.arm.anchor, loose, 0.14)) == 0.0


def test_without_corners_the_dancer_comes_to_rest(dancer_setup):
    """A centred round load: constant demand, so the end of the motion is the operating point."""
    setup = replace(dancer_setup, outline=round_outline(1.1))
    motion = simulate(setup, ramped_turning(12 * RPM, 12, 3.0))
    point = operating_point(setup, 12 * RPM)
    assert motion.arm_angle[-1] == pytest.approx(point.arm_angle, abs=1e-4)
    assert motion.tension[-1] == pytest.approx(point.tension, rel=1e-3)
    assert motion.film_speed[-1] == pytest.approx(point.film_speed, rel=1e-4)
    assert np.ptp(motion.tension[-500:]) < 0.01
