"""What explains that sites differ: regression of the effect on few covariates."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from woold.errors import InputError
from woold.sites.between_sites import Array, Estimator, between_site_variance
from woold.sites.random_effects import fit_random_effects
from woold.words import say

__all__ = ["Explanation", "Slope", "explain_one_by_one", "explain_together"]

SITES_PER_COVARIATE = 10  # common practice


@dataclass(frozen=True, slots=True)
class Slope:
    """How the effect changes with one covariate.

    Args:
        covariate: its name.
        slope, low, high: effect per unit of the covariate.
        p_value: two-sided, of a slope of zero (Knapp-Hartung, t).
        adjusted_p_value: Holm's, over all covariates that were looked at.
        at: lowest and highest value seen.
        effect_at: fitted effect at these two, all other covariates at their mean.
    """

    covariate: str
    slope: float
    low: float
    high: float
    p_value: float
    adjusted_p_value: float
    at: tuple[float, float]
    effect_at: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Explanation:
    """A regression of the effect on covariates.

    Args:
        slopes: one per covariate.
        tau2: variance between sites that is left.
        explained: share of the variance between sites that went away; None when there was none.
        too_few: fewer than ten sites for each covariate, so that a large slope is likely chance.
    """

    slopes: tuple[Slope, ...]
    tau2: float
    explained: float | None
    too_few: bool


def _holm(p_values: list[float]) -> list[float]:
    """Holm's step-down adjusted p-values, in the given order."""
    order = sorted(range(len(p_values)), key=p_values.__getitem__)
    adjusted = [0.0] * len(p_values)
    running = 0.0
    for rank, index in enumerate(order):
        running = max(running, min(1.0, (len(p_values) - rank) * p_values[index]))
        adjusted[index] = running
    return adjusted


def explain_together(
    effects: Array,
    standard_errors: Array,
    covariates: Mapping[str, Array],
    estimator: Estimator = "REML",
    confidence: float = 0.95,
) -> Explanation:
    """Effect = intercept + Σ slope_j (covariate_j - its mean), spread between sites left over.

    Args:
        effects: [-], shape (sites,).
        standard_errors: [-], shape (sites,).
        covariates: name -> values, shape (sites,).
        estimator: of the variance between sites.
        confidence: of the slopes' intervals.

    Raises:
        InputError: no covariate, a covariate that never changes, more coefficients than sites.

    Source: Thompson & Higgins, Statistics in Medicine 21 (2002) 1559; Knapp & Hartung (2003).
    """
    from scipy.stats import t

    if not covariates:
        raise InputError.one("covariates", say("none"), say("at least one"), say("Name one."))
    effects = np.asarray(effects, float)
    names = list(covariates)
    values = np.column_stack([np.asarray(covariates[name], float) for name in names])
    for column, name in enumerate(names):
        if np.ptp(values[:, column]) == 0.0:
            raise InputError.one(
                f"covariates.{name}",
                say("{values:g} at every site", values=values[0, column]),
                say("values that differ between sites"),
                say("Leave it out: it cannot explain a difference."),
            )
    # Centred and scaled, so that the matrix stays well behaved whatever the unit.
    centre, spread = values.mean(0), values.std(0)
    design = np.column_stack([np.ones(effects.size), (values - centre) / spread])
    fit = fit_random_effects(effects, standard_errors, design, estimator)
    slopes = fit.coefficients[1:] / spread
    errors = np.sqrt(np.diag(fit.covariance))[1:] / spread
    reach = float(t.isf((1.0 - confidence) / 2.0, fit.degrees_of_freedom)) * errors
    p_values = [float(2.0 * t.sf(abs(ratio), fit.degrees_of_freedom)) for ratio in slopes / errors]
    adjusted = _holm(p_values)
    before = float(
        between_site_variance(
            effects, np.asarray(standard_errors) ** 2, np.ones((effects.size, 1)), estimator
        )
    )
    found = []
    for column, name in enumerate(names):
        ends = (float(values[:, column].min()), float(values[:, column].max()))
        fitted = [
            float(fit.coefficients[0] + slopes[column] * (end - centre[column])) for end in ends
        ]
        found.append(
            Slope(
                covariate=name,
                slope=float(slopes[column]),
                low=float(slopes[column] - reach[column]),
                high=float(slopes[column] + reach[column]),
                p_value=p_values[column],
                adjusted_p_value=adjusted[column],
                at=ends,
                effect_at=(fitted[0], fitted[1]),
            )
        )
    return Explanation(
        slopes=tuple(found),
        tau2=fit.tau2,
        explained=max(0.0, 1.0 - fit.tau2 / before) if before > 0.0 else None,
        too_few=effects.size < SITES_PER_COVARIATE * len(names),
    )


def explain_one_by_one(
    effects: Array,
    standard_errors: Array,
    covariates: Mapping[str, Array],
    estimator: Estimator = "REML",
    confidence: float = 0.95,
) -> list[Explanation]:
    """Each covariate on its own, p-values adjusted for the number that were looked at."""
    alone = [
        explain_together(effects, standard_errors, {name: values}, estimator, confidence)
        for name, values in covariates.items()
    ]
    adjusted = _holm([each.slopes[0].p_value for each in alone])
    few = len(effects) < SITES_PER_COVARIATE * len(alone)
    return [
        replace(each, slopes=(replace(each.slopes[0], adjusted_p_value=p_value),), too_few=few)
        for each, p_value in zip(alone, adjusted, strict=True)
        if math.isfinite(p_value)
    ]
