"""What a number of loads can see: power of t tests on a ratio, and the loads that a trial needs."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from woold.errors import InputError
from woold.trial.ratio import student_quantile
from woold.words import say

__all__ = [
    "Design",
    "cv_upper_limit",
    "difference_power",
    "loads_needed",
    "log_sd",
    "noninferiority_power",
    "smallest_effect",
]

Design = Literal["two arms", "pairs"]

_MOST_LOADS = 1e7


def log_sd(cv: float) -> float:
    """Standard deviation of ln x for a lognormal x of that coefficient of variation.

    s = sqrt(ln(1 + CV^2))
    """
    return math.sqrt(math.log1p(cv**2))


def _error_and_df(sd: float, loads: float, design: Design) -> tuple[float, float]:
    """Standard error of the difference (or of the mean difference of pairs) and its freedom."""
    if design == "two arms":
        return sd * math.sqrt(2 / loads), 2 * (loads - 1)
    return sd / math.sqrt(loads), loads - 1


def _beyond(limit: float, df: float, shift: float) -> float:
    """Probability that a noncentral t lies above a limit."""
    from scipy import special

    value = 1.0 - float(special.nctdtr(df, shift, limit))
    return min(max(value, 0.0), 1.0) if math.isfinite(value) else float(shift > limit)


def difference_power(
    effect: float,
    sd: float,
    loads: float,
    alpha: float = 0.05,
    sides: int = 2,
    design: Design = "two arms",
) -> float:
    """Power of a t test for a difference of means, exact by the noncentral t.

    Args:
        effect: true difference, in the unit of ``sd``.
        sd: standard deviation of one load, or of one pair's difference.
        loads: loads in each arm, or pairs; need not be whole.
        alpha: size of the test.
        sides: 1 or 2.
        design: "two arms" or "pairs".
    """
    error, df = _error_and_df(sd, loads, design)
    return t_power(abs(effect) / error, df, alpha, sides)


def t_power(shift: float, df: float, alpha: float, sides: int = 1) -> float:
    """Power of a t test whose statistic is centred at ``shift``."""
    limit = student_quantile(1 - alpha / sides, df)
    power = _beyond(limit, df, shift)
    if sides == 2:
        power += _beyond(limit, df, -shift)
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


def loads_needed(
    effect: float,
    sd: float,
    power: float = 0.8,
    alpha: float = 0.05,
    sides: int = 2,
    design: Design = "two arms",
) -> float:
    """Loads in each arm (or pairs) that give the power, before rounding up.

    Raises:
        InputError: more loads than any trial can wrap.
    """
    from scipy.optimize import brentq

    def short_of(loads: float) -> float:
        return difference_power(effect, sd, loads, alpha, sides, design) - power

    low, high = 2.0, 4.0
    if short_of(low) >= 0:
        return low
    while short_of(high) < 0:
        low, high = high, high * 2
        if high > _MOST_LOADS:
            raise InputError.one(
                "saving",
                say("an effect of {effect:g} against a spread of {sd:g}", effect=effect, sd=sd),
                say("an effect that fewer than ten million loads can show"),
                say("Ask for a larger saving, or lessen the spread."),
            )
    return float(brentq(short_of, low, high, xtol=1e-6))


def smallest_effect(
    sd: float,
    loads: float,
    power: float = 0.8,
    alpha: float = 0.05,
    sides: int = 2,
    design: Design = "two arms",
) -> float:
    """Smallest true difference that the loads show with the power, in the unit of ``sd``."""
    from scipy.optimize import brentq

    def short_of(effect: float) -> float:
        return difference_power(effect, sd, loads, alpha, sides, design) - power

    high = sd
    while short_of(high) < 0:
        high *= 2
    return float(brentq(short_of, 0.0, high, xtol=1e-9 * sd))


def cv_upper_limit(values: ArrayLike, confidence: float = 0.8) -> tuple[float, float]:
    """Coefficient of variation of a pilot, and the upper limit that a plan should use.

    CV_upper = CV sqrt((n - 1)/chi2_(1 - confidence, n - 1))

    Args:
        values: pilot values of one load type and arm, shape (n,), n >= 2.
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
            say("{size} values", size=pilot.size),
            say("at least 2 positive values"),
            say("Weigh more loads."),
        )
    freedom = pilot.size - 1
    cv = float(np.std(pilot, ddof=1) / np.mean(pilot))
    return cv, cv * math.sqrt(freedom / float(special.chdtri(freedom, confidence)))
