"""Intervals for a ratio of two estimates, from the estimates and their covariance."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.words import say

__all__ = ["RatioInterval", "fieller_interval", "log_ratio_interval", "noninferiority_p"]


@dataclass(frozen=True, slots=True)
class RatioInterval:
    """A ratio with its interval.

    Args:
        ratio: the estimate.
        low: lower limit; minus infinity where no bounded interval exists.
        high: upper limit; infinity where no bounded interval exists.
        level: confidence level, such as 0.95.
        df: degrees of freedom that the interval used.
        method: how it was found, in words.
    """

    ratio: float
    low: float
    high: float
    level: float
    df: float
    method: str


def student_quantile(probability: float, df: float) -> float:
    """Quantile of Student's t; the normal quantile for infinite ``df``."""
    from scipy import special

    if math.isinf(df):
        return float(special.ndtri(probability))
    return float(special.stdtrit(df, probability))


def student_tail(statistic: float, df: float) -> float:
    """Probability that Student's t lies above ``statistic``."""
    from scipy import special

    if math.isinf(df):
        return float(special.ndtr(-statistic))
    return float(special.stdtr(df, -statistic))


def fieller_interval(
    numerator: float,
    denominator: float,
    covariance: np.ndarray,
    df: float,
    level: float = 0.95,
) -> RatioInterval:
    """TrialInterval for a ratio of two normal estimates by Fieller's theorem.

    All R with (a - R b)^2 <= t^2 (v_aa - 2 R v_ab + R^2 v_bb); bounded only where the denominator
    differs from 0 at the same level.

    Args:
        numerator: estimate a.
        denominator: estimate b, not 0.
        covariance: covariance of (a, b), shape (2, 2).
        df: degrees of freedom of the covariance; infinite for the normal quantile.
        level: confidence level.

    Returns:
        The interval; (-inf, inf) where the theorem gives no bounded one.

    Source: E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175.
    """
    quantile_sq = student_quantile(0.5 + level / 2, df) ** 2
    (v_aa, v_ab), (_, v_bb) = np.asarray(covariance, dtype=float).tolist()
    ratio = numerator / denominator
    # Roots of (b^2 - t^2 v_bb) R^2 - 2 (a b - t^2 v_ab) R + (a^2 - t^2 v_aa).
    second = denominator**2 - quantile_sq * v_bb
    first = numerator * denominator - quantile_sq * v_ab
    discriminant = first**2 - second * (numerator**2 - quantile_sq * v_aa)
    if second <= 0:
        low, high = -math.inf, math.inf
    else:
        half = math.sqrt(max(discriminant, 0.0))
        low, high = (first - half) / second, (first + half) / second
    return RatioInterval(ratio, low, high, level, df, say("Fieller"))


def log_ratio_interval(
    numerator: float,
    denominator: float,
    covariance: np.ndarray,
    df: float,
    level: float = 0.95,
) -> RatioInterval:
    """TrialInterval for a ratio of two positive estimates on the log scale.

    var(ln a/b) = v_aa/a^2 - 2 v_ab/(a b) + v_bb/b^2

    Args:
        numerator: estimate a > 0.
        denominator: estimate b > 0.
        covariance: covariance of (a, b), shape (2, 2).
        df: degrees of freedom of the covariance.
        level: confidence level.

    Source: D. G. Bonett, R. M. Price, J. Educ. Behav. Stat. 45 (2020) 750.
    """
    gradient = np.array([1 / numerator, -1 / denominator])
    error = math.sqrt(max(float(gradient @ covariance @ gradient), 0.0))
    ratio = numerator / denominator
    factor = math.exp(student_quantile(0.5 + level / 2, df) * error)
    return RatioInterval(ratio, ratio / factor, ratio * factor, level, df, say("log ratio"))


def noninferiority_p(log_ratio: float, standard_error: float, df: float, margin: float) -> float:
    """One-sided p value against "the ratio lies at or below 1 - margin".

    t = (ln ratio - ln(1 - margin)) / se

    Args:
        log_ratio: estimate of ln(candidate/baseline).
        standard_error: its standard error, > 0.
        df: degrees of freedom of the standard error.
        margin: largest share of the baseline that may be lost, between 0 and 1.

    Source: D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657 (one of its two tests).
    """
    return student_tail((log_ratio - math.log1p(-margin)) / standard_error, df)
