"""Trial statistics against published worked examples and reference libraries."""

import math

import numpy as np
import pytest
from scipy import optimize

from woold.trial.gauge import gauge_study, one_way_anova
from woold.trial.power import log_sd, noninferiority_power, t_power
from woold.trial.ratio import (
    fieller_interval,
    log_ratio_interval,
    noninferiority_p,
    student_quantile,
)
from woold.trial.treatment_means import treatment_means


def test_welch_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.3.1 (from memory): t 2.2694, df 15.533, p .03788.

    Tolerance: the printed digits.
    """
    old = [32, 37, 35, 28, 41, 44, 35, 31, 34, 38, 42]
    new = [36, 31, 30, 31, 34, 36, 29, 32, 31]
    means = treatment_means(old + new, [0] * len(old) + [1] * len(new))
    contrast = np.array([1.0, -1.0])
    error = math.sqrt(contrast @ means.covariance @ contrast)
    t = (means.baseline - means.candidate) / error
    df = means.degrees_of_freedom(null_ratio=1.0)
    assert t == pytest.approx(2.2694, abs=5e-5)
    assert df == pytest.approx(15.533, abs=5e-4)
    # p two-sided: t is the quantile at 1 - p/2.
    assert student_quantile(1 - 0.03788 / 2, df) == pytest.approx(t, abs=2e-4)


def loads_for(effect: float, power: float, alpha: float, sides: int, pairs: bool) -> float:
    """Loads (or pairs) with which `t_power` reaches the power; not whole."""

    def short_of(loads: float) -> float:
        error, df = (1.0, loads - 1.0) if pairs else (math.sqrt(2.0), 2.0 * (loads - 1.0))
        return t_power(effect * math.sqrt(loads) / error, df, alpha, sides) - power

    return float(optimize.brentq(short_of, 3.0, 1000.0))


def test_sample_size_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.2.2 (from memory): one-sided, delta = sigma, .05 and .10.

    Its normal answer is 8.564; its t answer iterates (t_.95 + t_.90)^2 with 10 degrees of freedom
    to 10.14, so 11 loads. Exact by the noncentral t it is a little less, and rounds to 11 too:
    10.08107 by statsmodels' TTestPower.
    """
    z = student_quantile(0.95, math.inf) + student_quantile(0.90, math.inf)
    assert z**2 == pytest.approx(8.564, abs=5e-4)
    t = student_quantile(0.95, 10) + student_quantile(0.90, 10)
    assert t**2 == pytest.approx(10.14, abs=5e-3)
    needed = loads_for(1.0, 0.9, 0.05, 1, pairs=True)
    assert math.ceil(needed) == 11
    assert needed == pytest.approx(10.08107, abs=5e-6)


@pytest.mark.parametrize(
    ("effect", "pairs", "loads"),
    [
        (0.2, False, 393.41),
        (0.5, False, 63.77),
        (0.8, False, 25.52),
        (0.5, True, 33.37),
    ],
)
def test_sample_sizes_of_cohen(effect: float, pairs: bool, loads: float) -> None:
    """Cohen's conventional effects, alpha .05, power .80 (from memory). Printed digits."""
    assert loads_for(effect, 0.8, 0.05, 2, pairs) == pytest.approx(loads, abs=5.1e-3)


def test_noninferiority_power_of_a_crossover() -> None:
    """A documented bioequivalence design (from memory): CV .25, .80, ratio .95, n 36: .820330."""
    error = log_sd(0.25) * math.sqrt(2 / 36)
    power = noninferiority_power(0.95, 0.20, error, df=34, alpha=0.025)
    assert power == pytest.approx(0.820330, abs=1e-6)


