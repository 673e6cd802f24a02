"""Film known by points of a tensile test: its curve, and the drawing law nearest to it."""

from __future__ import annotations

import functools
import itertools
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.physics.numeric import FloatOrArray, bracketed_root, refuse_unless
from woold.words import say

__all__ = ["DrawingLaw", "PointsCurve", "correlation_inflation", "drawing_law"]

Array = npt.NDArray[np.float64]

_FROM, _FROM_AT_LEAST = 1.5, 1.2
_EXTENSIBILITY = 80.0  # placeholder, 60 to 120


@dataclass(frozen=True, slots=True)
class PointsCurve:
    """Film known by points of a tensile test, joined by a monotone piecewise cubic.

    Args:
        stretches: stretch ratios, rising, from 1 [-]; the point (1, 0) is added when absent.
        stresses: nominal stresses there [Pa].
        scale: times which the film bears them, for film that is colder or warmer than in the
            test [-].

    Raises:
        InputError: too few points, stretches that do not rise, a stress that is not positive, or
            a curve that falls to its end, on which no stretch is even.

    Source:
        Fritsch and Butland, SIAM Journal on Scientific and Statistical Computing 5 (1984) 300-304.
    """

    stretches: tuple[float, ...]
    stresses: tuple[float, ...]
    scale: FloatOrArray = 1.0

    def __post_init__(self) -> None:
        stretches, stresses = list(self.stretches), list(self.stresses)
        if len(stretches) != len(stresses):
            raise InputError.one(
                "stresses",
                say(
                    "stresses: {stresses}, stretches: {stretches}",
                    stresses=len(stresses),
                    stretches=len(stretches),
                ),
                say("one stress for each stretch"),
                say("Look for a point that lacks one of the two."),
            )
        if stretches and stretches[0] > 1.0:
            stretches, stresses = [1.0, *stretches], [0.0, *stresses]
        count = len(stretches)
        if count < 4:
            raise InputError.one(
                "stretches",
                say("points: {count}", count=count),
                say("at least 4 points of the curve"),
                say("Measure more points, drawn ones among them."),
            )
        refuse_unless(np.isfinite(stretches), "stretches", np.array(stretches), "finite numbers")
        refuse_unless(np.isfinite(stresses), "stresses", np.array(stresses), "finite numbers")
        if stretches[0] != 1.0 or stresses[0] != 0.0:
            raise InputError.one(
                "stretches",
                say(
                    "a first point at stretch {stretches:g} and stress {stresses:g} Pa",
                    stretches=stretches[0],
                    stresses=stresses[0],
                ),
                say("a first point at stretch 1 (0 %) and stress 0, or at a larger stretch"),
                say("Give a stress to the first point, or start at 0 %."),
            )
        for before, after in itertools.pairwise(stretches):
            if after <= before:
                raise InputError.one(
                    "stretches",
                    say("{after:g} after {before:g}", after=after, before=before),
                    say("rising stretches"),
                    say("Put the points in the order of their elongation, each once."),
                )
        refuse_unless(
            np.array(stresses[1:]) > 0, "stresses", np.array(stresses[1:]), "stresses above 0"
        )
        if stresses[-1] <= stresses[-2]:
            raise InputError.one(
                "stresses",
                say(
                    "{last:g} MPa at the last point, after {before:g} MPa",
                    last=stresses[-1] / 1e6,
                    before=stresses[-2] / 1e6,
                ),
                say("a curve that rises to its end"),
                say(
                    "Leave out the points at and after the break; a film that only softens has"
                    " no stretch at which it draws evenly."
                ),
            )
        object.__setattr__(self, "stretches", tuple(stretches))
        object.__setattr__(self, "stresses", tuple(stresses))

    def _last_fall(self) -> int:
        """Index of the point from which the stress only rises."""
        falls = [i for i in range(1, len(self.stresses)) if self.stresses[i] < self.stresses[i - 1]]
        return falls[-1] if falls else 0

    def _first_peak(self) -> int:
        """Index of the first point after which the stress falls; the last one if it never does."""
        rises = np.diff(self.stresses) >= 0
        return len(rises) if rises.all() else int(np.argmin(rises))

    @property
    def law(self) -> DrawingLaw:
        """Drawing law nearest to the points."""
        return drawing_law(self.stretches, self.stresses)

    @property
    def yield_ratio(self) -> FloatOrArray:
        return self.law.yield_ratio

    @property
    def yield_ratio_error(self) -> FloatOrArray:
        return self.law.yield_ratio_error

    @property
    def extensibility(self) -> FloatOrArray:
        return self.law.extensibility

    @property
    def natural_draw_stretch(self) -> FloatOrArray:
        return self.stretches[self._last_fall()]

    @property
    def drawing_stress(self) -> FloatOrArray:
        return self.scale * self.stresses[self._last_fall()]

    @property
    def largest_stretch(self) -> FloatOrArray:
        return self.stretches[-1]

    def nominal_stress(self, stretch: FloatOrArray) -> FloatOrArray:
        inside = np.minimum(np.maximum(stretch, 1.0), self.stretches[-1])
        curve = _monotone_curve(self.stretches, self.stresses)(inside)
        return np.where(np.asarray(stretch) > self.stretches[-1], np.inf, self.scale * curve)[()]

    def stretch_at(self, stress: FloatOrArray) -> FloatOrArray:
        refuse_unless(np.asarray(stress) >= 0, "stress", stress, "0 or more")
        stress = np.divide(stress, self.scale)
        curve = _monotone_curve(self.stretches, self.stresses)
        even, peak = self._last_fall(), self._first_peak()

        def inverse(low: int, high: int) -> FloatOrArray:
            within = np.clip(stress, self.stresses[low], self.stresses[high])
            return bracketed_root(
                lambda stretch: curve(stretch) - within, self.stretches[low], self.stretches[high]
            )

        drawn = inverse(even, len(self.stretches) - 1)
        if even == 0:
            return drawn
        return np.where(np.asarray(stress) >= self.stresses[even], drawn, inverse(0, peak))[()]


