"""The film's curve from a tensile test: least squares with standard errors.

The elastic modulus comes from the straight part below yield, and with it the toe: the elongation
that only took up slack. The drawing law comes from what follows, whatever peak lies between.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.physics.film_points import correlation_inflation
from woold.physics.numeric import refuse_unless
from woold.physics.tensile_test import FIT_FROM, ElasticFit, fit_elastic, interval_quantile
from woold.words import say

__all__ = [
    "LARGEST_EXTENSIBILITY",
    "HawardFit",
    "LeastSquaresFit",
    "fit_haward",
    "fit_least_squares",
]

Array = npt.NDArray[np.float64]

LARGEST_EXTENSIBILITY = 1e4  # beyond it no locking shows at any stretch that film bears
_FEWEST_POINTS = 6
_OTHER_SHAPE = 0.025  # misfit over the mean stress, noise taken out


@dataclass(frozen=True, slots=True)
class LeastSquaresFit:
    """Parameters of a model fitted to points, and how well.

    Args:
        values: fitted parameters.
        standard_errors: of each, from the curvature at the minimum.
        covariance: of the parameters.
        residuals: points less model.
        residual_deviation: standard deviation of the residuals, degrees of freedom counted.
        determination: part of the points' variance that the model explains, R^2.
    """

    values: Array
    standard_errors: Array
    covariance: Array
    residuals: Array
    residual_deviation: float
    determination: float


def fit_least_squares(
    model: Callable[[Array, Array], Array],
    x: Array,
    y: Array,
    start: Array,
    lower: Array,
    upper: Array,
) -> LeastSquaresFit:
    """Nonlinear least squares within bounds.

    min over p of sum (y - f(x, p))^2; covariance s^2 (J^T J)^-1

    Args:
        model: f(x, p), element by element of x.
        x, y: the points.
        start: where the search begins.
        lower, upper: bounds of the parameters.

    Returns:
        Parameters with standard errors.

    Raises:
        InputError: fewer points than parameters and one more, or a search that finds no minimum.

    Source:
        scipy.optimize.least_squares (Branch, Coleman and Li 1999), scaled by the Jacobian.
    """
    from scipy.optimize import least_squares

    freedom = len(x) - len(start)
    if freedom < 1:
        raise InputError.one(
            "points",
            say("points: {x}", x=len(x)),
            say("at least {start} points", start=len(start) + 1),
            say("Measure at more stretches."),
        )
    scale, height = np.abs(start), np.max(np.abs(y))
    found = least_squares(
        lambda p: (model(x, p * scale) - y) / height,
        start / scale,
        bounds=(lower / scale, upper / scale),
        jac="3-point",
        x_scale="jac",
        ftol=1e-15,
        xtol=1e-15,
        gtol=1e-15,
        max_nfev=2000,
    )
    if not found.success:
        raise InputError.one(
            "points",
            say("points that no curve fits"),
            say("points of one smooth curve"),
            say("Look for a mistyped point, or for a test of another film."),
        )
    values, residuals = found.x * scale, -found.fun * height
    deviation = float(np.sqrt(residuals @ residuals / freedom))
    # Pseudo-inverse: a parameter that the points do not decide gets a huge error, no exception.
    curvature = (found.jac * height) / scale
    unit = np.sqrt(np.sum(curvature**2, axis=0))
    unit = np.where(unit > 0, unit, 1.0)
    inverse = np.linalg.pinv((curvature / unit).T @ (curvature / unit), hermitian=True)
    covariance = deviation**2 * inverse / np.outer(unit, unit)
    spread = float(np.sum((y - np.mean(y)) ** 2))
    return LeastSquaresFit(
        values=values,
        standard_errors=np.sqrt(np.diag(covariance)),
        covariance=covariance,
        residuals=residuals,
        residual_deviation=deviation,
        determination=1.0 - float(residuals @ residuals) / spread if spread > 0 else 0.0,
    )


@dataclass(frozen=True, slots=True)
class HawardFit:
    """Haward form fitted to the drawing part of a tensile test.

    Args:
        fit: yield stress, hardening modulus, extensibility in this order.
        low, high: 95 % intervals of the three; infinite where the points leave it open.
        points_used: how many points were fitted.
        fit_from: stretch from which points were fitted [-].
        locking_is_decided: False where the points do not decide the extensibility.
        misfit: what the form misses of the points beside their noise, over the mean stress [-].
        is_law: False for a curve of another shape, which should be used by its points.
        elastic: straight part below yield; None where there are too few points of it.
    """

    fit: LeastSquaresFit
    low: Array
    high: Array
    points_used: int
    fit_from: float
    locking_is_decided: bool
    misfit: float
    is_law: bool
    elastic: ElasticFit | None

    @property
    def yield_stress(self) -> float:
        """Flow stress [Pa]."""
        return float(self.fit.values[0])

    @property
    def hardening_modulus(self) -> float:
        """Strain-hardening modulus [Pa]."""
        return float(self.fit.values[1])

    @property
    def extensibility(self) -> float:
        """Limit of the first invariant less 3 [-]."""
        return float(self.fit.values[2])


def fit_haward(stretches: Array, stresses: Array, fit_from: float = FIT_FROM) -> HawardFit:
    """Haward form fitted to a tensile test, with intervals.

    A toe is taken off the elongations. Yield stress, hardening modulus and 1/Jm come from the
    points at and above ``fit_from``: in 1/Jm the form is nearly straight, so its interval holds.

    Args:
        stretches: stretch ratios of the points, rising, from 1 [-], shape (n,).
        stresses: nominal stresses there [Pa], shape (n,).
        fit_from: stretch from which the specimen drew evenly [-].

    Returns:
        The parameters and how well they are known. Where neighbouring residuals go together the
        errors are widened by it.

    Raises:
        InputError: too few points, or stretches that do not rise.
    """
    stretches, stresses = np.asarray(stretches, dtype=float), np.asarray(stresses, dtype=float)
    _refuse_points(stretches, stresses)
    elastic = fit_elastic(stretches, stresses)
    if elastic is not None and elastic.toe > 0:
        stretches = stretches / (1.0 + elastic.toe)
    drawn = stretches >= fit_from
    x, y = stretches[drawn], stresses[drawn]
    if len(x) < _FEWEST_POINTS:
        raise InputError.one(
            "stretches",
            say("points from {fit_from:g} % on: {x}", x=len(x), fit_from=100 * (fit_from - 1)),
            say(
                "at least {fewest_points} points on the drawing part", fewest_points=_FEWEST_POINTS
            ),
            say("Test further, or fit from a smaller elongation."),
        )
    refuse_unless(y > 0, "stresses", y, say("stresses above 0 on the drawing part"))
    free = _fit_inverse(x, y)
    inverse = float(free.values[2])
    widening = np.sqrt(correlation_inflation(free.residuals))
    errors = free.standard_errors * widening
    reach = interval_quantile(len(x) - 3) * errors
    low, high = free.values - reach, free.values + reach
    if inverse < 1.0 / LARGEST_EXTENSIBILITY:  # no locking shows: the form without it
        free = _fit_inverse(x, y, locked_at=1.0 / LARGEST_EXTENSIBILITY)
        inverse = 1.0 / LARGEST_EXTENSIBILITY
    values = np.array([free.values[0], free.values[1], 1.0 / inverse])
    scale = np.array([1.0, 1.0, inverse**-2])
    misfit, is_law = _misfit(free.residuals, y)
    # A film without a flow stress, or one that never hardens, is none that this law describes.
    is_law = is_law and bool(np.all(values[:2] > 1e-6 * np.max(y)))
    return HawardFit(
        fit=LeastSquaresFit(
            values=values,
            standard_errors=errors * scale,
            covariance=free.covariance * np.outer(scale, scale) * widening**2,
            residuals=free.residuals,
            residual_deviation=free.residual_deviation,
            determination=free.determination,
        ),
        low=np.array([low[0], low[1], 1.0 / high[2] if high[2] > 0 else np.inf]),
        high=np.array([high[0], high[1], 1.0 / low[2] if low[2] > 0 else np.inf]),
        points_used=len(x),
        fit_from=fit_from,
        locking_is_decided=bool(errors[2] < 0.5 * inverse),
        misfit=misfit,
        is_law=is_law,
        elastic=elastic,
    )


def _refuse_points(stretches: Array, stresses: Array) -> None:
    for field, given in (("stretches", stretches), ("stresses", stresses)):
        refuse_unless(np.isfinite(given), field, given, say("finite numbers"))
    refuse_unless(stretches >= 1, "stretches", stretches, say("stretch ratios of 1 (0 %) or more"))
    refuse_unless(
        np.diff(stretches, prepend=0.0) > 0, "stretches", stretches, say("stretches that rise")
    )


def _fit_inverse(x: Array, y: Array, locked_at: float | None = None) -> LeastSquaresFit:
    """Flow stress, hardening modulus and 1/Jm, which may come out below 0; or the third given."""
    reach = x**2 + 2.0 / x - 3.0
    most = 0.999 / float(reach[-1])

    def model(stretch: Array, p: Array) -> Array:
        network = (stretch - stretch**-2.0) / (1.0 - p[2] * (stretch**2 + 2.0 / stretch - 3.0))
        return np.asarray(p[0] / stretch + p[1] * network)

    # With 1/Jm known the form is linear in the other two: a safe start.
    start = 0.25 * most if locked_at is None else locked_at
    basis = np.column_stack(
        [model(x, np.array([1.0, 0.0, start])), model(x, np.array([0.0, 1.0, start]))]
    )
    linear = np.maximum(np.linalg.lstsq(basis, y, rcond=None)[0], 1e-3 * np.max(y))
    if locked_at is not None:
        fixed = fit_least_squares(
            lambda stretch, p: model(stretch, np.array([p[0], p[1], locked_at])),
            x,
            y,
            linear,
            lower=np.zeros(2),
            upper=np.full(2, np.inf),
        )
        return LeastSquaresFit(
            values=np.array([*fixed.values, locked_at]),
            standard_errors=np.array([*fixed.standard_errors, 0.0]),
            covariance=np.pad(fixed.covariance, (0, 1)),
            residuals=fixed.residuals,
            residual_deviation=fixed.residual_deviation,
            determination=fixed.determination,
        )
    return fit_least_squares(
        model,
        x,
        y,
        np.array([*linear, start]),
        lower=np.array([0.0, 0.0, -20.0 * most]),
        upper=np.array([np.inf, np.inf, most]),
    )


def _misfit(residuals: Array, stresses: Array) -> tuple[float, bool]:
    """What the form misses beside the noise, over the mean stress; and whether it is small.

    Noise from second differences, which a smooth curve hardly has: their variance is six times
    that of the noise.
    """
    noise = 0.0
    if len(residuals) >= 10:
        noise = float(np.mean(np.diff(residuals, 2) ** 2)) / 6.0
    total = float(np.mean(residuals**2))
    misfit = float(np.sqrt(max(total - noise, 0.0)) / np.mean(stresses))
    bearable = _OTHER_SHAPE if noise > 0.0 else 2.0 * _OTHER_SHAPE
    return misfit, misfit <= bearable or total < 2.0 * noise
