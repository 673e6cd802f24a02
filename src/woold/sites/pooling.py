"""The average over sites, the spread between them and the next site, all at once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.sites.between_sites import Array, Estimator, between_site_variance_interval
from woold.sites.next_site import Convention, prediction_interval
from woold.sites.random_effects import fit_random_effects

__all__ = ["Pooled", "pool"]


@dataclass(frozen=True, slots=True)
class Pooled:
    """An average over sites and what surrounds it, on the scale of effects.

    Args:
        estimator: of the variance between sites.
        sites: how many.
        mean, standard_error, low, high: the average with its Hartung-Knapp interval.
        plain_standard_error: as if the spread between sites were known.
        scale: Knapp and Hartung's factor on the variance, as found.
        widened: the factor was under 1 and 1 was used in its place.
        tau2, tau2_low, tau2_high: variance between sites with its Q-profile interval.
        q, q_p_value: Cochran's Q and the chance of so much spread from sites that are all equal.
        i2: share of the total spread that is between sites (from tau2 and the typical variance).
        prediction_low, prediction_high: where the true effect of one further site is expected.
        convention: how the prediction interval was made.
        confidence: of all intervals.
    """

    estimator: Estimator
    sites: int
    mean: float
    standard_error: float
    plain_standard_error: float
    low: float
    high: float
    scale: float
    widened: bool
    tau2: float
    tau2_low: float
    tau2_high: float
    q: float
    q_p_value: float
    i2: float
    prediction_low: float
    prediction_high: float
    convention: Convention
    confidence: float


def pool(
    effects: Array,
    standard_errors: Array,
    estimator: Estimator = "REML",
    convention: Convention = "spread-uncertain",
    confidence: float = 0.95,
) -> Pooled:
    """The average over sites with everything that must be said with it.

    Args:
        effects: [-], shape (sites,).
        standard_errors: [-], shape (sites,), above 0.
        estimator: of the variance between sites.
        convention: of the prediction interval.
        confidence: of all intervals.

    Raises:
        InputError: fewer than two sites, a standard error of 0, a value that is not finite.
    """
    from scipy.stats import chi2, t

    effects = np.asarray(effects, float)
    standard_errors = np.asarray(standard_errors, float)
    design = np.ones((effects.size, 1))
    fit = fit_random_effects(effects, standard_errors, design, estimator)
    variances = standard_errors**2
    low_tau2, high_tau2 = between_site_variance_interval(effects, variances, design, confidence)
    mean = float(fit.coefficients[0])
    error = math.sqrt(float(fit.covariance[0, 0]))
    plain = math.sqrt(float(fit.plain_covariance[0, 0]))
    reach = float(t.isf((1.0 - confidence) / 2.0, fit.degrees_of_freedom)) * error
    weights = 1.0 / variances
    typical = (effects.size - 1) * weights.sum() / (weights.sum() ** 2 - (weights**2).sum())
    prediction = prediction_interval(effects, standard_errors, fit, convention, confidence)
    return Pooled(
        estimator=estimator,
        sites=effects.size,
        mean=mean,
        standard_error=error,
        plain_standard_error=plain,
        low=mean - reach,
        high=mean + reach,
        scale=fit.scale,
        widened=fit.scale_used > fit.scale,
        tau2=fit.tau2,
        tau2_low=low_tau2,
        tau2_high=high_tau2,
        q=fit.q,
        q_p_value=float(chi2.sf(fit.q, fit.degrees_of_freedom)),
        i2=fit.tau2 / (fit.tau2 + float(typical)),
        prediction_low=prediction[0],
        prediction_high=prediction[1],
        convention=convention,
        confidence=confidence,
    )
