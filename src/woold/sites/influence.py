"""What single sites do to the average, and whether small trials tell another story."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.sites.between_sites import Array, Estimator
from woold.sites.next_site import Convention
from woold.sites.pooling import pool
from woold.sites.random_effects import fit_random_effects

__all__ = ["Influence", "SmallTrialLook", "influence_of_each", "small_trial_look"]

_QUICK: Convention = "hartung-knapp-t(k-1)"
LEAST_SITES_FOR_SMALL_TRIAL_LOOK = 10  # common practice: with fewer the test sees nothing


@dataclass(frozen=True, slots=True)
class Influence:
    """What one site does to the average.

    Args:
        weight: its share of the weights of the average.
        mean_without, low_without, high_without: the average of the others.
        tau2_without: the spread between the others.
        deleted_residual: its distance from the average of the others in standard errors of that
            distance; beyond about ±2 it does not look like one of them.
        changes_verdict: without it the interval of the average gains or loses zero.
    """

    weight: float
    mean_without: float
    low_without: float
    high_without: float
    tau2_without: float
    deleted_residual: float
    changes_verdict: bool


@dataclass(frozen=True, slots=True)
class SmallTrialLook:
    """Whether effects grow with the standard error, as they do when small trials with
    disappointing results are not reported.

    Args:
        slope: of the effect on the standard error.
        p_value: two-sided, of a slope of zero.
        limit: effect that a very large trial would show by this line.
        limit_low, limit_high: its interval.
        enough_sites: fewer than ten sites cannot tell.
    """

    slope: float
    p_value: float
    limit: float
    limit_low: float
    limit_high: float
    enough_sites: bool


def influence_of_each(
    effects: Array,
    standard_errors: Array,
    estimator: Estimator = "REML",
    confidence: float = 0.95,
) -> list[Influence]:
    """The average without each site in turn; empty with two sites, as one is left.

    Source: Viechtbauer & Cheung, Research Synthesis Methods 1 (2010) 112.
    """
    effects = np.asarray(effects, float)
    standard_errors = np.asarray(standard_errors, float)
    # No prediction is looked at here: the convention that costs least will do.
    whole = pool(effects, standard_errors, estimator, _QUICK, confidence)
    if effects.size < 3:
        return []
    weights = 1.0 / (standard_errors**2 + whole.tau2)
    shows_saving = whole.low > 0.0
    found = []
    for index in range(effects.size):
        others = np.arange(effects.size) != index
        rest = pool(effects[others], standard_errors[others], estimator, _QUICK, confidence)
        distance = effects[index] - rest.mean
        spread = math.sqrt(standard_errors[index] ** 2 + rest.tau2 + rest.plain_standard_error**2)
        found.append(
            Influence(
                weight=float(weights[index] / weights.sum()),
                mean_without=rest.mean,
                low_without=rest.low,
                high_without=rest.high,
                tau2_without=rest.tau2,
                deleted_residual=float(distance / spread),
                changes_verdict=(rest.low > 0.0) != shows_saving,
            )
        )
    return found


def small_trial_look(
    effects: Array,
    standard_errors: Array,
    estimator: Estimator = "REML",
    confidence: float = 0.95,
) -> SmallTrialLook | None:
    """Regression of the effect on its standard error; None where it cannot be drawn.

    Source: Egger et al., BMJ 315 (1997) 629, in its random-effects form; Sterne et al., BMJ 343
        (2011) d4002 (not with fewer than ten trials).
    """
    from scipy.stats import t

    standard_errors = np.asarray(standard_errors, float)
    if standard_errors.size < 3 or np.ptp(standard_errors) < 1e-9 * standard_errors.max():
        return None
    design = np.column_stack([np.ones(standard_errors.size), standard_errors])
    fit = fit_random_effects(effects, standard_errors, design, estimator)
    error = np.sqrt(np.diag(fit.covariance))
    reach = float(t.isf((1.0 - confidence) / 2.0, fit.degrees_of_freedom)) * error[0]
    limit = float(fit.coefficients[0])
    ratio = abs(float(fit.coefficients[1] / error[1]))
    return SmallTrialLook(
        slope=float(fit.coefficients[1]),
        p_value=2.0 * float(t.sf(ratio, fit.degrees_of_freedom)),
        limit=limit,
        limit_low=float(limit - reach),
        limit_high=float(limit + reach),
        enough_sites=standard_errors.size >= LEAST_SITES_FOR_SMALL_TRIAL_LOOK,
    )
