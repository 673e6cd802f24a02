"""Random effects: sites that differ, each measured with an error of its own.

The model: effect of site i = design_i · coefficients + u_i + e_i, with u_i ~ N(0, tau²) between
sites and e_i ~ N(0, standard_error_i²) within one. Pooling is the design with one column of ones;
what explains differences (`woold.sites.covariates`) is the same fit with more columns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.errors import InputError, Problem
from woold.sites.between_sites import (
    Array,
    Estimator,
    between_site_variance,
    weighted_least_squares,
)
from woold.words import say

__all__ = ["RandomEffectsFit", "fit_random_effects"]


@dataclass(frozen=True, slots=True)
class RandomEffectsFit:
    """Coefficients of the model with the spread that is left between sites.

    Args:
        coefficients: one per column of the design.
        covariance: of the coefficients, with Knapp and Hartung's scale.
        plain_covariance: of the coefficients, as if the spread were known.
        tau2: variance between sites that the design leaves unexplained.
        q: Cochran's Q of the residuals, weights from the standard errors alone.
        degrees_of_freedom: sites less columns; of the t distribution too.
        scale: Knapp and Hartung's factor on the plain covariance, as found.
        scale_used: the same, but at least 1.
    """

    coefficients: Array
    covariance: Array
    plain_covariance: Array
    tau2: float
    q: float
    degrees_of_freedom: int
    scale: float
    scale_used: float


def _checked(effects: Array, standard_errors: Array, design: Array) -> None:
    problems = []
    sites, columns = design.shape
    if sites <= columns:
        problems.append(
            Problem(
                "sites",
                say("{sites} for {columns} to be found", sites=sites, columns=columns),
                say("at least {columns}", columns=columns + 1),
                (
                    say("Between-site spread cannot be seen from fewer.")
                    if columns == 1
                    else say("Explain with fewer covariates.")
                ),
            )
        )
    for name, values in (("effect", effects), ("standard_error", standard_errors)):
        for index, value in enumerate(np.asarray(values)):
            if not math.isfinite(value) or (name == "standard_error" and value <= 0.0):
                allowed = say("finite and above 0") if name == "standard_error" else say("finite")
                todo = (
                    say("A trial without spread is not a measurement: look at how it was analysed.")
                    if value == 0.0
                    else say("Look at that trial again.")
                )
                problems.append(Problem(f"sites[{index}].{name}", f"{value:g}", allowed, todo))
    if not problems and np.linalg.matrix_rank(design) < columns:
        problems.append(
            Problem(
                "covariates",
                say("columns that say the same as others, or never change"),
                say("columns that are not combinations of one another"),
                say("Leave one out."),
            )
        )
    if problems:
        raise InputError.many(problems)


def fit_random_effects(
    effects: Array,
    standard_errors: Array,
    design: Array,
    estimator: Estimator = "REML",
) -> RandomEffectsFit:
    """Coefficients with Knapp and Hartung's covariance.

    scale = Σ w residual² / (k - p) with w = 1/(standard_error² + tau²); covariance =
    max(1, scale) (X'WX)^-1: the plain form, without the maximum, becomes too narrow when few sites
    happen to agree.

    Args:
        effects: [-], shape (sites,).
        standard_errors: [-], shape (sites,), above 0.
        design: shape (sites, columns), columns fewer than sites.
        estimator: of the variance between sites.

    Raises:
        InputError: too few sites, a standard error of 0, a design whose columns repeat.

    Source: Knapp & Hartung, Statistics in Medicine 22 (2003) 2693.
    """
    effects = np.asarray(effects, float)
    standard_errors = np.asarray(standard_errors, float)
    _checked(effects, standard_errors, design)
    variances = standard_errors**2
    tau2 = float(between_site_variance(effects, variances, design, estimator))
    freedom = design.shape[0] - design.shape[1]
    weights = 1.0 / (variances + tau2)
    coefficients, plain, residuals = weighted_least_squares(effects, weights, design)
    scale = float((weights * residuals**2).sum() / freedom)
    scale_used = max(1.0, scale)
    fixed = 1.0 / variances
    _, _, fixed_residuals = weighted_least_squares(effects, fixed, design)
    return RandomEffectsFit(
        coefficients=coefficients,
        covariance=plain * scale_used,
        plain_covariance=plain,
        tau2=tau2,
        q=float((fixed * fixed_residuals**2).sum()),
        degrees_of_freedom=freedom,
        scale=scale,
        scale_used=scale_used,
    )
