"""Numbers of a trial's analysis for a handful of loads, worked out on paper."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from trial_tables import Truth, made_up
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.prediction.predict import predict
from woold.rows.blocks import block_texts
from woold.rows.wording import Wording
from woold.trial import before_after
from woold.trial.analysis_rows import progress_blocks
from woold.trial.averages import MASS, Average
from woold.trial.before_after import _judged
from woold.trial.compare import compare_types, comparison, means_of
from woold.trial.equal_hold import LogRatio
from woold.trial.fit_readings import fitted_reading
from woold.trial.progress import PlanState, progress_of
from woold.trial.setup import Looks
from woold.trial.stretches import Expected, mass_balance_tolerance, treatment_stretches
from woold.trial.table import LoadTable

MASSES = np.array([0.10, 0.11, 0.20, 0.22, 0.09, 0.10, 0.19, 0.20])


@pytest.fixture
def loads() -> LoadTable:
    """Two loads of either type and treatment; baseline first, jars first."""
    none = np.zeros(8, int)
    return replace(
        made_up(np.random.default_rng(1), Truth(pairs=4)),
        treatment=np.repeat([0, 1], 4),
        load_type=np.tile([0, 0, 1, 1], 2),
        block=none,
        block_names=("",),
        roll=none,
        film_mass=MASSES,
    )


def test_film_over_the_mix_of_a_year(loads: LoadTable) -> None:
    """3000 jars and 1000 cans a year: .75 × .105 + .25 × .21 = .13125 kg before.

    After: .75 × .095 + .25 × .195 = .12 kg; .12/.13125 = .914286. Of jars .095/.105 = .904762, of
    cans .195/.21 = .928571.
    """
    found = comparison(means_of(loads, loads.film_mass, "film mass"))
    assert (found.baseline, found.candidate) == pytest.approx((0.13125, 0.12))
    assert found.ratio == pytest.approx(0.914286, abs=5e-7)
    assert (found.baseline_loads, found.candidate_loads, found.mix_covered) == (4, 4, 1.0)
    jars, cans = compare_types(loads)
    assert (jars.load_type, jars.mix_share, cans.mix_share) == ("jars", 0.75, 0.25)
    assert (jars.baseline_kg, jars.candidate_kg) == pytest.approx((0.105, 0.095))
    assert (jars.ratio, cans.ratio) == pytest.approx((0.904762, 0.928571), abs=5e-7)
    # Of one load of jars each, .10 and .09 kg, there is a ratio and no interval.
    one = np.isin(np.arange(8), (0, 2, 4, 6))
    few = replace(loads, film_mass=np.where(one, loads.film_mass, np.nan))
    jars, _ = compare_types(few)
    assert (jars.baseline_loads, jars.candidate_loads) == (1, 1)
    assert jars.ratio == pytest.approx(0.9)
    assert jars.interval is None


def test_error_of_the_film_over_the_mix(loads: LoadTable) -> None:
    """Spread of each pair: half its difference squared, over two loads.

    Before: variances of the means .005²/1 = 2.5e-5 (jars), .01² = 1e-4 (cans), weighted .75² and
    .25²: 2.03125e-5 kg². After: 2.5e-5 and 2.5e-5: 1.5625e-5 kg². The error of ln(ratio):
    √(2.03125e-5/.13125² + 1.5625e-5/.12²) = .047584.
    """
    means = means_of(loads, loads.film_mass, "film mass")
    assert np.diag(means.covariance) == pytest.approx([1.5625e-5, 2.03125e-5])
    assert means.log_ratio_error == pytest.approx(0.047584, abs=1e-6)


def test_stretch_by_marks_and_by_mass(loads: LoadTable, case: Case) -> None:
    """Marks 3.4, 3.5, 3.6: mean 3.5, t(.975, 2) = 4.30265 × .1/√3: 3.2516 to 3.7484.

    By mass: 918 × .508 × 16.002e-6 = 7.462437e-3 kg a metre of the roll, so a load of .2 kg has
    26.80090 m of it. Were 93.80315 m wound round it, the film would be 3.5 times as long as on
    the roll; thickness within 5 % and length within 3 % add to √34 = 5.831 %.
    """
    prediction = replace(predict(case), film_length_m=93.80315, turns=20.0)
    marked = replace(
        loads,
        marks_stretch=np.array([3.4, 3.5, 3.6, *[np.nan] * 5]),
        film_mass=np.array([0.2, 0.2, 0.2, *[np.nan] * 5]),
        load_type=np.zeros(8, int),
        turns=np.array([20.0, np.nan, 20.0, *[np.nan] * 5]),
    )
    found, _ = treatment_stretches(marked, {(0, 0): Expected(case, prediction)})
    assert (found.by_marks, found.marks_loads) == (pytest.approx(3.5), 3)
    assert found.by_marks_interval is not None
    ends = (found.by_marks_interval.low, found.by_marks_interval.high)
    assert ends == pytest.approx((3.2516, 3.7484), abs=5e-5)
    assert (found.by_mass, found.mass_loads) == (pytest.approx(3.5, rel=1e-6), 3)
    assert found.tolerance == pytest.approx(0.05831, abs=5e-6)
    # Mean of ln(3.5/3.4), 0 and ln(3.5/3.6): (.0289875 - .0281709)/3 = .000272.
    assert found.disagreement == pytest.approx(0.000272, abs=5e-7)
    assert found.agree
    assert found.prestretch_set == pytest.approx(3.6)
    # Half the turns lay half the film: on twice the mass a quarter of the stretch.
    fewer = replace(marked, turns=np.full(8, 10.0), film_mass=2 * marked.film_mass)
    found, _ = treatment_stretches(fewer, {(0, 0): Expected(case, prediction)})
    assert found.by_mass == pytest.approx(0.875, rel=1e-6)
    # As much film as would make 3.5 lies on .2/.92 kg: 8 % less than all the marks say.
    less = replace(
        marked,
        marks_stretch=np.where(np.isnan(marked.marks_stretch), np.nan, 3.5),
        film_mass=marked.film_mass / 0.92,
    )
    found, _ = treatment_stretches(less, {(0, 0): Expected(case, prediction)})
    assert found.agree is False
    assert found.disagreement == pytest.approx(-0.08, rel=1e-5)
    assert found.finding.startswith("By mass balance the film is stretched 8.0 % less than")
    more = replace(less, film_mass=marked.film_mass / 1.08)
    found, _ = treatment_stretches(more, {(0, 0): Expected(case, prediction)})
    assert found.finding.startswith("By mass balance the film is stretched 8.0 % more than")


def test_tolerance_of_a_film_whose_thickness_is_known(table: dict[str, Any]) -> None:
    """15.68 to 16.32 um are 2 % of 16 um either way; with 3 % of length √13 = 3.6056 %."""
    thickness = {"value": "16 um", "origin": "measured", "low": "15.68 um", "high": "16.32 um"}
    table["film"]["thickness"] = thickness
    found = mass_balance_tolerance([case_from_table(table)])
    assert found == pytest.approx(0.036056, abs=1e-6)


def test_how_far_a_trial_has_come(loads: LoadTable) -> None:
    """Twelve loads planned, looked at after 6 and 12; eight are weighed, 6 of 24 zones not read.

    The first look is reached, the next is at 12.
    """
    zones = np.full((8, 3), 30.0)
    zones[:2] = np.nan
    begun = replace(loads, zones=zones, numbers=tuple("12345678"))
    found, limits, reached = progress_of(begun, Looks(number=2), PlanState(12, frozenset()))
    assert (found.loads_weighed, found.loads_planned) == (8, 12)
    assert [(each.number, each.loads, each.share) for each in found.looks] == [
        (1, 6, 0.5),
        (2, 12, 1.0),
    ]
    assert (found.look, found.next_look_loads, found.is_filled) == (1, 12, False)
    assert found.pulls_missing == pytest.approx(0.25)
    assert [int(mask.sum()) for mask in reached] == [6]
    # Both limits together spend 2.5 % on either side.
    assert [each.limit for each in found.looks] == list(limits.limits)
    assert limits.limits[0] > limits.limits[1] > 1.96
    told = block_texts(progress_blocks(found, Wording("si")))
    for words in ("8 of 12 planned loads", "at load 12", "25 % of the loads, in a zone"):
        assert words in told


@pytest.mark.parametrize(("freedom", "quantile"), [(10, 1.81246), (3, 2.35336), (1, 2.35336)])
def test_range_of_a_single_load(loads: LoadTable, freedom: int, quantile: float) -> None:
    """Loads spread by .03, and the mean is off by .01 times a misfit of 4: √(.0009 + .0016) = .05.

    Of 90 % one in twenty lies above: Student's t .95 in a table, of 3 degrees of freedom at least.
    """
    mean = Average(
        MASS, 0, freedom + 1, math.log(0.21), 0.01, load_spread=0.03, spread_freedom=freedom
    )
    found = fitted_reading(mean, loads, (math.log(0.22), math.log(0.2)), misfit=4.0)
    assert (found.before, found.after) == pytest.approx((0.22, 0.2))
    assert math.log(found.load_high / 0.2) == pytest.approx(0.05 * quantile, abs=1e-6)
    assert math.log(0.2 / found.load_low) == pytest.approx(0.05 * quantile, abs=1e-6)


@pytest.mark.parametrize("filled", [True, False])
def test_interval_of_before_and_after(filled: bool) -> None:
    """-.06 with an error of .02 by 4 waves: t .975 of 2.77645 in a table, .055529 either way.

    e^-.115529 = .890895, e^-.004471 = .995539: less film, once the plan is filled.
    """
    found = _judged(LogRatio(-0.06, 0.02, 4.0), filled)
    assert found.interval.low == pytest.approx(0.890895, abs=2e-6)
    assert found.interval.high == pytest.approx(0.995539, abs=2e-6)
    assert (found.is_less, found.is_more) == (filled, False)
    # .05 is less than that reach: nothing is shown.
    assert not _judged(LogRatio(-0.05, 0.02, 4.0), True).is_less


@pytest.mark.parametrize(("errors", "is_lower"), [(2.3, False), (2.6, True)])
def test_a_zone_of_three_is_called_lower_only_beyond_what_three_may_show(
    loads: LoadTable, monkeypatch: pytest.MonkeyPatch, errors: float, is_lower: bool
) -> None:
    """Before and after with 30 degrees of freedom: t(1 - .025/3) = 2.54 by Bonferroni, not 2.04.

    Bonferroni's t for three comparisons: Miller, Simultaneous Statistical Inference, 2nd ed.
    (1981), table II (from memory): 2.54 at 30 degrees of freedom, 5 % on both sides.
    """
    table = replace(loads, zones=np.full((8, 3), 100.0), zone_names=("low", "middle", "high"))
    monkeypatch.setattr(before_after, "block_series", lambda *_: None)
    monkeypatch.setattr(
        before_after, "step_at_change", lambda _: LogRatio(-0.01 * errors, 0.01, 30.0)
    )
    rows, _ = before_after._zones(table, 0.05, is_filled=True)
    assert [each.is_lower for each in rows] == [is_lower] * 3
