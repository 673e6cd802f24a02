"""What must hold for any sites and any order of rows."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from woold.rows.wording import Wording
from woold.sites.claim_check import claim_strength, strongest_claims
from woold.sites.claim_words import honest_claim
from woold.sites.influence import influence_of_each
from woold.sites.pooling import pool
from woold.watch.charts import cumulative_sums
from woold.watch.counters import amounts_of_counter
from woold.watch.load_order import order_of_loads

sites = st.lists(
    st.tuples(st.floats(-0.5, 1.5), st.floats(1e-4, 0.5)), min_size=2, max_size=12
).map(lambda rows: (np.array([row[0] for row in rows]), np.array([row[1] for row in rows])))


@settings(max_examples=40)
@given(sites)
def test_pooling_is_finite_and_in_order(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    effects, errors = drawn
    pooled = pool(effects, errors)
    assert effects.min() - 1e-9 <= pooled.mean <= effects.max() + 1e-9
    assert pooled.low < pooled.mean < pooled.high
    assert pooled.tau2 >= 0.0
    assert 0.0 <= pooled.tau2_low <= pooled.tau2_high < np.inf
    assert 0.0 <= pooled.i2 < 1.0
    assert 0.0 <= pooled.q_p_value <= 1.0
    # A further site is never better known than the average.
    assert pooled.prediction_low <= pooled.low + 0.05 * (pooled.high - pooled.low)
    assert pooled.prediction_high >= pooled.high - 0.05 * (pooled.high - pooled.low)
    assert np.isfinite([pooled.prediction_low, pooled.prediction_high]).all()
    best = strongest_claims(effects, errors, pooled)
    assert best.every_site <= best.average + 1e-6
    assert honest_claim(pooled, best, Wording()).sentence.endswith(".")
    if claim_strength(pooled) == "none":
        assert pooled.low <= 0.0


@settings(max_examples=40)
@given(sites, st.floats(0.01, 100.0))
def test_pooling_does_not_depend_on_the_unit(
    drawn: tuple[np.ndarray, np.ndarray], factor: float
) -> None:
    effects, errors = drawn
    one, other = pool(effects, errors), pool(factor * effects, factor * errors)
    scale = factor * (abs(one.mean) + one.standard_error)
    assert other.mean == pytest.approx(factor * one.mean, abs=1e-5 * scale)
    assert other.standard_error == pytest.approx(factor * one.standard_error, rel=1e-4)
    assert other.q == pytest.approx(one.q, rel=1e-6, abs=1e-9)


@settings(max_examples=40)
@given(sites)
def test_weights_are_shares(drawn: tuple[np.ndarray, np.ndarray]) -> None:
    found = influence_of_each(*drawn)
    if found:
        assert sum(each.weight for each in found) == pytest.approx(1.0)


@given(st.permutations(list(range(12))))
def test_rows_in_any_order_come_back_in_order(order: list[int]) -> None:
    """Twelve loads ten minutes apart, written down in any order. A stretch that looks like a clock
    set back is kept as written; otherwise time sorts."""
    seconds = 600.0 * np.array(order, dtype=float)
    found = order_of_loads(seconds, lambda rows: rows.astype(np.uint64))
    assert sorted(found.order.tolist()) == list(range(12))
    if not found.set_back:
        assert np.all(np.diff(seconds[found.order]) > 0)


@given(
    st.lists(st.floats(1.0, 10.0), min_size=3, max_size=40), st.integers(1, 39), st.floats(0, 0.9)
)
def test_counters_never_give_less_than_nothing(
    steps: list[float], reset: int, share: float
) -> None:
    counter = np.cumsum(steps)
    if reset < counter.size:
        counter[reset:] -= counter[reset - 1] + share * steps[reset]
    values = amounts_of_counter(counter).values
    known = values[np.isfinite(values)]
    assert np.all(known > 0.0)
    assert np.all(known <= max(steps) + 1e-6)


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=60), st.floats(0, 2))
def test_sums_are_never_negative(values: list[float], slack: float) -> None:
    upper, lower = cumulative_sums(np.array(values), 0.0, slack)
    assert upper.min() >= 0.0
    assert lower.min() >= 0.0
