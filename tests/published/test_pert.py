"""What a range is taken for: PERT's published mean, and quantiles of a reference library.

Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959) 646-669: the mean of a range with
a likeliest value is (low + 4 likeliest + high)/6 (from memory). The distribution with that mean, of
which the likeliest value is the peak, is the beta distribution of 1 + 4 g and 5 - 4 g.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta, norm

from woold.uncertainty.draws import Unknown, draw_unknowns, values_at_scores
from woold.uncertainty.pert import pert_at_scores, pert_at_shares, pert_shares

GUESSES = (0.0, 0.1, 0.25, 0.4, 0.5, 0.61, 0.75, 0.95, 1.0)


@pytest.mark.parametrize("guess", GUESSES)
def test_values_are_quantiles_of_the_beta_distribution(guess: float) -> None:
    """Straight lines between scores a hundredth apart leave a hundred-thousandth of the range."""
    wanted = beta(1.0 + 4.0 * guess, 5.0 - 4.0 * guess)
    shares = np.linspace(0.0005, 0.9995, 999)
    np.testing.assert_allclose(pert_at_shares(shares, guess), wanted.ppf(shares), atol=1e-5)
    scores = norm.ppf(shares)
    np.testing.assert_allclose(pert_at_scores(scores, guess), wanted.ppf(shares), atol=1e-5)


@pytest.mark.parametrize("guess", GUESSES)
def test_far_ends_are_those_of_the_beta_distribution(guess: float) -> None:
    """At the scores themselves to a ten-millionth; above the middle from what lies beyond."""
    wanted = beta(1.0 + 4.0 * guess, 5.0 - 4.0 * guess)
    scores, shares = pert_shares(guess)
    low = scores < 0.0
    np.testing.assert_allclose(shares[low], wanted.ppf(norm.cdf(scores[low])), atol=1e-7)
    np.testing.assert_allclose(shares[~low], wanted.isf(norm.sf(scores[~low])), atol=1e-7)
    assert np.all(np.diff(shares) >= 0.0)
    # Six standard deviations out.
    low_end, high_end = wanted.ppf(norm.cdf(-6.0)), wanted.isf(norm.sf(6.0))
    ends = pert_at_scores(np.array([-6.0, 6.0]), guess)
    np.testing.assert_allclose(ends, [low_end, high_end], atol=1e-5)


def test_quantiles_by_hand() -> None:
    """Of whole numbers the integral of the density is a polynomial.

    g = 0: 1 - (1 - x)^5, so x = 1 - (1 - p)^(1/5); g = 1: x^5. g = 1/2: x^3 (10 - 15 x + 6 x^2),
    at x = 1/4: (10 - 3.75 + 0.375)/64 = 0.103515625. g = 3/4: 5 x^4 - 4 x^5, at x = 1/2:
    5/16 - 4/32 = 0.1875; g = 1/4 is its mirror image.
    """
    shares = np.array([0.05, 0.5, 0.95])
    # 0.95^0.2 = 0.989794, 0.5^0.2 = 0.870551, 0.05^0.2 = 0.549280.
    np.testing.assert_allclose(
        pert_at_shares(shares, 0.0), [0.010206, 0.129449, 0.450720], atol=1e-5
    )
    np.testing.assert_allclose(
        pert_at_shares(shares, 1.0), [0.549280, 0.870551, 0.989794], atol=1e-5
    )
    found = pert_at_shares(np.array([0.103515625, 0.5, 0.896484375]), 0.5)
    np.testing.assert_allclose(found, [0.25, 0.5, 0.75], atol=1e-5)
    assert pert_at_shares(np.array([0.1875]), 0.75)[0] == pytest.approx(0.5, abs=1e-5)
    assert pert_at_shares(np.array([0.8125]), 0.25)[0] == pytest.approx(0.5, abs=1e-5)


@pytest.mark.parametrize(
    ("low", "likeliest", "high", "mean"),
    # By hand: (2 + 16 + 12)/6, (10 + 40 + 22)/6 and (1 + 24 + 7)/6.
    [(2.0, 4.0, 12.0, 5.0), (10.0, 10.0, 22.0, 12.0), (1.0, 6.0, 7.0, 16.0 / 3.0)],
)
def test_mean_of_draws_is_the_published_one(
    low: float, likeliest: float, high: float, mean: float
) -> None:
    unknown = Unknown("it", likeliest, low, high)
    drawn = draw_unknowns([unknown], 20_000, np.random.default_rng(3))["it"]
    # Spread evenly over the distribution, draws miss its mean by some 20,000^-1.5; lines by 1e-5.
    assert drawn.mean() == pytest.approx(mean, abs=2e-5 * (high - low))
    assert low <= drawn.min()
    assert drawn.max() <= high
    ends = values_at_scores(np.array([-30.0, 30.0]), unknown)
    # 6e-16 lie beyond: its fifth root, 9e-4 of the range, where the likeliest is at the other end.
    assert ends == pytest.approx([low, high], abs=2e-3 * (high - low))
