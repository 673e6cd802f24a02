"""Properties of the statistics that hold for any trial."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from woold.errors import InputError
from woold.trial.gauge import gauge_study
from woold.trial.ratio import fieller_interval, log_ratio_interval
from woold.trial.treatment_means import treatment_means

seeds = st.integers(0, 2**32 - 1)


def trial(seed: int):  # type: ignore[no-untyped-def]
    """Loads of one to three types in one to four blocks, both treatments in each type."""
    rng = np.random.default_rng(seed)
    types, blocks = int(rng.integers(1, 4)), int(rng.integers(1, 5))
    n = int(rng.integers(6 * types, 12 * types + 20))
    kind = np.concatenate([np.repeat(np.arange(types), 4), rng.integers(0, types, n - 4 * types)])
    treatment = np.concatenate([np.tile([0, 0, 1, 1], types), rng.integers(0, 2, n - 4 * types)])
    values = np.exp(rng.normal(0, 0.2, types)[kind] - 0.1 * treatment + rng.normal(0, 0.05, n))
    return values, treatment, kind, rng.integers(0, blocks, n), rng.uniform(0.5, 3, types)


@given(seeds, st.floats(0.01, 100))
def test_the_unit_does_not_matter(seed: int, factor: float) -> None:
    values, *rest = trial(seed)
    first, second = treatment_means(values, *rest), treatment_means(values * factor, *rest)
    assert second.baseline == pytest.approx(factor * first.baseline)
    a, b = first.fieller(), second.fieller()
    assert (b.ratio, b.low, b.high) == pytest.approx((a.ratio, a.low, a.high))


@given(seeds)
def test_swapped_names_give_the_inverse(seed: int) -> None:
    values, treatment, *rest = trial(seed)
    first, second = (
        treatment_means(values, treatment, *rest),
        treatment_means(values, 1 - treatment, *rest),
    )
    a, b = first.log_interval(), second.log_interval()
    assert (b.ratio, b.low, b.high) == pytest.approx((1 / a.ratio, 1 / a.high, 1 / a.low))


@given(seeds)
def test_order_of_loads_does_not_matter(seed: int) -> None:
    values, treatment, kind, block, mix = trial(seed)
    mixed = np.random.default_rng(seed).permutation(values.size)
    first = treatment_means(values, treatment, kind, block, mix)
    second = treatment_means(values[mixed], treatment[mixed], kind[mixed], block[mixed], mix)
    assert second.ratio == pytest.approx(first.ratio)
    np.testing.assert_allclose(second.covariance, first.covariance, rtol=1e-6, atol=1e-18)


@given(seeds)
def test_the_ratio_lies_in_its_intervals(seed: int) -> None:
    means = treatment_means(*trial(seed))
    for found in (means.fieller(), means.log_interval()):
        assert found.low <= found.ratio <= found.high
    assert 1 <= means.degrees_of_freedom() <= means.load.size


@given(st.floats(0.1, 10), st.floats(0.1, 10), st.floats(1e-4, 0.05), st.floats(1e-4, 0.05), seeds)
def test_fieller_and_log_ratio_agree_where_errors_are_small(
    numerator: float, denominator: float, error_a: float, error_b: float, seed: int
) -> None:
    correlation = np.random.default_rng(seed).uniform(-0.9, 0.9)
    a, b = error_a * numerator, error_b * denominator
    covariance = np.array([[a * a, correlation * a * b], [correlation * a * b, b * b]])
    first = fieller_interval(numerator, denominator, covariance, 30)
    second = log_ratio_interval(numerator, denominator, covariance, 30)
    width = second.high / second.low - 1
    # They differ by the square of the relative error.
    assert first.low == pytest.approx(second.low, rel=width**2 + 1e-6)
    assert first.high == pytest.approx(second.high, rel=width**2 + 1e-6)


@given(seeds, st.floats(0.1, 10), st.floats(-100, 100))
def test_gauge_study_follows_its_unit(seed: int, factor: float, offset: float) -> None:
    rng = np.random.default_rng(seed)
    shape = tuple(int(n) for n in rng.integers(2, 5, 3))
    readings = rng.normal(size=(shape[0], 1, 1)) + 0.3 * rng.normal(size=shape)
    first, second = gauge_study(readings), gauge_study(factor * readings + offset)
    assert second.pooled == first.pooled
    for a, b in zip(first.components, second.components, strict=True):
        assert b.sd == pytest.approx(factor * a.sd, rel=1e-6, abs=1e-9)
        assert 0 <= b.study_share <= 1 + 1e-12
    shares = {each.name: each.variance_share for each in first.components}
    assert shares["gauge"] + shares["part"] == pytest.approx(1)


@given(st.lists(st.floats(allow_nan=True, allow_infinity=True), min_size=2, max_size=12), seeds)
def test_whatever_is_typed_ends_in_numbers_or_one_clear_refusal(
    values: list[float], seed: int
) -> None:
    rng = np.random.default_rng(seed)
    treatment, kind = rng.integers(0, 2, len(values)), rng.integers(0, 2, len(values))
    try:
        means = treatment_means(values, treatment, kind)
    except InputError:
        return
    assert math.isfinite(means.ratio)
    assert math.isfinite(means.log_ratio_error)
