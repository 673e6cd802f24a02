"""Random-effects pooling against published results.

BCG vaccine trials: Colditz et al., JAMA 271 (1994) 698, as re-analysed throughout the
meta-analysis literature; log risk ratios. Eight schools: Rubin, J. Educ. Statist. 6 (1981) 377;
Gelman et al., Bayesian Data Analysis ch. 5. Values come with the tolerance of their printed digits.
"""

import numpy as np
import pytest

from bcg_trials import LATITUDE, YEAR, log_risk_ratios
from woold.sites.best_by_chance import largest_by_chance
from woold.sites.between_sites import between_site_variance
from woold.sites.covariates import explain_together
from woold.sites.influence import influence_of_each, small_trial_look
from woold.sites.pooling import pool
from woold.sites.random_effects import fit_random_effects

SCHOOLS = np.array([28, 8, -3, 7, -1, 1, 18, 12], dtype=float)
SCHOOLS_SE = np.array([15, 10, 16, 11, 9, 11, 10, 18], dtype=float)


@pytest.fixture
def bcg() -> tuple[np.ndarray, np.ndarray]:
    return log_risk_ratios()


def test_bcg_restricted_likelihood_with_hartung_knapp(bcg: tuple[np.ndarray, np.ndarray]) -> None:
    """[P] tau² .3132, mean -.7145, se .1808, interval -1.1084 to -.3206, next exp .14 to 1.76."""
    pooled = pool(*bcg, convention="hartung-knapp-t(k-1)")
    assert pooled.tau2 == pytest.approx(0.3132, abs=5e-5)
    assert pooled.mean == pytest.approx(-0.7145, abs=5e-5)
    assert pooled.standard_error == pytest.approx(0.1808, abs=5e-5)
    assert pooled.low == pytest.approx(-1.1084, abs=5e-5)
    assert pooled.high == pytest.approx(-0.3206, abs=5e-5)
    assert np.exp(pooled.prediction_low) == pytest.approx(0.14, abs=5e-3)
    assert np.exp(pooled.prediction_high) == pytest.approx(1.76, abs=5e-3)
    assert not pooled.widened


def test_bcg_moments(bcg: tuple[np.ndarray, np.ndarray]) -> None:
    """[P] DerSimonian-Laird: tau² .3088, mean -.7141; Q 152.23 on 12, I² 92.1 %."""
    pooled = pool(*bcg, estimator="DL")
    assert pooled.tau2 == pytest.approx(0.3088, abs=5e-5)
    assert pooled.mean == pytest.approx(-0.7141, abs=5e-5)
    assert pooled.q == pytest.approx(152.23, abs=5e-3)
    assert pooled.i2 == pytest.approx(0.921, abs=5e-4)


def test_bcg_interval_of_the_spread(bcg: tuple[np.ndarray, np.ndarray]) -> None:
    """[M] Q-profile of the BCG data: tau² .1197 to 1.1115, I² 92.22 % (Viechtbauer 2007, 2010)."""
    pooled = pool(*bcg)
    assert pooled.tau2_low == pytest.approx(0.1197, abs=5e-5)
    assert pooled.tau2_high == pytest.approx(1.1115, abs=5e-5)
    assert 100 * pooled.i2 == pytest.approx(92.22, abs=5e-3)


def test_the_two_prediction_conventions_differ(bcg: tuple[np.ndarray, np.ndarray]) -> None:
    """[D] mean + t(11) sqrt(.31324 + .17978²): the plain error, one degree of freedom fewer.

    By hand, with 2.20099 from a table of t: -.71453 + 2.20099 × .58784 = .57931.
    """
    other = pool(*bcg, convention="higgins-thompson-spiegelhalter-t(k-2)")
    assert other.prediction_high == pytest.approx(0.57931, abs=5e-5)
    assert other.prediction_high != pytest.approx(pool(*bcg).prediction_high, abs=1e-3)


def test_eight_schools_truncates_at_zero() -> None:
    """[P] DL tau² 0 (untruncated it is negative), mean 7.686, standard error 4.072."""
    for estimator in ("DL", "REML"):
        pooled = pool(SCHOOLS, SCHOOLS_SE, estimator=estimator)
        assert pooled.tau2 == 0.0
        assert pooled.mean == pytest.approx(7.686, abs=5e-4)
        assert pooled.plain_standard_error == pytest.approx(4.072, abs=5e-4)
        assert pooled.widened, "plain Hartung-Knapp would be narrower than a common effect allows"


