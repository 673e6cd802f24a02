"""A shear panel under a sudden start: closed forms by hand, and outside integrators."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import eigh

from woold.physics.outlines import polygon_outline, rectangle_outline, round_outline
from woold.physics.restraint import (
    ShearedFilm,
    mean_restraint,
    restraint_limit,
    shear_restraint,
    side_walls,
    slip_to_hold,
)
from woold.physics.sudden_start import (
    film_chain_frequency,
    largest_ramp_residual,
    ramp_residual,
    started_slip,
    static_reach,
    sudden_reach,
    sudden_share,
    sudden_slip,
)

RECTANGLE = rectangle_outline(1.2, 0.8)
WALLS = side_walls(RECTANGLE.vertices, 0.0, 0.0)
# Hoop tension, shear stiffness, slip zone: scale d0 = 600 * 0.2 / 30 000 = 4 mm.
FILM = ShearedFilm(600.0, 30_000.0, 0.2, WALLS)


def _walls_of(outline, bearing):
    return side_walls(outline.vertices, outline.corner_radius, bearing)


@pytest.mark.parametrize(
    ("share", "static", "sudden"),
    # By hand: 3-4-5 and 5-12-13 triangles make the roots whole: f = .6: .6/.8 and 1.2/.64;
    # f = 5/13: 5/12 and (10/13)/(144/169) = 130/144.
    [(0.0, 0.0, 0.0), (0.6, 0.75, 1.875), (5 / 13, 5 / 12, 130 / 144), (0.8, 4 / 3, 1.6 / 0.36)],
)
def test_reach_of_a_panel_by_hand(share, static, sudden):
    assert static_reach(share) == pytest.approx(static, rel=1e-12)
    assert sudden_reach(share) == pytest.approx(sudden, rel=1e-12)


def test_a_panel_asked_for_its_limit_never_holds():
    for reach in (static_reach, sudden_reach):
        assert np.isinf(reach(np.array([1.0, 1.7]))).all()
        assert reach(0.999) < np.inf


def test_millimetres_of_a_rectangle_by_hand():
    # Two walls of 1.2 m at 600 N/m: limit 1440 N; need 864 N is f = .6, d0 = 4 mm:
    # 3 mm when it grows slowly, 7.5 mm when it comes at once.
    assert restraint_limit(FILM) == pytest.approx(1440.0)
    assert slip_to_hold(864.0, FILM) == pytest.approx(3.0e-3, rel=1e-9)
    assert sudden_slip(864.0, FILM) == pytest.approx(7.5e-3, rel=1e-9)
    np.testing.assert_array_equal(
        sudden_slip(np.array([0.0, 1440.0, 2000.0]), FILM), [0.0, np.inf, np.inf]
    )
    assert np.isinf(sudden_slip(864.0, replace(FILM, hoop=0.0, shear_stiffness=0.0)))


@pytest.mark.parametrize(
    "walls",
    [
        WALLS,
        _walls_of(round_outline(1.1), 0.0),
        _walls_of(polygon_outline([(0, 0), (1.2, 0), (0.9, 0.8), (0.1, 0.9)]), 0.4),
    ],
    ids=["rectangle", "round", "any"],
)
@pytest.mark.parametrize("share", [0.2, 0.7, 0.95])
def test_a_suddenly_loaded_tier_turns_round_where_an_outside_integrator_says(walls, share):
    # Reference: scipy solve_ivp (DOP853) on m x'' = need - H(x) from rest; the turning point is
    # the first zero of the speed. The film's force itself is the unit under test elsewhere.
    film = replace(FILM, walls=walls)
    need = share * restraint_limit(film)
    mass = 300.0

    def rates(_, state):
        return [state[1], (need - shear_restraint(state[0], film)) / mass]

    def turns(_, state):
        return state[1]

    turns.terminal, turns.direction = True, -1.0
    done = solve_ivp(
        rates, (0.0, 20.0), [0.0, 1e-12], method="DOP853", events=turns, rtol=1e-10, atol=1e-13
    )
    assert sudden_slip(need, film) == pytest.approx(done.y_events[0][0][0], rel=1e-5)


def test_mean_force_is_the_integral_of_the_force():
    # Reference: numpy's trapezoid on 20 001 points.
    film = replace(FILM, walls=_walls_of(round_outline(1.1), 0.0))
    slips = np.linspace(0.0, 0.02, 20_001)
    force = shear_restraint(slips, film)
    assert mean_restraint(0.02, film) == pytest.approx(np.trapezoid(force, slips) / 0.02, rel=1e-7)


def _chain(masses, springs):
    """Lowest frequency of a fixed-free chain by scipy's generalised eigenvalues."""
    count = len(masses)
    stiffness = np.zeros((count, count))
    for index, spring in enumerate(springs):
        stiffness[index, index] += spring
        if index:
            stiffness[index - 1, index - 1] += spring
            stiffness[index, index - 1] -= spring
            stiffness[index - 1, index] -= spring
    return np.sqrt(eigh(stiffness, np.diag(masses), eigvals_only=True)[0])


