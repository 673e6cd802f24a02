"""Random draws: a beta distribution's moments, and correlations that were asked for."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta

from woold.uncertainty.draws import Unknown, draw_unknowns

UNKNOWNS = [
    Unknown("middle", 2.0, 1.0, 3.0),
    Unknown("low end", 1.0, 1.0, 3.0),
    Unknown("high end", 3.0, 1.0, 3.0),
    Unknown("known", 5.0, 5.0, 5.0),
]


def test_draws_are_beta_distributed() -> None:
    drawn = draw_unknowns(UNKNOWNS, 200_000, np.random.default_rng(1))
    for each in UNKNOWNS[:3]:
        guess = (each.value - each.low) / 2.0
        shape = beta(1.0 + 4.0 * guess, 5.0 - 4.0 * guess, each.low, 2.0)
        values = drawn[each.name]
        # Standard errors of 200,000 draws are about 0.001.
        assert values.mean() == pytest.approx(shape.mean(), abs=0.005)
        assert values.std() == pytest.approx(shape.std(), abs=0.005)
        for share in (0.05, 0.5, 0.95):
            assert np.quantile(values, share) == pytest.approx(shape.ppf(share), abs=0.01)
        assert each.low <= values.min()
        assert values.max() <= each.high
    assert np.all(drawn["known"] == 5.0)


@pytest.mark.parametrize("asked", [-0.8, 0.0, 0.5, 1.0])
def test_correlation_of_the_scores(asked: float) -> None:
    drawn = draw_unknowns(
        UNKNOWNS, 100_000, np.random.default_rng(2), {("middle", "low end"): asked}
    )
    # Rank correlation of a Gaussian copula.
    expected = 6 / np.pi * np.arcsin(asked / 2)
    ranks = [np.argsort(np.argsort(drawn[name])) for name in ("middle", "low end")]
    assert np.corrcoef(*ranks)[0, 1] == pytest.approx(expected, abs=0.012)
    independent = np.corrcoef(drawn["middle"], drawn["high end"])[0, 1]
    assert independent == pytest.approx(0.0, abs=0.012)


def test_nothing_unknown() -> None:
    assert draw_unknowns([], 10, np.random.default_rng(1)) == {}
