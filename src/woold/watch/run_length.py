"""Average run length: how many values a chart takes to signal, with and without a shift.

Limits are set from the false alarms that people will put up with, instead of from habit, and wide
enough for the set-up phase having been short: its mean and its correlation of neighbours are off
by an unknown amount, over which false alarms are averaged.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "cusum_limit_for",
    "cusum_run_length",
    "ewma_run_length",
    "ewma_width_for",
    "gap_limit_for",
    "gap_run_length",
]

Array = NDArray[np.float64]

_NODES = 48
_KNOWN = 10**9
"""Values of a set-up phase that leaves nothing to estimate."""
_LONGEST = 1e12
_MOST_ALIKE = 0.6
_STATES = 200


@functools.cache
def _legendre() -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return nodes, weights


@functools.cache
def _hermite() -> tuple[Array, Array]:
    """Places and weights of a standard normal error."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(5)
    return nodes, weights / weights.sum()


def _solved(kernel: Array) -> Array:
    """L(start) of L = 1 + K L, for each of a stack of kernels."""
    size = kernel.shape[-1]
    lengths = np.linalg.solve(np.eye(size) - kernel, np.ones((*kernel.shape[:-1], 1)))[..., 0, 0]
    return np.where(lengths > 0.0, np.minimum(lengths, _LONGEST), _LONGEST)


def _one_sided_cusum(slack: Array, limit: Array, shift: Array) -> Array:
    """Run length of the upper sum from 0, by Gauss-Legendre points (Nyström).

    L(s) = 1 + L(0) Phi(k - s - d) + ∫ L(y) phi(y + k - s - d) dy over 0 to the limit.
    """
    from scipy.special import ndtr

    nodes, weights = _legendre()
    half = 0.5 * limit[..., None]
    points = np.concatenate([np.zeros_like(half), half * (nodes + 1.0)], axis=-1)
    offset = points[..., None, 1:] + (slack - shift)[..., None, None] - points[..., :, None]
    kernel = np.empty((*points.shape, points.shape[-1]))
    kernel[..., 0] = ndtr((slack - shift)[..., None] - points)
    gain = (half * weights)[..., None, :]
    kernel[..., 1:] = gain * np.exp(-0.5 * offset**2) / math.sqrt(2.0 * math.pi)
    return _solved(kernel)


def cusum_run_length(slack: ArrayLike, limit: ArrayLike, shift: ArrayLike = 0.0) -> Array:
    """Run length of the two-sided cumulative sums: 1/L = 1/L+ + 1/L-.

    Args:
        slack: k [sigma], any shape; the others go along.
        limit: h [sigma].
        shift: of the mean [sigma].

    Source: Page, Biometrika 41 (1954) 100; van Dobben de Bruyn, Cumulative Sum Tests (1968).
    """
    k, h, d = np.broadcast_arrays(*(np.asarray(each, float) for each in (slack, limit, shift)))
    return np.asarray(1.0 / (1.0 / _one_sided_cusum(k, h, d) + 1.0 / _one_sided_cusum(k, h, -d)))


def ewma_run_length(weight: float, width: ArrayLike, shift: ArrayLike = 0.0) -> Array:
    """Run length of the exponentially weighted mean with constant limits, started at the centre.

    L(u) = 1 + 1/weight ∫ L(y) phi((y - (1 - weight) u)/weight - shift) dy over ± the limit.

    Args:
        weight: of the newest value.
        width: of the limits [sigma of the weighted mean], any shape.
        shift: of the mean [sigma], the same.

    Source: Crowder, J. Quality Technology 19 (1987) 161.
    """
    nodes, weights = _legendre()
    wide, shifted = np.broadcast_arrays(np.asarray(width, float), np.asarray(shift, float))
    limit = (wide * math.sqrt(weight / (2.0 - weight)))[..., None]
    nothing = np.zeros_like(limit)
    points = np.concatenate([nothing, limit * nodes], axis=-1)
    gain = np.concatenate([nothing, limit * weights], axis=-1)
    offset = (points[..., None, :] - (1.0 - weight) * points[..., :, None]) / weight
    offset = offset - shifted[..., None, None]
    kernel = gain[..., None, :] * np.exp(-0.5 * offset**2) / (math.sqrt(2.0 * math.pi) * weight)
    return _solved(kernel)


def _set_up_errors(setup: int) -> tuple[Array, Array, Array]:
    """Errors of the mean [sigma], errors of the correlation of neighbours, and their weights."""
    nodes, weights = _hermite()
    error = 1.0 / math.sqrt(setup)
    means, alike = np.meshgrid(nodes * error, nodes * error)
    return means, np.clip(alike, -_MOST_ALIKE, _MOST_ALIKE), np.outer(weights, weights)


