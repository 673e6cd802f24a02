"""The least-squares fitter against certified values, and a film curve refitted from its own points.

[P]  NIST Statistical Reference Datasets, Misra1a (dental research in monomolecular adsorption):
     certified parameters and standard deviations, eleven digits. https://www.itl.nist.gov/div898/strd
[D]  Refits of noisy points of a known curve: 95 % intervals hold the truth in 95 of 100.
"""

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import curve_fit
from scipy.stats import linregress

from woold.errors import InputError
from woold.physics.film import nominal_stress
from woold.physics.film_curve import HawardCurve
from woold.physics.film_fit import fit_haward, fit_least_squares
from woold.physics.film_points import PointsCurve
from woold.physics.tensile_test import curve_points, fit_elastic, points_before_break

MISRA1A_X = np.array(
    [77.6, 114.9, 141.1, 190.8, 239.9, 289, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760]
)
MISRA1A_Y = np.concatenate(
    (
        [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02],
        [44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78],
    )
)
FILM = (9e6, 2.4e6, 80.0)


@pytest.mark.parametrize("start", [(500.0, 1e-4), (250.0, 5e-4)])
def test_misra1a(start: tuple[float, float]) -> None:
    fit = fit_least_squares(
        lambda x, p: p[0] * (1 - np.exp(-p[1] * x)),
        MISRA1A_X,
        MISRA1A_Y,
        np.array(start),
        lower=np.zeros(2),
        upper=np.full(2, np.inf),
    )
    # Double precision and a finite-difference slope: NIST counts six digits as passed.
    np.testing.assert_allclose(fit.values, [238.94212918, 5.5015643181e-4], rtol=1e-7)
    # The certified deviations are quoted with eight and six digits.
    np.testing.assert_allclose(fit.standard_errors, [2.7070075, 7.26687e-6], rtol=2e-6)


def test_haward_curve_comes_back_exactly_without_noise() -> None:
    stretches = np.linspace(1.5, 5.0, 40)
    fit = fit_haward(stretches, nominal_stress(stretches, *FILM))
    np.testing.assert_allclose(fit.fit.values, FILM, rtol=1e-6)
    assert fit.is_law


def tensile_test(
    noise: float, toe: float = 0.0, peak: float = 0.0, seed: int | np.random.Generator = 1
) -> tuple[np.ndarray, np.ndarray]:
    """Elongations and stresses as a machine shows them: slack first, a yield peak where asked."""
    film = HawardCurve(*FILM, 150e6)
    stretches = np.concatenate((np.arange(1.0, 1.0999, 0.002), np.linspace(1.1, 5.2, 80)))
    stresses = np.asarray(film.nominal_stress(stretches))
    stresses = stresses + peak * np.exp(-(((stretches - 1.08) / 0.05) ** 2)) * (stretches > 1.05)
    shown = stretches * (1 + toe)
    if toe:  # the specimen straightens: next to no force, rising like a cube
        shown = np.concatenate((np.linspace(1, 1 + toe, 6)[:-1], shown))
        stresses = np.concatenate((0.3e6 * np.linspace(0, 1, 6)[:-1] ** 3, stresses))
    random = np.random.default_rng(seed)
    return shown, stresses + random.normal(0, noise, len(stresses))


@pytest.mark.parametrize(
    ("noise", "toe", "peak"), [(0.05e6, 0.0, 0.0), (0.05e6, 0.015, 4e6), (0.15e6, 0.03, 0.0)]
)
def test_intervals_cover_what_they_say(noise: float, toe: float, peak: float) -> None:
    random, held, toes = np.random.default_rng(20240611), [], []
    for _ in range(1000):
        fit = fit_haward(*tensile_test(noise, toe, peak, random))
        assert fit.elastic is not None
        assert fit.is_law
        truth = np.array(FILM)
        inside = (fit.low <= truth) & (truth <= fit.high)
        held.append([*inside, fit.elastic.low <= 150e6 <= fit.elastic.high])
        toes.append(fit.elastic.toe)
    # 95 % intervals; 1000 draws have a standard error of .7 %, so three of them are 2 %.
    np.testing.assert_allclose(np.mean(held, axis=0), 0.95, atol=0.02)
    assert np.mean(toes) == pytest.approx(toe, abs=0.0005)


