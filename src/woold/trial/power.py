"""What a number of loads can see: power of t tests on a ratio, and the spread to plan on."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from woold.errors import InputError
from woold.trial.ratio import student_quantile
from woold.words import say

__all__ = ["cv_upper_limit", "log_sd", "noncentral_tail", "noninferiority_power", "t_power"]


def log_sd(cv: float) -> float:
    """Standard deviation of ln x for a lognormal x of that coefficient of variation.

    s = sqrt(ln(1 + CV^2))
    """
    return math.sqrt(math.log1p(cv**2))


def noncentral_tail(limit: float, df: float, shift: float) -> float:
    """Probability that a noncentral t lies above a limit."""
    from scipy import special

    value = 1.0 - float(special.nctdtr(df, shift, limit))
    return min(max(value, 0.0), 1.0) if math.isfinite(value) else float(shift > limit)


def t_power(shift: float, df: float, alpha: float, sides: int = 1) -> float:
    """Power of a t test whose statistic is centred at ``shift``."""
    limit = student_quantile(1 - alpha / sides, df)
    power = noncentral_tail(limit, df, shift)
    if sides == 2:
        power += noncentral_tail(limit, df, -shift)
    return min(power, 1.0)


def noninferiority_power(
    ratio: float, margin: float, standard_error: float, df: float, alpha: float = 0.025
) -> float:
    """Power to show that a ratio lies above 1 - margin.

    Args:
        ratio: true ratio candidate/baseline.
        margin: largest share that may be lost.
        standard_error: of ln ratio.
        df: its degrees of freedom.
        alpha: size of the one-sided test.

    Source: exact noncentral-t form; K. F. Phillips, J. Pharmacokinet. Biopharm. 18 (1990) 137.
    """
    shift = (math.log(ratio) - math.log1p(-margin)) / standard_error
    return t_power(shift, df, alpha) if shift > 0 else alpha


def cv_upper_limit(values: ArrayLike, confidence: float = 0.8) -> tuple[float, float]:
    """Coefficient of variation of a pilot, and the upper limit that a plan should use.

    CV_upper = CV sqrt((n - 1)/chi2_(1 - confidence, n - 1))

    Args:
        values: pilot values of one load type and treatment, shape (n,), n >= 2.
        confidence: one-sided confidence of the limit.

    Returns:
        The estimate and its upper limit.

    Source: R. H. Browne, Statistics in Medicine 14 (1995) 1933 (plan with an upper limit).
    """
    from scipy import special

    pilot = np.asarray(values, dtype=float)
    if pilot.size < 2 or (pilot <= 0).any():
        raise InputError.one(
            "pilot",
            say("values: {size}", size=pilot.size),
            say("at least 2 positive values"),
            say("Weigh more loads."),
        )
    freedom = pilot.size - 1
    cv = float(np.std(pilot, ddof=1) / np.mean(pilot))
    return cv, cv * math.sqrt(freedom / float(special.chdtri(freedom, confidence)))