def _limit_for(wanted: float, run_lengths: Callable[[float], Array], weights: Array) -> float:
    """Limit at which false alarms, averaged over set-up phases, come as seldom as wanted."""
    from scipy.optimize import brentq

    def surplus(limit: float) -> float:
        return -math.log(float((weights / run_lengths(limit)).sum()) * wanted)

    low, high = 0.1, 1.0
    while surplus(high) < 0.0:
        low, high = high, 1.5 * high
    return float(brentq(surplus, low, high, xtol=1e-4))


def _setup_class(setup: int) -> int:
    """Set-up sizes in steps of a fifth, rounded down, so that limits are reckoned once for many."""
    if setup >= 100_000:
        return _KNOWN
    return int(20.0 * 1.2 ** math.floor(math.log(max(setup, 20) / 20.0) / math.log(1.2) + 1e-9))


def cusum_limit_for(run_length: float, slack: float = 0.5, setup: int = _KNOWN) -> float:
    """Decision limit h [sigma] that gives this run length without a shift.

    Args:
        run_length: values between two false alarms, above 4 and at most 1e6; the mean over set-up
            phases of the rate of false alarms is one in so many.
        slack: k [sigma].
        setup: values of the set-up phase.
    """
    return _cusum_limit_for(run_length, slack, _setup_class(setup))


def ewma_width_for(run_length: float, weight: float = 0.2, setup: int = _KNOWN) -> float:
    """Width [sigma of the weighted mean] that gives this run length without a shift.

    Args:
        run_length: as for :func:`cusum_limit_for`.
        weight: of the newest value, at least 0.02.
        setup: values of the set-up phase.
    """
    return _ewma_width_for(run_length, weight, _setup_class(setup))


@functools.lru_cache(maxsize=256)
def _cusum_limit_for(run_length: float, slack: float, setup: int) -> float:
    means, alike, weights = _set_up_errors(setup)
    # Neighbours that are a little alike act like values that spread more.
    spread = np.sqrt((1.0 + alike) / (1.0 - alike))

    def run_lengths(limit: float) -> Array:
        return cusum_run_length(slack / spread, limit / spread, means / spread)

    return _limit_for(run_length, run_lengths, weights)


@functools.lru_cache(maxsize=256)
def _ewma_width_for(run_length: float, weight: float, setup: int) -> float:
    means, alike, weights = _set_up_errors(setup)
    spread = np.sqrt((1.0 + alike * (1.0 - weight)) / (1.0 - alike * (1.0 - weight)))

    def run_lengths(width: float) -> Array:
        return ewma_run_length(weight, width / spread, means / spread)

    return _limit_for(run_length, run_lengths, weights)


def gap_run_length(slack: float, limit: float, gap: float = 1.0, *, longer: bool = False) -> float:
    """Breaks until the cumulative sum of gaps between them signals, gaps exponential.

    Breaks that come quicker: S = max(0, S + slack - gap). Slower, with ``longer``: S = max(0, S +
    gap - slack). Reckoned by a Markov chain of 200 states between 0 and the limit.

    Args:
        slack: in units of the mean gap in control.
        limit: the same.
        gap: mean gap, the same.
        longer: look for gaps that grow.

    Source: Brook & Evans, Biometrika 59 (1972) 539 (the chain); Lucas, Technometrics 27 (1985)
        129, Vardeman & Ray, Technometrics 27 (1985) 145 (cumulative sums of exponential gaps).
    """
    width = 2.0 * limit / (2.0 * _STATES - 1.0)
    states = width * np.arange(_STATES)
    # Upper edge of each state that a step from a state must stay under; the first holds all below.
    edges = states[None, :] + 0.5 * width - states[:, None]

    def under(step: Array) -> Array:
        """Chance that the step is at most this."""
        if longer:
            return np.asarray(-np.expm1(-np.maximum(step + slack, 0.0) / gap))
        return np.asarray(
            np.where(step >= slack, 1.0, np.exp(-np.maximum(slack - step, 0.0) / gap))
        )

    chances = np.diff(under(edges), axis=1, prepend=0.0)
    lengths = np.linalg.solve(np.eye(_STATES) - chances, np.ones(_STATES))
    return float(min(max(lengths[0], 1.0), _LONGEST))


def gap_limit_for(breaks: float, slack: float, *, longer: bool = False) -> float:
    """Limit that gives so many breaks between two false alarms.

    Args:
        breaks: at least 2.
        slack, longer: see :func:`gap_run_length`.
    """
    # Rounded to a tenth of its logarithm, so that limits are reckoned once for many machines.
    return _gap_limit_for(round(10.0 * math.log(max(breaks, 2.0))) / 10.0, slack, longer)


@functools.lru_cache(maxsize=256)
def _gap_limit_for(log_breaks: float, slack: float, longer: bool) -> float:
    from scipy.optimize import brentq

    def surplus(limit: float) -> float:
        return math.log(gap_run_length(slack, limit, longer=longer)) - log_breaks

    high = 1.0
    while surplus(high) < 0.0:
        high *= 1.5
    return float(brentq(surplus, 0.02, high, xtol=1e-4)) if surplus(0.02) < 0.0 else 0.02