def test_fieller_of_two_groups() -> None:
    """Two groups' body mass, derived independently: ratio .990239, 90 % CI .939373 to 1.043831.

    With a pooled variance, so the covariance is handed over. Tolerance: the printed digits.
    """
    control = np.array([519.8, 535.7, 491.7, 508.7, 565.5, 485.8, 520.7, 507.5, 428.9, 466])
    dose = np.array([465, 492.2, 466.3, 555.5, 528.1, 483.8, 502.8, 468.1, 519.2, 500.2])
    pooled = (control.var(ddof=1) + dose.var(ddof=1)) / 2
    found = fieller_interval(dose.mean(), control.mean(), np.eye(2) * pooled / 10, 18, level=0.90)
    assert (found.ratio, found.low, found.high) == pytest.approx(
        (0.990239, 0.939373, 1.043831), abs=5e-7
    )


def test_log_ratio_of_pairs() -> None:
    """Bonett and Price (2020), paired ratio of means: 1.134146 [1.09417, 1.175583]."""
    first = np.array([3.3, 3.6, 3.0, 3.1, 3.9, 4.2, 3.5, 3.3])
    second = np.array([3.0, 3.1, 2.7, 2.6, 3.2, 3.8, 3.2, 3.0])
    covariance = np.cov(first, second) / first.size
    found = log_ratio_interval(first.mean(), second.mean(), covariance, first.size - 1)
    assert (found.ratio, found.low, found.high) == pytest.approx(
        (1.134146, 1.09417, 1.175583), abs=5e-6
    )


def test_two_one_sided_tests_of_pairs() -> None:
    """Equivalence of lognormal pairs (statsmodels' documented example): ratio .9412,
    90 % CI .8634 to 1.0260, p .003059 at .8 to 1.25. The larger of two one-sided tests of ours.
    """
    test = np.array(
        [103.4, 59.92, 68.17, 94.54, 69.48, 72.17, 74.37, 84.44, 96.74, 94.26, 48.52, 95.68]
    )
    reference = np.array(
        [90.11, 77.71, 77.71, 97.51, 58.21, 101.3, 79.84, 96.06, 89.30, 97.22, 61.62, 85.80]
    )
    logs = np.log(test / reference)
    error, df = logs.std(ddof=1) / math.sqrt(logs.size), logs.size - 1
    lower = noninferiority_p(logs.mean(), error, df, margin=0.20)
    upper = noninferiority_p(-logs.mean(), error, df, margin=0.20)
    assert max(lower, upper) == pytest.approx(0.003059, abs=5e-7)
    half = student_quantile(0.95, df) * error
    assert math.exp(logs.mean()) == pytest.approx(0.9412, abs=5e-5)
    assert np.exp([logs.mean() - half, logs.mean() + half]) == pytest.approx(
        [0.8634, 1.0260], abs=5e-5
    )


def test_one_way_analysis_of_variance_of_certified_data() -> None:
    """NIST StRD SiRstv (published), 25 values around 196: seven certified digits at least."""
    fractions = """.3052 .1240 .1890 .2569 .3403 .3042 .3825 .1669 .3257 .0422 .1303 .2005 .2889
        .0343 .1811 .2795 .1748 .1494 .1485 -.0115 .2119 .1051 .1850 .0052 .2090"""
    groups = 196 + np.array([float(text) for text in fractions.split()]).reshape(5, 5)
    between, within = one_way_anova(groups)
    assert between.f == pytest.approx(1.18046237440255, rel=1e-9)
    assert between.sum_of_squares == pytest.approx(5.11462616e-2, rel=1e-9)
    assert within.sum_of_squares == pytest.approx(2.1663656e-1, rel=1e-9)
    assert (between.df, within.df) == (4, 20)


_APPRAISERS = """
.29 -.56 1.34 .47 -.80 .02 .59 -.31 2.26 -1.36 | .41 -.68 1.17 .50 -.92 -.11 .75 -.20 1.99 -1.25
| .64 -.58 1.27 .64 -.84 -.21 .66 -.17 2.01 -1.31;
.08 -.47 1.19 .01 -.56 -.20 .47 -.63 1.80 -1.68 | .25 -1.22 .94 1.03 -1.20 .22 .55 .08 2.12 -1.62
| .07 -.68 1.34 .20 -1.28 .06 .83 -.34 2.19 -1.50;
.04 -1.38 .88 .14 -1.46 -.29 .02 -.46 1.77 -1.49 | -.11 -1.13 1.09 .20 -1.07 -.67 .01 -.56 1.45
-1.77 | -.15 -.96 .67 .11 -1.45 -.49 .21 -.49 1.87 -2.16
"""


