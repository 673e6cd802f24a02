"""Random-effects pooling: the average over sites, the spread between them, the next site.

The model: effect of site i = design_i · coefficients + u_i + e_i, with u_i ~ N(0, tau²) between
sites and e_i ~ N(0, standard_error_i²) within one. Pooling is the design with one column of ones;
what explains differences (``explain``) is the same fit with more columns.

Arrays may carry leading axes, so that thousands of simulated sets of sites are fitted in one call.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, Problem
from woold.words import say

__all__ = [
    "Convention",
    "Estimator",
    "Pooled",
    "RandomEffectsFit",
    "between_site_variance",
    "between_site_variance_interval",
    "effect_of",
    "fit_random_effects",
    "plausible_sites",
    "pool",
    "prediction_interval",
    "saving_of",
    "share_saving_at_least",
]

Array = NDArray[np.float64]
Estimator = Literal["REML", "DL"]
Convention = Literal[
    "spread-uncertain", "hartung-knapp-t(k-1)", "higgins-thompson-spiegelhalter-t(k-2)"
]

_MOST_ITERATIONS = 500
_TOLERANCE = 1e-10


def effect_of(saving: float) -> float:
    """Effect -ln(1 - saving) of a saving [-]."""
    return -math.log1p(-saving)


def saving_of(effect: float) -> float:
    """Saving 1 - exp(-effect) [-] of an effect; ends of intervals far out stay finite."""
    return -math.expm1(min(-effect, 700.0))


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
        scale_used: the same, but at least 1 unless asked otherwise.
    """

    coefficients: Array
    covariance: Array
    plain_covariance: Array
    tau2: float
    q: float
    degrees_of_freedom: int
    scale: float
    scale_used: float


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


def _least_squares(effects: Array, weights: Array, design: Array) -> tuple[Array, Array, Array]:
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
    _, covariance, residuals = _least_squares(effects, weights, design)
    excess = (weights * residuals**2).sum(-1) - (sites - columns)
    start = np.asarray(excess / _projection_trace(covariance, design, weights))
    tau2: Array = np.maximum(start, 0.0)
    if estimator == "DL":
        return tau2
    typical = variances.mean(-1)
    for iteration in range(_MOST_ITERATIONS):
        weights = 1.0 / (variances + tau2[..., None])
        _, covariance, residuals = _least_squares(effects, weights, design)
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
        _, _, residuals = _least_squares(effects, weights, design)
        return float((weights * residuals**2).sum() - quantile)

    def root(quantile: float) -> float:
        if surplus(0.0, quantile) <= 0.0:
            return 0.0
        upper = float(variances.mean() + effects.var())
        while surplus(upper, quantile) > 0.0:
            upper *= 4.0
        return float(brentq(surplus, 0.0, upper, args=(quantile,), xtol=1e-14, rtol=1e-12))

    return root(chi2.isf(tail, freedom)), root(chi2.ppf(tail, freedom))


def _checked(effects: Array, standard_errors: Array, design: Array) -> None:
    problems = []
    sites, columns = design.shape
    if sites <= columns:
        problems.append(
            Problem(
                "sites",
                say(
                    "{sites} for {columns} coefficient{value}",
                    sites=sites,
                    columns=columns,
                    value="s" if columns > 1 else "",
                ),
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
                allowed = "finite and above 0" if name == "standard_error" else "finite"
                todo = (
                    "A trial without spread is not a measurement: look at how it was analysed."
                    if value == 0.0
                    else ""
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
    *,
    never_narrower: bool = True,
) -> RandomEffectsFit:
    """Coefficients with Knapp and Hartung's covariance.

    scale = Σ w residual² / (k - p) with w = 1/(standard_error² + tau²); covariance =
    max(1, scale) (X'WX)^-1, or without the maximum when ``never_narrower`` is off.

    Args:
        effects: [-], shape (sites,).
        standard_errors: [-], shape (sites,), above 0.
        design: shape (sites, columns), columns fewer than sites.
        estimator: of the variance between sites.
        never_narrower: keep the interval at least as wide as with a known spread; the plain form
            becomes too narrow when few sites happen to agree.

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
    coefficients, plain, residuals = _least_squares(effects, weights, design)
    scale = float((weights * residuals**2).sum() / freedom)
    scale_used = max(1.0, scale) if never_narrower else scale
    fixed = 1.0 / variances
    _, _, fixed_residuals = _least_squares(effects, fixed, design)
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


def plausible_sites(
    effects: Array,
    standard_errors: Array,
    draws: int = 20_000,
    seed: int = 1,
    *,
    never_narrower: bool = True,
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
        never_narrower: see :func:`fit_random_effects`.

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
    means, _, residuals = _least_squares(effects, weights, np.ones((effects.size, 1)))
    q = (weights * residuals**2).sum(-1)
    factor = q / freedom
    if never_narrower:
        factor = np.maximum(factor, 1.0)
    errors = np.sqrt(factor / weights.sum(-1))
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
        means, spreads = plausible_sites(
            effects, standard_errors, never_narrower=fit.scale_used >= 1.0
        )
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


def pool(
    effects: Array,
    standard_errors: Array,
    estimator: Estimator = "REML",
    convention: Convention = "spread-uncertain",
    confidence: float = 0.95,
    *,
    never_narrower: bool = True,
) -> Pooled:
    """The average over sites with everything that must be said with it.

    Args:
        effects: [-], shape (sites,).
        standard_errors: [-], shape (sites,), above 0.
        estimator: of the variance between sites.
        convention: of the prediction interval.
        confidence: of all intervals.
        never_narrower: see :func:`fit_random_effects`.

    Raises:
        InputError: fewer than two sites, a standard error of 0, a value that is not finite.
    """
    from scipy.stats import chi2, t

    effects = np.asarray(effects, float)
    standard_errors = np.asarray(standard_errors, float)
    design = np.ones((effects.size, 1))
    fit = fit_random_effects(
        effects, standard_errors, design, estimator, never_narrower=never_narrower
    )
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


def share_saving_at_least(
    effects: Array,
    standard_errors: Array,
    least_effect: float,
    confidence: float = 0.95,
) -> tuple[float, float, float]:
    """Share of all sites whose true effect is at least ``least_effect``, with its interval.

    share = Phi((mean - least_effect)/tau), sites taken as normally spread, over the means and
    spreads of :func:`plausible_sites`.

    Args:
        effects: [-], shape (sites,).
        standard_errors: [-], shape (sites,).
        least_effect: [-].
        confidence: of the interval.

    Returns:
        expected share, low, high.

    Source: Mathur & VanderWeele, Statistics in Medicine 38 (2019) 1336 (the share).
    """
    from scipy.special import ndtr

    means, spreads = plausible_sites(effects, standard_errors)
    floor = 1e-12 * (float(np.abs(means).max()) + abs(least_effect) + 1e-300)
    shares = ndtr((means - least_effect) / np.maximum(spreads, floor))
    tail = (1.0 - confidence) / 2.0
    low, high = np.quantile(shares, [tail, 1.0 - tail])
    return float(shares.mean()), float(low), float(high)