def test_a_short_test_leaves_the_locking_open() -> None:
    film = nominal_stress(np.linspace(1.5, 2.6, 40), *FILM)
    noise = np.random.default_rng(4).normal(0, 0.2e6, 40)
    fit = fit_haward(np.linspace(1.5, 2.6, 40), film + noise)
    assert not fit.locking_is_decided
    assert np.isinf(fit.high[2])
    assert np.isfinite(fit.fit.values).all()


def test_elastic_modulus_from_the_first_points() -> None:
    film = HawardCurve(*FILM, 150e6)
    stretches = np.concatenate((np.linspace(1.0, 1.05, 21), np.linspace(1.06, 5.0, 60)))
    fit = fit_haward(stretches, film.nominal_stress(stretches))
    assert fit.elastic is not None
    assert fit.elastic.modulus == pytest.approx(150e6, rel=1e-9)
    assert fit.elastic.toe == 0.0
    assert fit.points_used == np.count_nonzero(stretches >= 1.5)


def test_toe_is_found_and_taken_off() -> None:
    shown, stresses = tensile_test(0.0, toe=0.02)
    fit = fit_haward(shown, stresses)
    assert fit.elastic is not None
    assert fit.elastic.toe == pytest.approx(0.02, rel=1e-6)
    assert fit.elastic.modulus == pytest.approx(150e6, rel=1e-6)
    np.testing.assert_allclose(fit.fit.values, FILM, rtol=1e-5)


@pytest.mark.parametrize("seed", range(4))
def test_errors_of_the_modulus_against_scipy(seed: int) -> None:
    """scipy.stats.linregress of true stress on ln stretch, and curve_fit for the toe's own error.

    Below yield a film of 150 MPa whose first force shows at 1 %; 25 of its points lie between a
    fifth and three fifths of 9 MPa. Student's t of 23 degrees of freedom, in tables: 2.06866.
    """
    strains = 0.01 + np.linspace(0.0, 0.06, 61)
    noise = np.random.default_rng(seed).normal(0.0, 0.03e6, 61)
    true = 150e6 * (strains - 0.01) + noise
    rise = np.exp(np.append(strains, np.log(np.linspace(1.2, 4.0, 8))))
    stresses = np.append(true / np.exp(strains), np.full(8, 9e6))
    found = fit_elastic(rise, stresses)
    assert found is not None
    part = slice(*(int(np.argmax(stresses >= limit)) for limit in (1.8e6, 5.4e6)))
    x, y = np.log(rise[part]), (rise * stresses)[part]
    assert len(x) == 25
    own = linregress(x, y)
    start = -own.intercept / own.slope
    # Stretches that the toe made too large made the true stresses too large as well.
    scale = np.exp(-start)
    assert found.toe == pytest.approx(np.expm1(start), rel=1e-9)
    assert found.modulus == pytest.approx(scale * own.slope, rel=1e-9)
    assert found.standard_error == pytest.approx(scale * own.stderr, rel=1e-9)
    _, errors = curve_fit(lambda at, slope, toe: slope * (at - toe), x, y / 150e6, p0=(1.0, 0.01))
    assert found.toe_error == pytest.approx(np.sqrt(errors[1, 1]), rel=1e-4)
    half = 2.06866 * scale * own.stderr
    assert found.high - found.modulus == pytest.approx(half, rel=1e-5)
    assert found.modulus - found.low == pytest.approx(half, rel=1e-5)


