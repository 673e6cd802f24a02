"""Drawing law of a film that is known by points, against scipy's own fitter and by theory.

Reference library: scipy.optimize.curve_fit (MINPACK), which reports the same standard errors.
[D]  By the theory of least squares about 68 % of estimates lie within one standard error.
"""

import numpy as np
import pytest
from scipy.optimize import curve_fit

from woold.errors import InputError
from woold.physics.carriage import CarriageSetting, FilmRoll, KnownWidth, laid_film
from woold.physics.film_curve import HawardCurve
from woold.physics.film_points import PointsCurve, drawing_law
from woold.physics.grip import RollerGrip

FLOW, HARDENING, LIMIT = 9e6, 2.4e6, 80.0


def haward(stretch: np.ndarray, flow: float, hardening: float, inverse: float) -> np.ndarray:
    reach = stretch**2 + 2 / stretch - 3
    return flow / stretch + hardening * (stretch - stretch**-2) / (1 - inverse * reach)


def noisy(count: int, deviation: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    stretches = np.linspace(1.5, 5.5, count)
    noise = np.random.default_rng(seed).normal(0, deviation, count)
    return stretches, haward(stretches, FLOW, HARDENING, 1 / LIMIT) + noise


@pytest.mark.parametrize("seed", range(5))
def test_law_of_points_against_scipy(seed: int) -> None:
    stretches, stresses = noisy(40, 0.2e6, seed)
    law = drawing_law(tuple(stretches), tuple(stresses))
    # In MPa, so that the library's own scaling does not matter.
    values, covariance = curve_fit(haward, stretches, stresses / 1e6, p0=(9, 2.4, 0.0125))
    flow, hardening, inverse = values
    assert law.yield_ratio == pytest.approx(flow / hardening, rel=1e-4)
    assert 1 / law.extensibility == pytest.approx(inverse, rel=1e-4)
    slope = np.array([1 / hardening, -flow / hardening**2, 0])
    # No neighbouring residuals of these seeds go together (at most .19), so the errors are the
    # library's; those that do stand in test_put_together.
    error = np.sqrt(slope @ covariance @ slope)
    assert law.yield_ratio_error == pytest.approx(error, rel=1e-3)
    assert law.inverse_error == pytest.approx(np.sqrt(covariance[2, 2]), rel=1e-3)
    mixed = slope @ covariance[:, 2] / error / np.sqrt(covariance[2, 2])
    assert law.error_correlation == pytest.approx(mixed, rel=1e-3)


def test_clean_points_give_the_law_back() -> None:
    stretches, stresses = noisy(12, 0.0, 0)
    law = drawing_law(tuple(stretches), tuple(stresses))
    # The search ends on a grid of 1/Jm.
    assert law.yield_ratio == pytest.approx(3.75, rel=1e-4)
    assert law.extensibility == pytest.approx(80.0, rel=1e-4)
    assert law.misfit < 1e-5


def test_errors_hold_what_they_say() -> None:
    off = []
    for seed in range(200):
        stretches, stresses = noisy(30, 0.1e6, 1000 + seed)
        law = drawing_law(tuple(stretches), tuple(stresses))
        off.append((law.yield_ratio - 3.75) / law.yield_ratio_error)
    # 200 draws: the share's own standard error is 3.3 %, so three of them either way.
    assert np.mean(np.abs(off) < 1) == pytest.approx(0.683, abs=0.10)
    assert np.mean(np.abs(off) < 2) == pytest.approx(0.945, abs=0.05)


def test_a_film_that_only_stretches_like_rubber_has_no_flow_stress() -> None:
    """By hand: of a network less a tenth of its modulus over the stretch, flow would come out below
    nothing; the network alone is then fitted, and the ratio is 0."""
    stretches = np.linspace(1.5, 4.0, 20)
    law = drawing_law(tuple(stretches), tuple(haward(stretches, -0.2e6, 2e6, 1 / 80)))
    assert law.yield_ratio == 0.0


def test_next_to_no_stress_is_next_to_no_stretch() -> None:
    """Points from 0 at no stretch to 7 MPa at 5 %: half a pascal is some 3.6e-9 of stretch."""
    curve = PointsCurve((1.0, 1.05, 1.1, 1.4, 2.0, 3.0), (0.0, 7e6, 8.5e6, 8.6e6, 9e6, 11e6))
    assert curve.stretch_at(0.5) == pytest.approx(1.0, abs=1e-6)
    assert curve.stretch_at(0.0) == pytest.approx(1.0, abs=1e-9)


def test_few_points_leave_the_locking_to_the_placeholder() -> None:
    stretches = np.array([1.5, 2.5, 4.0])
    law = drawing_law(tuple(stretches), tuple(haward(stretches, FLOW, HARDENING, 1 / 80)))
    assert law.extensibility == pytest.approx(80.0)
    assert np.isinf(law.extensibility_error)
    assert law.yield_ratio == pytest.approx(3.75, rel=1e-6)


def test_points_of_another_shape_are_told_by_their_error() -> None:
    stretches = np.linspace(1.5, 5.5, 30)
    bent = 8e6 + 6e6 * np.sqrt(stretches - 1.2)  # rises ever less: no network does that
    law = drawing_law(tuple(stretches), tuple(bent))
    good = drawing_law(tuple(stretches), tuple(haward(stretches, FLOW, HARDENING, 1 / LIMIT)))
    assert law.misfit > 0.01 > 100 * good.misfit
    assert law.yield_ratio_error > 0.5


def test_film_by_points_narrows_like_its_law() -> None:
    """The same film by its moduli and by points of its curve lies equally wide on the load."""
    moduli = HawardCurve(FLOW, HARDENING, LIMIT, 150e6)
    stretches = np.concatenate(([1.02, 1.05, 1.08], np.linspace(1.2, 5.5, 25)))
    points = PointsCurve(tuple(stretches), tuple(moduli.nominal_stress(stretches)))
    grip = RollerGrip(0.6, np.pi)
    setting = CarriageSetting(3.6, 0.06, grip, grip, 25.0)
    by = [
        laid_film(FilmRoll(0.508, 16e-6, 918.0, 400e6, curve), setting, 45.0)
        for curve in (moduli, points)
    ]
    assert by[0].width == pytest.approx(by[1].width, abs=5e-5)


def test_uncertain_points_widen_the_range_of_the_width() -> None:
    stretches, stresses = noisy(9, 0.4e6, 3)
    points = PointsCurve(tuple(stretches), tuple(np.sort(stresses)))
    assert points.yield_ratio_error > 0.3
    law = points.law
    moduli = HawardCurve(law.yield_ratio * HARDENING, HARDENING, law.extensibility, 150e6)
    grip = RollerGrip(0.6, np.pi)
    setting = CarriageSetting(3.0, 0.06, grip, grip, 40.0)
    spread = [
        float(np.ptp(laid_film(film, setting, 60.0, KnownWidth(deviate=np.array([-1, 1]))).width))
        for film in (FilmRoll(0.508, 16e-6, 918.0, 400e6, curve) for curve in (moduli, points))
    ]
    assert spread[1] > 1.02 * spread[0]


def test_points_that_are_not_drawn_tell_nothing() -> None:
    with pytest.raises(InputError, match="drawn"):
        drawing_law((1.0, 1.05, 1.1, 1.5), (0.0, 5e6, 8e6, 8e6))
