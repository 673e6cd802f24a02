"""The film's curve from a tensile test: least squares with standard errors."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.physics.film import nominal_stress
from woold.physics.numeric import refuse_unless
from woold.words import say

__all__ = ["FIT_FROM", "HawardFit", "LeastSquaresFit", "fit_haward", "fit_least_squares"]

Array = npt.NDArray[np.float64]

FIT_FROM = 1.5  # below it a specimen is elastic or necks; placeholder, 1.2 to 2
_LARGEST_EXTENSIBILITY = 1e4
_FEWEST_POINTS = 6


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
            say("{x} points", x=len(x)),
            say("at least {start} points", start=len(start) + 1),
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
            "points", say("points that no curve fits"), say("points of one smooth curve")
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
    """Haward form fitted to the evenly drawing part of a tensile test.

    Args:
        fit: yield stress, hardening modulus, extensibility in this order.
        points_used: how many points were fitted.
        fit_from: stretch from which points were fitted [-].
        locking_is_decided: False where the points do not decide the extensibility.
        elastic_modulus: from the first points [Pa]; None where there are too few.
        elastic_error: its standard error [Pa]; None likewise.
    """

    fit: LeastSquaresFit
    points_used: int
    fit_from: float
    locking_is_decided: bool
    elastic_modulus: float | None
    elastic_error: float | None

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
    """Haward form fitted to a tensile test, with standard errors.

    Yield stress, hardening modulus and extensibility from the points at and above ``fit_from``;
    the elastic modulus from the points below half of the first peak.

    Args:
        stretches: stretch ratios of the points, rising, from 1 [-], shape (n,).
        stresses: nominal stresses there [Pa], shape (n,).
        fit_from: stretch from which the specimen drew evenly [-].

    Returns:
        The parameters and how well they are known.

    Raises:
        InputError: too few points, stretches that do not rise, or a curve of another shape.
    """
    stretches, stresses = np.asarray(stretches, dtype=float), np.asarray(stresses, dtype=float)
    for field, given in (("stretches", stretches), ("stresses", stresses)):
        refuse_unless(np.isfinite(given), field, given, "finite numbers")
    refuse_unless(stretches >= 1, "stretches", stretches, "stretch ratios of 1 (0 %) or more")
    refuse_unless(
        np.diff(stretches, prepend=0.0) > 0, "stretches", stretches, "stretches that rise"
    )
    drawn = stretches >= fit_from
    x, y = stretches[drawn], stresses[drawn]
    if len(x) < _FEWEST_POINTS:
        raise InputError.one(
            "stretches",
            say("{x} points from {fit_from:g} % on", x=len(x), fit_from=100 * (fit_from - 1)),
            say(
                "at least {fewest_points} points on the drawing part", fewest_points=_FEWEST_POINTS
            ),
            say("Test further, or fit from a smaller elongation."),
        )
    refuse_unless(y > 0, "stresses", y, "stresses above 0 on the drawing part")

    def model(stretch: Array, p: Array) -> Array:
        return np.asarray(nominal_stress(stretch, p[0], p[1], p[2]))

    # With the extensibility known the form is linear in the other two: a safe start.
    reach = float(x[-1] ** 2 + 2 / x[-1] - 3)
    loosest = 4.0 * reach
    basis = np.column_stack(
        [model(x, np.array([1.0, 0.0, loosest])), model(x, np.array([0.0, 1.0, loosest]))]
    )
    linear = np.linalg.lstsq(basis, y, rcond=None)[0]
    start = np.array([*np.maximum(linear, 1e-3 * np.max(y)), loosest])
    fit = fit_least_squares(
        model,
        x,
        y,
        start,
        lower=np.array([0.0, 0.0, 1.001 * reach]),
        upper=np.array([np.inf, np.inf, max(_LARGEST_EXTENSIBILITY, 10 * reach)]),
    )
    if np.any(fit.values[:2] <= 1e-6 * np.max(y)):
        raise InputError.one(
            "stresses",
            say("a curve that the Haward form does not fit"),
            say("a flow stress and a hardening above 0"),
            say("Use the points themselves as the film's curve, or fit from another elongation."),
        )
    elastic, elastic_error = _elastic_modulus(stretches[~drawn], stresses[~drawn])
    return HawardFit(
        fit=fit,
        points_used=len(x),
        fit_from=fit_from,
        locking_is_decided=bool(fit.standard_errors[2] < 0.5 * fit.values[2]),
        elastic_modulus=elastic,
        elastic_error=elastic_error,
    )


def _elastic_modulus(stretches: Array, stresses: Array) -> tuple[float | None, float | None]:
    """Slope of true stress on ln(stretch) through 0, over points below half of the peak."""
    if len(stretches) < 3:
        return None, None
    first = np.arange(len(stresses)) <= int(np.argmax(stresses))
    use = first & (stresses <= 0.5 * np.max(stresses)) & (stretches > 1)
    if np.count_nonzero(use) < 2:
        return None, None
    strain, true = np.log(stretches[use]), stresses[use] * stretches[use]
    modulus = float(strain @ true / (strain @ strain))
    residual = true - modulus * strain
    error = float(np.sqrt(residual @ residual / (len(strain) - 1) / (strain @ strain)))
    return modulus, error
