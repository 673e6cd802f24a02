"""The least-squares fitter against certified values, and a film curve refitted from its own points.

[P]  NIST Statistical Reference Datasets, Misra1a (dental research in monomolecular adsorption):
     certified parameters and standard deviations, eleven digits. https://www.itl.nist.gov/div898/strd
[D]  Refit of noisy points of a known curve: by the theory of least squares 68.3 % of the estimates
     lie within one standard error.
"""

import numpy as np
import pytest

from woold.physics.film import nominal_stress
from woold.physics.film_curve import HawardCurve
from woold.physics.film_fit import fit_haward, fit_least_squares

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


def test_haward_curve_comes_back_within_its_standard_errors() -> None:
    rng = np.random.default_rng(20240611)
    stretches = np.linspace(1.5, 5.5, 60)
    clean = nominal_stress(stretches, *FILM)
    off = []
    for _ in range(150):
        fit = fit_haward(stretches, clean + rng.normal(0, 0.05e6, len(clean))).fit
        off.append((fit.values - FILM) / fit.standard_errors)
    within_one = np.mean(np.abs(off) < 1.0, axis=0)
    within_three = np.mean(np.abs(off) < 3.0, axis=0)
    # 150 draws: the share's own standard error is 3.8 %, so three of them either way.
    np.testing.assert_allclose(within_one, 0.683, atol=0.115)
    assert np.all(within_three > 0.97)


def test_elastic_modulus_from_the_first_points() -> None:
    film = HawardCurve(*FILM, 150e6)
    stretches = np.concatenate((np.linspace(1.0, 1.02, 9), np.linspace(1.05, 5.0, 60)))
    fit = fit_haward(stretches, film.nominal_stress(stretches))
    assert fit.elastic_modulus == pytest.approx(150e6, rel=1e-9)
    assert fit.points_used == np.count_nonzero(stretches >= 1.5)