@functools.lru_cache(maxsize=64)
def _monotone_curve(stretches: tuple[float, ...], stresses: tuple[float, ...]) -> Any:
    from scipy.interpolate import PchipInterpolator

    return PchipInterpolator(stretches, stresses)


@dataclass(frozen=True, slots=True)
class DrawingLaw:
    """Drawing law (:func:`woold.physics.film.nominal_stress`) nearest to points of a test.

    Args:
        yield_ratio: yield stress over hardening modulus, r = Y/Gp [-].
        yield_ratio_error: its standard error; infinite where the points do not decide it [-].
        extensibility: limit Jm of the first invariant less 3; infinite where none shows [-].
        extensibility_error: standard error of Jm; infinite where the points do not decide it [-].
        inverse_error: standard error of 1/Jm, which behaves better [-].
        error_correlation: of the errors of r and 1/Jm [-].
        misfit: root mean square of the residuals over the mean stress [-].
        points_used: points that were fitted.
    """

    yield_ratio: float
    yield_ratio_error: float
    extensibility: float
    extensibility_error: float
    inverse_error: float
    error_correlation: float
    misfit: float
    points_used: int


@functools.lru_cache(maxsize=64)
def drawing_law(stretches: tuple[float, ...], stresses: tuple[float, ...]) -> DrawingLaw:
    """Drawing law nearest to points of a tensile test, by least squares.

    min over Y, Gp, 1/Jm of sum (P_i - Y/l_i - Gp (l_i - l_i^-2)/(1 - (l_i^2 + 2/l_i - 3)/Jm))^2

    With 1/Jm given the rest is linear, so the search has one dimension. Points from a stretch of
    1.5 on count, or from 1.2 on where there are too few; below, film is elastic or necks. With
    fewer than four of them Jm stays at a placeholder.

    Args:
        stretches: stretch ratios, rising [-].
        stresses: nominal stresses there [Pa].

    Returns:
        r and Jm with standard errors; these are widened where neighbouring residuals go together,
        which is how a curve of another shape shows.

    Raises:
        InputError: fewer than two points on the drawing part.
    """
    stretch, stress = np.array(stretches), np.array(stresses)
    drawn = stretch >= _FROM
    if np.count_nonzero(drawn) < 4:
        drawn = stretch >= _FROM_AT_LEAST
    x, y = stretch[drawn], stress[drawn]
    if len(x) < 2:
        raise InputError.one(
            "stretches",
            say("points where film is drawn: {count}", count=len(x)),
            say("at least 2 points from 20 % on"),
            say("Measure farther, into the drawing part."),
        )
    reach = float(x[-1] ** 2 + 2.0 / x[-1] - 3.0)
    inverse = 1.0 / _EXTENSIBILITY if len(x) < 4 else _best_inverse(x, y, 0.999 / reach)
    inverse = min(inverse, 0.999 / reach)
    flow, hardening = _linear_part(x, y, inverse)
    residuals = y - _law_stress(x, flow, hardening, inverse)
    covariance = _law_covariance(x, residuals, hardening, inverse, is_locking_free=len(x) >= 4)
    hardening = max(hardening, 1e-3 * max(flow, 1.0))
    gradient = np.array([[1.0 / hardening, -flow / hardening**2, 0.0], [0.0, 0.0, 1.0]])
    with np.errstate(invalid="ignore"):
        both = gradient[:, :2] @ covariance[:2, :2] @ gradient[:, :2].T
        both[0, 1] = gradient[0, :2] @ covariance[:2, 2]
        both[1, 1] = covariance[2, 2]
    ratio_error, inverse_error = (float(np.sqrt(v)) if v >= 0 else np.inf for v in np.diag(both))
    spread = ratio_error * inverse_error
    return DrawingLaw(
        yield_ratio=flow / hardening,
        yield_ratio_error=ratio_error,
        extensibility=1.0 / inverse if inverse > 0 else np.inf,
        extensibility_error=inverse_error / inverse**2 if inverse > 0 else np.inf,
        inverse_error=inverse_error,
        error_correlation=float(both[0, 1] / spread) if 0 < spread < np.inf else 0.0,
        misfit=float(np.sqrt(np.mean(residuals**2)) / np.mean(y)),
        points_used=len(x),
    )