@pytest.mark.parametrize("peak", [0.0, 6e6, 20e6])
def test_break_is_found_whatever_the_yield_peak(peak: float) -> None:
    stretches, stresses = tensile_test(0.05e6, peak=peak)
    last = len(stretches)
    assert points_before_break(stretches, stresses) == last
    torn = np.concatenate((stresses, [13e6, 7e6, 0.2e6, 0.0]))
    longer = np.concatenate((stretches, stretches[-1] + np.array([0.01, 0.02, 0.03, 0.5])))
    assert points_before_break(longer, torn) == last


@pytest.mark.parametrize(
    "other",
    [
        lambda x: 10e6 + 2e6 * np.sin(3 * x) + 1e6 * x,
        lambda x: 4e6 + 20e6 / (1 + np.exp(-6 * (x - 3))),
        lambda x: 6e6 + 12e6 * (x > 3.2) * (x - 3.2) + 0.2e6 * x,
    ],
    ids=["wavy", "a step", "a kink"],
)
def test_a_curve_of_another_shape_is_no_law(other: Callable[[np.ndarray], np.ndarray]) -> None:
    stretches = np.linspace(1.5, 5.0, 60)
    stresses = other(stretches) + np.random.default_rng(2).normal(0, 0.03e6, 60)
    assert not fit_haward(stretches, stresses).is_law


def test_noise_alone_is_no_other_shape() -> None:
    # 4 % of noise: more than the misfit that is allowed, and all of it between neighbours.
    stretches = np.linspace(1.5, 5.2, 60)
    noise = np.random.default_rng(8).normal(0, 0.5e6, 60)
    assert fit_haward(stretches, nominal_stress(stretches, *FILM) + noise).is_law


def test_noise_is_no_misfit() -> None:
    """Noise of .5 MPa on 60 points of the law: its own estimate takes it out, but for chance.

    Both estimates of its variance are off by about a quarter of it, so that by chance what is left
    is now nothing and now half of the noise: less than half on average, where all of it would be 1.
    """
    stretches = np.linspace(1.5, 5.2, 60)
    stresses = nominal_stress(stretches, *FILM)
    noisy = [stresses + np.random.default_rng(n).normal(0, 0.5e6, 60) for n in range(20)]
    left = [fit_haward(stretches, each).misfit * each.mean() / 0.5e6 for each in noisy]
    assert 0.0 < np.mean(left) < 0.5


def test_points_that_stand_for_a_test_make_a_curve() -> None:
    shown, stresses = tensile_test(0.1e6, peak=3e6)
    curve = PointsCurve(*map(tuple, curve_points(shown, stresses)))
    assert len(curve.stretches) <= 25
    at = np.linspace(1.6, 4.8, 12)
    # Windows of up to 8 % of the elongation, noise of 1 %.
    np.testing.assert_allclose(curve.nominal_stress(at), nominal_stress(at, *FILM), rtol=0.02)
    # The yield peak stays, by hand 9/1.08 + 2.4 × (1.08 - 1/1.08²) = 8.868 MPa and 3 MPa more at
    # 8 %. Means over windows of a tenth of the peak's width or two, and .1 MPa of noise: 2 %.
    assert curve.nominal_stress(1.08) == pytest.approx(11.868e6, rel=0.02)


def test_what_pulls_before_it_is_stretched_is_no_point_of_the_curve() -> None:
    """A grip's preload of .5 MPa at no elongation; the other five points stand alone."""
    stretches = np.array([1.0, 1.2, 1.6, 2.4, 3.0, 3.6])
    found, stresses = curve_points(stretches, np.array([0.5e6, 8e6, 8.5e6, 9e6, 10e6, 12e6]))
    assert found.tolist() == pytest.approx([1.2, 1.6, 2.4, 3.0, 3.6])
    assert stresses.tolist() == pytest.approx([8e6, 8.5e6, 9e6, 10e6, 12e6])


def test_a_curve_that_only_falls_has_no_points() -> None:
    stretches = np.linspace(1.5, 4.0, 20)
    with pytest.raises(InputError, match="falls to its end"):
        curve_points(stretches, 10e6 / stretches**1.5)
