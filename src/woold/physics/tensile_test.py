"""Parts of a tensile test: its break, its straight part and toe, and points that stand for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.words import say

__all__ = [
    "FIT_FROM",
    "ElasticFit",
    "curve_points",
    "fit_elastic",
    "interval_quantile",
    "points_before_break",
]

Array = npt.NDArray[np.float64]

FIT_FROM = 1.5  # below it a specimen is elastic or necks; placeholder, 1.2 to 2
_CONFIDENCE = 0.95
_STRAIGHT = (0.2, 0.6)  # part of the yield stress between which film is taken as straight
_STRAIGHT_OF_FEW = (0.1, 0.8)  # where that holds fewer than three points
_LONGEST_TOE = 0.1


@dataclass(frozen=True, slots=True)
class ElasticFit:
    """Straight part of a tensile test below yield, and the toe before it.

    Args:
        modulus: slope of true stress on ln(stretch), E [Pa].
        low, high: its 95 % interval [Pa].
        standard_error: of the modulus [Pa].
        toe: elongation at which the straight part begins, 0 where it begins at the start [-].
        toe_error: its standard error [-].
    """

    modulus: float
    low: float
    high: float
    standard_error: float
    toe: float
    toe_error: float


def points_before_break(stretches: Array, stresses: Array) -> int:
    """How many points of a test come before the break.

    From the end, points below half of the largest drawing stress are left out, and then those that
    fall by more than a tenth on the point before. A yield peak higher than the end stays.

    Args:
        stretches: stretch ratios, in the order of the test [-], shape (n,).
        stresses: nominal stresses there [Pa], shape (n,).

    Returns:
        Number of points from the first on.
    """
    drawn = stretches >= FIT_FROM
    largest = float(np.max(stresses[drawn] if np.any(drawn) else stresses))
    count = len(stresses)
    while count > 1 and stresses[count - 1] < 0.5 * largest:
        count -= 1
    while count > 1 and stresses[count - 1] < 0.9 * stresses[count - 2]:
        count -= 1
    return count


def fit_elastic(stretches: Array, stresses: Array) -> ElasticFit | None:
    """Straight part of a tensile test below yield, and the toe before it.

    lambda P = E (ln lambda - ln lambda_0), over the points from a fifth to three fifths of the
    yield stress; the toe lambda_0 - 1 is where that line meets zero stress

    Args:
        stretches: stretch ratios, rising [-], shape (n,).
        stresses: nominal stresses there [Pa], shape (n,).

    Returns:
        Modulus and toe; None where fewer than three points lie there, or no slope shows.

    Source:
        Toe compensation as the annexes of ASTM D882 and D638 describe it (from memory).
    """
    before = stretches < FIT_FROM
    if np.count_nonzero(before) < 3:
        return None
    x, y = stretches[before], stresses[before]
    part = _straight_part(y, _STRAIGHT)
    if part.stop - part.start < 3:
        part = _straight_part(y, _STRAIGHT_OF_FEW)
    count = part.stop - part.start
    strain, true = np.log(x[part]), (x * y)[part]
    if count < 3:
        return None
    middle = float(np.mean(strain))
    spread = float(np.sum((strain - middle) ** 2))
    slope = float((strain - middle) @ (true - np.mean(true))) / spread
    if slope <= 0:
        return None
    start_strain = middle - float(np.mean(true)) / slope
    residual = true - slope * (strain - start_strain)
    freedom = count - 2
    variance = float(residual @ residual) / freedom
    error = float(np.sqrt(variance / spread))
    toe_error = float(
        np.sqrt(variance * (1.0 / count + (middle - start_strain) ** 2 / spread)) / slope
    )
    reach = interval_quantile(freedom) * error
    # A line that begins before the start is the bend of film without a toe.
    is_toe = start_strain > 2.0 * toe_error and start_strain < np.log1p(_LONGEST_TOE)
    # Stretches that a toe made too large made the true stresses too large as well.
    scale = float(np.exp(-start_strain)) if is_toe else 1.0
    return ElasticFit(
        modulus=scale * slope,
        low=scale * (slope - reach),
        high=scale * (slope + reach),
        standard_error=scale * error,
        toe=float(np.expm1(start_strain)) if is_toe else 0.0,
        toe_error=toe_error,
    )


def _straight_part(stresses: Array, shares: tuple[float, float]) -> slice:
    """Points of the first rise between two shares of the largest stress."""
    # Neighbours choose the points, not their own noise, which would bend the line.
    padded = np.pad(stresses, 2, mode="edge")
    smooth = np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1)
    low, high = (share * float(np.max(smooth)) for share in shares)
    past = np.flatnonzero(smooth > high)
    last = int(past[0]) if len(past) else len(stresses)
    before = np.flatnonzero(smooth[:last] < low)
    return slice(int(before[-1]) + 1 if len(before) else 0, last)


def interval_quantile(freedom: int) -> float:
    """Standard errors on either side of a 95 % interval.

    Args:
        freedom: degrees of freedom of the error [-].

    Returns:
        Quantile of Student's t [-].
    """
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.5 + 0.5 * _CONFIDENCE))


def curve_points(stretches: Array, stresses: Array, count: int = 24) -> tuple[Array, Array]:
    """Points that stand for a tensile test, for a film whose curve is of no known form.

    Means over windows of the elongation, narrow at first and wider later; they end where the
    curve still rises.

    Args:
        stretches: stretch ratios of the test, rising [-], shape (n,).
        stresses: nominal stresses there [Pa], shape (n,).
        count: most points to return.

    Returns:
        Stretch ratios and nominal stresses.

    Raises:
        InputError: a curve that falls to its end, or fewer than four points.
    """
    above = (stretches > 1.0) & (stresses > 0.0)
    x, y = stretches[above], stresses[above]
    if len(x) >= 4:
        edges = 1.0 + (x[-1] - 1.0 + 1e-12) * np.linspace(0.0, 1.0, count + 1) ** 2
        place = np.clip(np.searchsorted(edges, x, side="right") - 1, 0, count - 1)
        used = np.unique(place)
        x = np.array([np.mean(x[place == each]) for each in used])
        y = np.array([np.mean(y[place == each]) for each in used])
        while len(y) > 1 and y[-1] <= y[-2]:
            x, y = x[:-1], y[:-1]
    if len(x) < 4:
        raise InputError.one(
            "stresses",
            say("a curve that falls to its end"),
            say("at least 4 points of a curve that rises to its end"),
            say("A film that only softens has no stretch at which it draws evenly."),
        )
    return x, y