def _basis(x: Array, inverse: FloatOrArray) -> tuple[Array, Array]:
    room = 1.0 - np.multiply.outer(np.asarray(inverse), x**2 + 2.0 / x - 3.0)
    return 1.0 / x, (x - x**-2.0) / room


def _law_stress(x: Array, flow: float, hardening: float, inverse: float) -> Array:
    yielding, network = _basis(x, inverse)
    return flow * yielding + hardening * network


def _linear_part(x: Array, y: Array, inverse: float) -> tuple[float, float]:
    """Flow stress and hardening modulus, neither below 0, for a given 1/Jm."""
    yielding, network = _basis(x, inverse)
    flow, hardening = np.linalg.lstsq(np.column_stack([yielding, network]), y, rcond=None)[0]
    if flow < 0:
        flow, hardening = 0.0, float(network @ y / (network @ network))
    elif hardening < 0:
        flow, hardening = float(yielding @ y / (yielding @ yielding)), 0.0
    return float(flow), float(hardening)


def _best_inverse(x: Array, y: Array, most: float) -> float:
    """1/Jm of the least sum of squares: a scan, then a narrower one round its best."""
    low, high = 0.0, most
    for _ in range(6):
        tries = np.linspace(low, high, 41)
        sums = []
        for inverse in tries.tolist():
            left = y - _law_stress(x, *_linear_part(x, y, inverse), inverse)
            sums.append(left @ left)
        best, step = int(np.argmin(sums)), tries[1] - tries[0]
        low, high = max(tries[best] - step, 0.0), min(tries[best] + step, most)
    return float(tries[best])


def _law_covariance(
    x: Array, residuals: Array, hardening: float, inverse: float, *, is_locking_free: bool
) -> Array:
    """Covariance of flow stress, hardening modulus and 1/Jm; infinite where no point is spare."""
    yielding, network = _basis(x, inverse)
    reach = x**2 + 2.0 / x - 3.0
    columns = [yielding, network]
    if is_locking_free:
        columns.append(hardening * network * reach / (1.0 - inverse * reach))
    covariance = np.full((3, 3), np.inf)
    freedom, count = len(x) - len(columns), len(columns)
    if freedom > 0:
        slopes = np.column_stack(columns)
        unit = np.sqrt(np.sum(slopes**2, axis=0))
        unit = np.where(unit > 0, unit, 1.0)
        scaled = slopes / unit
        variance = float(residuals @ residuals) / freedom * correlation_inflation(residuals)
        found = variance * np.linalg.pinv(scaled.T @ scaled, hermitian=True)
        covariance[:count, :count] = found / np.outer(unit, unit)
    return covariance


def correlation_inflation(residuals: Array) -> float:
    """How many times larger a variance is where neighbouring residuals go together.

    (1 + c)/(1 - c) of their lag-one correlation c, where it is clearly above 0; else 1

    Args:
        residuals: points less curve, in order, any unit.

    Returns:
        Factor [-].

    Source:
        Effective number of points of a first-order autoregression: Bayley and Hammersley, Journal
        of the Royal Statistical Society, Supplement 8 (1946) 184-197.
    """
    count, total = len(residuals), float(residuals @ residuals)
    if count < 8 or total <= 0.0:
        return 1.0
    together = float(residuals[:-1] @ residuals[1:]) / total
    if together < 2.0 / np.sqrt(count):
        return 1.0
    together = min(together, 0.95)
    return (1.0 + together) / (1.0 - together)
