"""Average run length: how many values a chart takes to signal, with and without a shift.

Limits are set from the false alarms that people will put up with, instead of from habit, and wide
enough for centre and sigma having been estimated from a set-up phase.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "cusum_limit_for",
    "cusum_run_length",
    "ewma_run_length",
    "ewma_width_for",
    "individuals_run_length",
    "individuals_width_for",
    "run_length_after_set_up",
]

_NODES = 60
_KNOWN = 10**9
"""Values of a set-up phase that leaves nothing to estimate."""


@functools.cache
def _legendre() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return nodes, weights


def individuals_run_length(width: float, shift: float = 0.0) -> float:
    """1 / P(|z + shift| > width), z standard normal.

    Args:
        width: of the limits [sigma].
        shift: of the mean [sigma].
    """
    from scipy.special import ndtr

    return 1.0 / max(float(ndtr(-width - shift) + ndtr(-width + shift)), 1e-300)


def _one_sided_cusum(slack: float, limit: float, shift: float) -> float:
    """Run length of the upper sum from 0, by Gauss-Legendre points (Nyström).

    L(s) = 1 + L(0) Phi(k - s - d) + ∫ L(y) phi(y + k - s - d) dy over 0 to the limit.
    """
    from scipy.special import ndtr

    nodes, weights = _legendre()
    points = np.concatenate([[0.0], 0.5 * limit * (nodes + 1.0)])
    gain = 0.5 * limit * weights
    offset = points[None, 1:] + slack - points[:, None] - shift
    kernel = np.empty((points.size, points.size))
    kernel[:, 0] = ndtr(slack - points - shift)
    kernel[:, 1:] = gain * np.exp(-0.5 * offset**2) / math.sqrt(2.0 * math.pi)
    return float(np.linalg.solve(np.eye(points.size) - kernel, np.ones(points.size))[0])


def cusum_run_length(slack: float, limit: float, shift: float = 0.0) -> float:
    """Run length of the two-sided cumulative sums: 1/L = 1/L+ + 1/L-.

    Args:
        slack: k [sigma].
        limit: h [sigma].
        shift: of the mean [sigma].

    Source: Page, Biometrika 41 (1954) 100; van Dobben de Bruyn, Cumulative Sum Tests (1968).
    """
    upward = _one_sided_cusum(slack, limit, shift)
    downward = _one_sided_cusum(slack, limit, -shift)
    return 1.0 / (1.0 / upward + 1.0 / downward)


def ewma_run_length(weight: float, width: float, shift: float = 0.0) -> float:
    """Run length of the exponentially weighted mean with constant limits, started at the centre.

    L(u) = 1 + 1/weight ∫ L(y) phi((y - (1 - weight) u)/weight - shift) dy over ± the limit.

    Args:
        weight: of the newest value.
        width: of the limits [sigma of the weighted mean].
        shift: of the mean [sigma].

    Source: Crowder, J. Quality Technology 19 (1987) 161.
    """
    nodes, weights = _legendre()
    limit = width * math.sqrt(weight / (2.0 - weight))
    points = np.concatenate([[0.0], limit * nodes])
    gain = np.concatenate([[0.0], limit * weights])
    offset = (points[None, :] - (1.0 - weight) * points[:, None]) / weight - shift
    kernel = gain * np.exp(-0.5 * offset**2) / (math.sqrt(2.0 * math.pi) * weight)
    return float(np.linalg.solve(np.eye(points.size) - kernel, np.ones(points.size))[0])


def run_length_after_set_up(run_length: Callable[[float, float], float], setup: int) -> float:
    """Values between two false alarms with an unlucky set-up phase.

    Unlucky: its centre one standard error off, 1/sqrt(n) sigma, and its sigma one standard error
    too small, .909/sqrt(n) of itself; more than four set-up phases of five do better.

    Args:
        run_length: of a chart, from the scale of its limits (1 as drawn) and the shift [sigma].
        setup: n, values of the set-up phase, at least 20.

    Source: .909² = .826 is n times the variance of mean moving range over d2, many normal values
        (Cryer & Ryan, J. Quality Technology 22 (1990) 187).
    """
    error = 1.0 / math.sqrt(setup)
    return run_length(1.0 - 0.909 * error, error)


def _root(run_length: Callable[[float], float], wanted: float) -> float:
    """Limit at which a run length, which grows with it, is the one wanted."""
    from scipy.optimize import brentq

    low, high = 0.1, 1.0
    while run_length(high) < wanted:
        low, high = high, 1.5 * high

    def surplus(limit: float) -> float:
        return math.log(run_length(limit) / wanted)

    return float(brentq(surplus, low, high, xtol=1e-5))


def _setup_class(setup: int) -> int:
    """Set-up sizes in steps of a half, rounded down, so that limits are reckoned once for many."""
    if setup >= 100_000:
        return _KNOWN
    return int(20.0 * 1.5 ** math.floor(math.log(max(setup, 20) / 20.0) / math.log(1.5) + 1e-9))


def individuals_width_for(run_length: float, setup: int = _KNOWN) -> float:
    """Width [sigma] of limits that give this run length without a shift.

    Args:
        run_length: values between two false alarms, above 4 and at most 1e6.
        setup: values of the set-up phase.
    """
    return _individuals_width_for(run_length, _setup_class(setup))


def cusum_limit_for(run_length: float, slack: float = 0.5, setup: int = _KNOWN) -> float:
    """Decision limit h [sigma] that gives this run length without a shift.

    Args:
        run_length: values between two false alarms, above 4 and at most 1e6.
        slack: k [sigma].
        setup: values of the set-up phase.
    """
    return _cusum_limit_for(run_length, slack, _setup_class(setup))


def ewma_width_for(run_length: float, weight: float = 0.2, setup: int = _KNOWN) -> float:
    """Width [sigma of the weighted mean] that gives this run length without a shift.

    Args:
        run_length: values between two false alarms, above 4 and at most 1e6.
        weight: of the newest value, at least 0.02.
        setup: values of the set-up phase.
    """
    return _ewma_width_for(run_length, weight, _setup_class(setup))


@functools.lru_cache(maxsize=256)
def _individuals_width_for(run_length: float, setup: int) -> float:
    def after(width: float) -> float:
        return run_length_after_set_up(
            lambda scale, shift: individuals_run_length(width * scale, shift), setup
        )

    return _root(after, run_length)


@functools.lru_cache(maxsize=256)
def _cusum_limit_for(run_length: float, slack: float, setup: int) -> float:
    def after(limit: float) -> float:
        return run_length_after_set_up(
            lambda scale, shift: cusum_run_length(slack * scale, limit * scale, shift), setup
        )

    return _root(after, run_length)


@functools.lru_cache(maxsize=256)
def _ewma_width_for(run_length: float, weight: float, setup: int) -> float:
    def after(width: float) -> float:
        return run_length_after_set_up(
            lambda scale, shift: ewma_run_length(weight, width * scale, shift), setup
        )

    return _root(after, run_length)
