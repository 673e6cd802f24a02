"""What a further site is expected to save, and how many sites save a given amount."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from woold.errors import InputError
from woold.sites.between_sites import Array, weighted_least_squares
from woold.sites.random_effects import RandomEffectsFit
from woold.words import say

__all__ = ["Convention", "ShareOfSites", "plausible_sites", "prediction_interval", "share_of"]

Convention = Literal[
    "spread-uncertain", "hartung-knapp-t(k-1)", "higgins-thompson-spiegelhalter-t(k-2)"
]


def plausible_sites(
    effects: Array,
    standard_errors: Array,
    draws: int = 20_000,
    seed: int = 1,
) -> tuple[Array, Array]:
    """Pairs of mean and spread between sites that the data leave plausible.

    The spread follows from Q(tau²) = a draw of chi²(k - 1), 0 where no tau² >= 0 gives it; the mean
    is the weighted average at that spread less t(k - 1) times its Hartung-Knapp error. The pairs
    carry the uncertainty of the spread, which an interval around one estimate of it leaves out.

    Args:
        effects: [-], shape (sites,).
        standard_errors: [-], shape (sites,), above 0.
        draws: how many pairs.
        seed: of the random numbers.

    Returns:
        means, spreads tau (not squared), each of shape (draws,).

    Source: Iyer, Wang & Mathew, J. Am. Statist. Assoc. 99 (2004) 1060 (generalised pivots);
        Nagashima, Noma & Furukawa, Stat. Methods Med. Res. 28 (2019) 1689 (confidence distribution
        of the spread in a prediction interval).
    """
    effects = np.asarray(effects, float)
    variances = np.asarray(standard_errors, float) ** 2
    freedom = effects.size - 1
    rng = np.random.default_rng(seed)
    wanted = rng.chisquare(freedom, draws)
    students = rng.standard_t(freedom, draws)
    # Q falls with tau²: tabulated once, then read backwards.
    scale = float(variances.mean() + effects.var())
    grid = np.concatenate([[0.0], scale * np.geomspace(1e-6, 1e8, 1500)])
    weights = 1.0 / (variances + grid[:, None])
    means, _, residuals = weighted_least_squares(effects, weights, np.ones((effects.size, 1)))
    q = (weights * residuals**2).sum(-1)
    errors = np.sqrt(np.maximum(q / freedom, 1.0) / weights.sum(-1))
    tau2 = np.interp(wanted, q[::-1], grid[::-1])
    mean = np.interp(tau2, grid, means[:, 0]) - students * np.interp(tau2, grid, errors)
    return mean, np.sqrt(tau2)


def prediction_interval(
    effects: Array,
    standard_errors: Array,
    fit: RandomEffectsFit,
    convention: Convention = "spread-uncertain",
    confidence: float = 0.95,
) -> tuple[float, float]:
    """Where the true effect of one further site is expected.

    Three conventions, which differ: ``"hartung-knapp-t(k-1)"``: mean ± t(k-1) sqrt(tau² + se_HK²);
    ``"higgins-thompson-spiegelhalter-t(k-2)"``: mean ± t(k-2) sqrt(tau² + se²) with the plain
    standard error, which needs three sites; ``"spread-uncertain"``: quantiles over
    :func:`plausible_sites`, which keeps its coverage when tau² is estimated as 0 by luck.

    Args:
        effects, standard_errors: of the sites, shape (sites,).
        fit: of a design with ones only.
        convention: which one.
        confidence: of the interval.

    Raises:
        InputError: two sites with t(k-2).

    Source: Partlett & Riley, Statistics in Medicine 36 (2017) 301; Higgins, Thompson &
        Spiegelhalter, J. R. Statist. Soc. A 172 (2009) 137; :func:`plausible_sites`.
    """
    from scipy.stats import t

    tail = (1.0 - confidence) / 2.0
    if convention == "spread-uncertain":
        means, spreads = plausible_sites(effects, standard_errors)
        following = means + spreads * np.random.default_rng(2).standard_normal(means.size)
        low, high = np.quantile(following, [tail, 1.0 - tail])
        return float(low), float(high)
    freedom, variance = fit.degrees_of_freedom, fit.covariance[0, 0]
    if convention == "higgins-thompson-spiegelhalter-t(k-2)":
        freedom, variance = freedom - 1, fit.plain_covariance[0, 0]
    if freedom < 1:
        raise InputError.one(
            "sites", freedom + 2, say("at least 3 for t(k-2)"), say("Take another convention.")
        )
    mean = float(fit.coefficients[0])
    reach = float(t.isf(tail, freedom)) * math.sqrt(fit.tau2 + float(variance))
    return mean - reach, mean + reach


@dataclass(frozen=True, slots=True)
class ShareOfSites:
    """Share of all sites that truly save so much or more: expected, and its interval."""

    expected: float
    low: float
    high: float


def share_of(
    plausible: tuple[Array, Array], least_effect: float, confidence: float = 0.95
) -> ShareOfSites:
    """Share of all sites whose true effect is at least ``least_effect``, with its interval.

    share = Phi((mean - least_effect)/tau), sites taken as normally spread.

    Args:
        plausible: means and spreads of :func:`plausible_sites`.
        least_effect: [-].
        confidence: of the interval.

    Source: Mathur & VanderWeele, Statistics in Medicine 38 (2019) 1336 (the share).
    """
    from scipy.special import ndtr

    means, spreads = plausible
    floor = 1e-12 * (float(np.abs(means).max()) + abs(least_effect) + 1e-300)
    shares = ndtr((means - least_effect) / np.maximum(spreads, floor))
    tail = (1.0 - confidence) / 2.0
    low, high = np.quantile(shares, [tail, 1.0 - tail])
    return ShareOfSites(float(shares.mean()), float(low), float(high))