def _aiag() -> np.ndarray:
    table = [
        [[float(text) for text in repeat.split()] for repeat in person.split("|")]
        for person in _APPRAISERS.split(";")
    ]
    return np.array(table).transpose(2, 0, 1)


def test_gauge_study_of_the_manual() -> None:
    """AIAG MSA, 10 parts x 3 appraisers x 3 (published and from memory). Printed digits."""
    study = gauge_study(_aiag())
    found = {each.name: each for each in study.components}
    assert study.pooled
    assert found["repeatability"].variance == pytest.approx(0.0399733, abs=5e-8)
    assert found["appraiser"].variance == pytest.approx(0.0514553, abs=5e-8)
    assert found["gauge"].variance == pytest.approx(0.0914285, abs=1e-7)
    assert found["part"].variance == pytest.approx(1.0864466, abs=1e-7)
    assert found["total"].variance == pytest.approx(1.1778751, abs=1e-7)
    assert 100 * found["gauge"].study_share == pytest.approx(27.86, abs=5e-3)
    assert study.categories == 4


def test_gauge_study_against_statsmodels() -> None:
    """The two-way table with its interaction, sum by sum, on readings that do interact."""
    import pandas as pd
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    rng = np.random.default_rng(3)
    readings = (
        rng.normal(size=(6, 1, 1))
        + rng.normal(size=(1, 3, 1))
        + rng.normal(size=(6, 3, 1))
        + 0.3 * rng.normal(size=(6, 3, 4))
    )
    study = gauge_study(readings)
    assert not study.pooled
    part, person, repeat = np.indices(readings.shape)
    frame = pd.DataFrame({"y": readings.ravel(), "part": part.ravel(), "person": person.ravel()})
    reference = anova_lm(ols("y ~ C(part) * C(person)", frame).fit())
    rows = {each.source: each for each in study.anova}
    for name, label in (
        ("part", "C(part)"),
        ("appraiser", "C(person)"),
        ("part x appraiser", "C(part):C(person)"),
        ("repeatability", "Residual"),
    ):
        assert rows[name].sum_of_squares == pytest.approx(reference["sum_sq"][label], rel=1e-9)
        assert rows[name].df == reference["df"][label]
    assert repeat.max() == 3


def test_treatment_means_against_statsmodels() -> None:
    """Means and HC2 errors of an unbalanced trial with blocks, against least squares there."""
    import statsmodels.api as sm

    rng = np.random.default_rng(5)
    n = 60
    treatment, kind, block = rng.integers(0, 2, n), rng.integers(0, 3, n), rng.integers(0, 6, n)
    values = (0.3 + 0.1 * kind) * (1 - 0.06 * treatment) * (1 + 0.03 * rng.normal(size=n))
    mix = np.array([5.0, 3.0, 2.0])
    means = treatment_means(values, treatment, kind, block, mix)

    cell = 2 * kind + treatment
    raw = np.array([values[cell == each].mean() for each in range(6)])
    middle = raw.reshape(3, 2).mean(axis=1)
    design = np.zeros((n, 6 + 5))
    design[np.arange(n), cell] = 1
    in_block = block > 0
    design[np.flatnonzero(in_block), 5 + block[in_block]] = 1
    fit = sm.OLS(values / middle[kind], design).fit(cov_type="HC2")
    shares = mix / mix.sum() * middle
    rows = []
    for side in (1, 0):
        row = np.zeros(11)
        for each in range(3):
            row[2 * each + side] += shares[each]
            own = block[kind == each]
            for number in range(1, 6):
                row[5 + number] += shares[each] * (own == number).mean()
        rows.append(row)
    contrast = np.array(rows)
    assert (means.candidate, means.baseline) == pytest.approx(contrast @ fit.params, rel=1e-10)
    np.testing.assert_allclose(
        means.covariance, contrast @ fit.cov_params() @ contrast.T, rtol=1e-8
    )
