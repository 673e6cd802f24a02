"""The variance between sites, with its interval.

Arrays may carry leading axes, so that thousands of simulated sets of sites are fitted in one call.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Array",
    "Estimator",
    "between_site_variance",
    "between_site_variance_interval",
    "weighted_least_squares",
]

Array = NDArray[np.float64]
Estimator = Literal["REML", "DL"]

_MOST_ITERATIONS = 500
_TOLERANCE = 1e-10


def weighted_least_squares(
    effects: Array, weights: Array, design: Array
) -> tuple[Array, Array, Array]:
    """Weighted coefficients, their covariance and the residuals."""
    normal = np.einsum("kp,...k,kq->...pq", design, weights, design)
    covariance = np.linalg.inv(normal)
    moment = np.einsum("kp,...k,...k->...p", design, weights, effects)
    coefficients = np.einsum("...pq,...q->...p", covariance, moment)
    residuals = effects - np.einsum("kp,...p->...k", design, coefficients)
    return coefficients, covariance, residuals


def _projection_trace(covariance: Array, design: Array, weights: Array) -> Array:
    """tr(P) of P = W - W X (X'WX)^-1 X'W."""
    squares = np.einsum("kp,...k,kq->...pq", design, weights**2, design)
    return np.asarray(weights.sum(-1) - np.einsum("...pq,...qp->...", covariance, squares))


def between_site_variance(
    effects: Array, variances: Array, design: Array, estimator: Estimator = "REML"
) -> Array:
    """Variance between sites tau², never below 0.

    DL: (Q - (k - p)) / tr(P); REML: the root of its score y'PPy = tr(P) by Fisher scoring.

    Args:
        effects: [-], shape (..., sites).
        variances: squared standard errors [-], same shape.
        design: shape (sites, columns).
        estimator: ``"REML"`` or ``"DL"``.

    Returns:
        tau², shape (...).

    Source: DerSimonian & Laird, Controlled Clinical Trials 7 (1986) 177; Raudenbush, in The
        Handbook of Research Synthesis (2009) ch. 16 (REML with a design).
    """
    effects, variances = np.broadcast_arrays(
        np.asarray(effects, float), np.asarray(variances, float)
    )
    sites, columns = design.shape
    weights = 1.0 / variances
    _, covariance, residuals = weighted_least_squares(effects, weights, design)
    excess = (weights * residuals**2).sum(-1) - (sites - columns)
    start = np.asarray(excess / _projection_trace(covariance, design, weights))
    tau2: Array = np.maximum(start, 0.0)
    if estimator == "DL":
        return tau2
    typical = variances.mean(-1)
    for iteration in range(_MOST_ITERATIONS):
        weights = 1.0 / (variances + tau2[..., None])
        _, covariance, residuals = weighted_least_squares(effects, weights, design)
        squares = np.einsum("kp,...k,kq->...pq", design, weights**2, design)
        cubes = np.einsum("kp,...k,kq->...pq", design, weights**3, design)
        trace = weights.sum(-1) - np.einsum("...pq,...qp->...", covariance, squares)
        inner = np.einsum("...pq,...qr->...pr", covariance, squares)
        information = (
            (weights**2).sum(-1)
            - 2.0 * np.einsum("...pq,...qp->...", covariance, cubes)
            + np.einsum("...pq,...qp->...", inner, inner)
        )
        step = ((weights**2 * residuals**2).sum(-1) - trace) / information
        damping = 1.0 if iteration < 50 else 0.5  # breaks a cycle between two values
        following = np.maximum(tau2 + damping * step, 0.0)
        moved = np.abs(following - tau2)
        tau2 = following
        if np.all(moved <= _TOLERANCE * (tau2 + typical)):
            break
    return tau2


def between_site_variance_interval(
    effects: Array, variances: Array, design: Array, confidence: float = 0.95
) -> tuple[float, float]:
    """Interval of tau² by the Q-profile: the tau² at which the weighted residuals are as expected.

    Q(tau²) = Σ (residual²/(variance + tau²)) falls with tau² and follows chi²(k - p) at the truth.

    Source: Viechtbauer, Statistics in Medicine 26 (2007) 37.
    """
    from scipy.optimize import brentq
    from scipy.stats import chi2

    freedom = design.shape[0] - design.shape[1]
    tail = (1.0 - confidence) / 2.0

    def surplus(tau2: float, quantile: float) -> float:
        weights = 1.0 / (variances + tau2)
        _, _, residuals = weighted_least_squares(effects, weights, design)
        return float((weights * residuals**2).sum() - quantile)

    def root(quantile: float) -> float:
        if surplus(0.0, quantile) <= 0.0:
            return 0.0
        upper = float(variances.mean() + effects.var())
        while surplus(upper, quantile) > 0.0:
            upper *= 4.0
        return float(brentq(surplus, 0.0, upper, args=(quantile,), xtol=1e-14, rtol=1e-12))

    return root(chi2.isf(tail, freedom)), root(chi2.ppf(tail, freedom))
