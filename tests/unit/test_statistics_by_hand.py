"""Small statistics that larger ones rest on, each worked out on paper in its test."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import kurtosis, skew
from statsmodels.tsa.stattools import acf

from small_trial import small_trial
from trial_tables import Truth, made_up
from woold.store import Store
from woold.trial.averages import MASS, treatment_averages
from woold.trial.gauge import gauge_study
from woold.trial.gauge_study import gauge_effect
from woold.trial.importing import import_written
from woold.trial.reading import read_written
from woold.trial.records import trial_records
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial
from woold.watch.charts import set_up
from woold.watch.scores import freed_scores, shift_left


def test_gauge_study_with_an_interaction() -> None:
    """Two parts, two people, two readings each: one reads the first part low, the second high.

    Cell means 11, 21, 61, 51; parts 16 and 56, people 36 and 36, all 36. Sums of squares: parts
    2 × 2 × (20² + 20²) = 3200, people 0, interaction 2 × 4 × 5² = 200, readings 8 × 1² = 8 on
    8 - 4 = 4 degrees of freedom. Mean squares 3200, 0, 200, 2; F of the interaction 100, p .0006,
    so it is kept. Variances: readings 2, interaction (200 - 2)/2 = 99, people 0, parts
    (3200 - 200)/4 = 750; gauge 101, all 851.
    """
    readings = [[[10, 12], [20, 22]], [[60, 62], [50, 52]]]
    study = gauge_study(readings)
    assert not study.pooled
    found = {each.name: each.variance for each in study.components}
    assert found == pytest.approx(
        {
            "repeatability": 2.0,
            "appraiser": 0.0,
            "part x appraiser": 99.0,
            "reproducibility": 99.0,
            "gauge": 101.0,
            "part": 750.0,
            "total": 851.0,
        }
    )
    # √(101/851) of the study variation; 1.41 √(750/101) = 3.84 categories, so 3 whole ones.
    assert study.component("gauge").study_share == pytest.approx(0.344505, abs=5e-7)
    assert study.categories == 3


def test_interval_of_a_gauge_by_chi_squared() -> None:
    """One person reads two parts six times each, one off the mean: 12 on 10 degrees of freedom.

    Table of chi-squared: 20.483 and 3.247 leave 2.5 % on either side, so √(12/20.483) = .7654 to
    √(12/3.247) = 1.9224.
    """
    study = gauge_study([[[9, 11] * 3], [[29, 31] * 3]])
    assert study.component("gauge").variance == pytest.approx(1.2)
    # 20 000 draws know such a quantile to about 1 %.
    assert study.gauge_sd_interval == pytest.approx((0.7654, 1.9224), rel=0.02)


def test_neighbours_of_a_set_up_phase() -> None:
    """Deviations from 4.5: squares sum to 42, products of neighbours to 20.25: 20.25/42 = .48214.

    Without its bias, (1 + 3 × .48214)/8 = .30580: .78795. Of the second value the first tells
    .78795 × -3.5, and what is left is scaled by √(1 - .78795²) = .61574:
    (-1.5 + 2.75781)/.61574 = 2.04275.
    """
    values = np.array([1.0, 3.0, 2.0, 4.0, 6.0, 5.0, 7.0, 8.0])
    found = set_up(values, least=8)
    assert found.autocorrelation == pytest.approx(0.48214, abs=5e-6)
    assert found.autocorrelation == pytest.approx(acf(values, nlags=1, fft=False)[1], rel=1e-12)
    assert found.skewness == pytest.approx(skew(values), abs=1e-12)
    assert found.excess_kurtosis == pytest.approx(kurtosis(values), rel=1e-12)
    freed, alike = freed_scores(values - 4.5, 8)
    assert alike == pytest.approx(0.78795, abs=5e-6)
    assert freed[:2] == pytest.approx([-3.5, 2.04275], abs=5e-5)
    # √((1 - .6)/(1 + .6)) = ½: half of a shift is left.
    assert shift_left(0.6) == pytest.approx(0.5)


def test_errors_pooled_over_load_types() -> None:
    """Two loads of one type, three of another: 1 + 2 = 3 degrees of freedom in common.

    Logs differ by ln 1.1 = .095310: squares .0045420 about their mean. Those of the three, 0,
    .095310 and .048790: .0045429. √((.0045420 + .0045429)/3) = .055030; over √2 .038912, over
    √3 .031772.
    """
    plain = made_up(np.random.default_rng(1), Truth(pairs=5))
    masses = np.array([0.10, 0.11, 0.20, 0.22, 0.21])
    table = replace(
        plain,
        treatment=np.repeat([0, 1], 5),
        load_type=np.array([0, 0, 1, 1, 1] * 2),
        film_mass=np.concatenate([masses, np.full(5, np.nan)]),
    )
    found = [each for each in treatment_averages(table, 0, [0, 1]) if each.what == MASS]
    assert [each.values for each in found] == [2, 3]
    assert [each.spread_freedom for each in found] == [3, 3]
    assert [each.load_spread for each in found] == pytest.approx([0.055030] * 2, abs=5e-7)
    assert [each.log_error for each in found] == pytest.approx([0.038912, 0.031772], abs=1e-6)


def test_what_a_gauge_costs_a_trial(store: Store, tmp_path: Path) -> None:
    """Pulls of 28, 30 and 32 N twice in either treatment, in the first zone; of 60 N in the other.

    Their variance is 16/5 = 3.2 N². The gauge reads two parts with an error of 1.2 N² and no more
    (see above), 1.0954 N: 3.65 % of 30 N. The loads themselves: √(3.2 - 1.2) = 1.4142 N, 4.7 %; a
    trial needs 1 + 1.2/2 = 1.60 times the loads. A scale of grams, of loads of 180, 190 and 200 g:
    variance 80 g², 78.8 without the gauge, 8.877 g, 4.7 %; .58 % by the gauge, 1.02 times.
    """
    tables = small_trial()
    tables["load_types"] = [{"name": "jars", "loads_per_year": 3000}]
    start_trial(store, trial_from_tables(tables, {}), (), "AB")
    loads = ["load,treatment,load_type,film_mass [g]"]
    pulls = ["load,height [mm],side,force [N],age [min]"]
    for load in range(12):
        treatment = ("baseline", "candidate")[load % 2]
        loads.append(f"{load},{treatment},jars,{(180, 190, 200)[load // 2 % 3]}")
        pulls.append(f"{load},250,front,{(28, 30, 32)[load // 2 % 3]},30")
        pulls.append(f"{load},750,front,{(59, 60, 61)[load % 3]},30")
    for name, rows in (("loads", loads), ("pulls", pulls)):
        path = tmp_path / f"{name}.csv"
        path.write_text("\n".join(rows) + "\n")
        import_written(store, read_written(path), "AB", "line-1")
    records = trial_records(store, "line-1")
    study = gauge_study([[[9, 11] * 3], [[29, 31] * 3]])
    told = gauge_effect("pull gauge [N]", study, records)
    assert "bottom zone by 3.65 %" in told
    assert "spread by 4.7 %" in told
    assert "1.60 times the loads" in told
    told = gauge_effect("scale [g]", study, records)
    assert "film mass by 0.58 %" in told
    assert "1.02 times the loads" in told
    assert gauge_effect("tape [mm]", study, records) == ""