def test_bcg_regression_on_latitude(bcg: tuple[np.ndarray, np.ndarray]) -> None:
    """[M] REML: intercept .2515 (se .2491), latitude -.0291 (.0072), tau² .0764, R² 75.62 %
    (Viechtbauer, J. Statist. Software 36(3) (2010) and Berkey et al., Statist. Med. 14 (1995)).
    tau² and R² to 1e-4: the printed ones come from an iteration stopped at 1e-5."""
    design = np.column_stack([np.ones(13), LATITUDE])
    fit = fit_random_effects(*bcg, design)
    errors = np.sqrt(np.diag(fit.plain_covariance))
    assert fit.coefficients == pytest.approx([0.2515, -0.0291], abs=5e-5)
    assert errors == pytest.approx([0.2491, 0.0072], abs=5e-5)
    assert fit.tau2 == pytest.approx(0.0764, abs=1e-4)
    assert fit.q == pytest.approx(30.7331, abs=5e-5)
    explained = explain_together(*bcg, {"latitude": LATITUDE})
    assert explained.slopes[0].slope == pytest.approx(-0.0291, abs=5e-5)
    assert explained.explained == pytest.approx(0.7562, abs=1e-4)


def test_bcg_regression_on_latitude_and_year(bcg: tuple[np.ndarray, np.ndarray]) -> None:
    """[M] REML: latitude -.0280, year .0019, tau² .1108, R² 64.63 % (same source)."""
    both = explain_together(*bcg, {"latitude": LATITUDE, "year": YEAR})
    assert [slope.slope for slope in both.slopes] == pytest.approx([-0.0280, 0.0019], abs=5e-5)
    assert both.tau2 == pytest.approx(0.1108, abs=5e-5)
    assert both.explained == pytest.approx(0.6463, abs=5e-5)
    assert both.too_few


def test_bcg_small_trials(bcg: tuple[np.ndarray, np.ndarray]) -> None:
    """[M] Limit of the effect as the standard error goes to zero: -.5104 (Viechtbauer 2010)."""
    look = small_trial_look(*bcg)
    assert look is not None
    assert look.limit == pytest.approx(-0.5104, abs=5e-5)
    assert look.p_value > 0.3


def test_leaving_one_out_is_what_a_reference_library_finds(
    bcg: tuple[np.ndarray, np.ndarray],
) -> None:
    """statsmodels combine_effects, DL, without each trial in turn: to rounding error."""
    from statsmodels.stats.meta_analysis import combine_effects

    effects, errors = bcg
    for index, found in enumerate(influence_of_each(effects, errors, estimator="DL")):
        others = np.arange(13) != index
        result = combine_effects(effects[others], errors[others] ** 2, method_re="chi2")
        assert found.tau2_without == pytest.approx(result.tau2, rel=1e-9)
        assert found.mean_without == pytest.approx(result.mean_effect_re, rel=1e-9)


def test_restricted_likelihood_is_maximal() -> None:
    """REML against the restricted likelihood itself, maximised on a grid and refined by scipy."""
    from scipy.optimize import minimize_scalar

    rng = np.random.default_rng(5)
    for _ in range(40):
        sites = int(rng.integers(3, 14))
        errors = 0.01 * rng.uniform(0.3, 3.0, sites)
        effects = rng.normal(0.05, 0.02 * rng.uniform(0, 2), sites) + errors * rng.normal(
            size=sites
        )

        def cost(tau2: float, effects: np.ndarray = effects, errors: np.ndarray = errors) -> float:
            weights = 1 / (errors**2 + tau2)
            mean = (weights * effects).sum() / weights.sum()
            return float(
                -np.log(weights).sum()
                + np.log(weights.sum())
                + (weights * (effects - mean) ** 2).sum()
            )

        grid = np.concatenate([[0.0], np.geomspace(1e-8, 0.1, 400)])
        start = int(np.argmin([cost(value) for value in grid]))
        bounds = (grid[max(start - 1, 0)], grid[min(start + 1, grid.size - 1)])
        best = minimize_scalar(cost, bounds=bounds, method="bounded", options={"xatol": 1e-12})
        found = float(between_site_variance(effects, errors**2, np.ones((sites, 1))))
        assert cost(found) <= min(best.fun, cost(0.0)) + 1e-7


@pytest.mark.parametrize(
    ("count", "expected"), [(2, 0.56419), (5, 1.16296), (8, 1.42360), (10, 1.53875)]
)
def test_expected_largest_of_normal_results(count: int, expected: float) -> None:
    """[M] Normal order statistics: Harter, Biometrika 48 (1961) 151, table 1; printed digits."""
    assert largest_by_chance(0.0, np.ones(count)).mean == pytest.approx(expected, abs=5e-6)