def test_chain_frequency_is_a_lower_bound_and_near():
    # Reference: scipy.linalg.eigh. Dunkerley's sum is exact for one tier and low for more: it adds
    # 1/omega^2 of all modes, and the higher ones of an even chain add a fifth, a tenth of omega.
    rng = np.random.default_rng(5)
    for count in (1, 2, 5, 8):
        masses, springs = rng.uniform(50, 150, count), rng.uniform(8e3, 2e4, count)
        above = np.cumsum(masses[::-1])[::-1]
        found = film_chain_frequency(above, springs, np.ones(count, bool))
        exact = _chain(masses, springs)
        assert found <= exact * (1 + 1e-12)
        assert found >= 0.85 * exact
    assert _chain([100.0], [1e4]) == pytest.approx(10.0)
    assert film_chain_frequency(
        np.array([500.0, 100.0]), np.array([1e9, 1e4]), np.array([False, True])
    ) == pytest.approx(10.0)
    assert np.isinf(film_chain_frequency(np.ones(2), np.ones(2), np.zeros(2, bool)))
    assert film_chain_frequency(np.ones(2), np.zeros(2), np.ones(2, bool)) == 0.0


@pytest.mark.parametrize("ramp_time", [0.0, 0.05, 0.4, 1.0, 1.7])
def test_residual_swing_after_a_ramp_by_an_outside_integrator(ramp_time):
    # Reference: scipy solve_ivp of x'' + w^2 x = w^2 min(t/T, 1); the swing after the ramp.
    frequency = 2.0 * np.pi * 0.9
    end = ramp_time + 2.0

    def rates(time, state):
        push = min(time / ramp_time, 1.0) if ramp_time else 1.0
        return [state[1], frequency**2 * (push - state[0])]

    done = solve_ivp(rates, (0.0, end), [0.0, 0.0], rtol=1e-9, atol=1e-12, max_step=0.005)
    swing = np.hypot(done.y[0, -1] - 1.0, done.y[1, -1] / frequency)
    assert ramp_residual(frequency, ramp_time) == pytest.approx(swing, abs=2e-5)


def test_drop_of_friction_is_sudden_however_slow_the_start():
    # By hand, per weight: mu .4, mu_k .3, c .5: need .2, drop .1. Slow: s = .5; R = .6: .5 + .3.
    weight = 1000.0
    assert sudden_share(0.2 * weight, 0.1 * weight, 0.0) == pytest.approx(0.5)
    assert sudden_share(0.2 * weight, 0.1 * weight, 0.6) == pytest.approx(0.8)
    assert sudden_share(0.2 * weight, 0.1 * weight, 1.0) == pytest.approx(1.0)
    # Counted as slipping just under its friction (1.1 c > mu > c): all of the need is sudden.
    assert sudden_share(0.05 * weight, 0.1 * weight, 0.3) == 1.0
    assert sudden_share(0.0, 0.0, 0.3) == 1.0


def test_started_slip_lies_between():
    assert started_slip(0.003, 0.0075, 0.5) == pytest.approx(0.00525)
    assert np.isinf(started_slip(np.inf, np.inf, 0.0))


def test_largest_residual_is_an_envelope():
    turns = np.linspace(0.01, 40.0, 4001)
    envelope = largest_ramp_residual(turns, 1.0)
    assert (envelope >= ramp_residual(turns, 1.0) - 1e-12).all()
    assert (np.diff(envelope) <= 1e-12).all()
    # It touches wherever the sine is 1: omega t/2 of pi/2, 5 pi/2.
    for half in (0.3, 0.5 * np.pi, 2.5 * np.pi):
        assert largest_ramp_residual(2.0 * half, 1.0) == pytest.approx(
            ramp_residual(2.0 * half, 1.0), rel=1e-9
        )
    assert largest_ramp_residual(np.inf, 0.05) == 0.0
    assert largest_ramp_residual(np.inf, 0.0) == 0.0  # what is rigid does not swing
    assert largest_ramp_residual(3.0, 0.0) == 1.0  # what swings does, after a start without a ramp
    assert largest_ramp_residual(3.0, 0.0) == 1.0
