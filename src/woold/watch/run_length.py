"""Average run length: how many loads a chart takes to signal, with and without a shift.

Limits are set from the false alarms that people will put up with, instead of from habit.
"""

from __future__ import annotations

import functools
import math

import numpy as np

__all__ = [
    "cusum_limit_for",
    "cusum_run_length",
    "cusum_run_length_after_set_up",
    "ewma_run_length",
    "ewma_width_for",
    "individuals_run_length",
    "individuals_width_for",
]

_NODES = 80


@functools.cache
def _legendre() -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]], ...]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return nodes, weights


def individuals_run_length(width: float, shift: float = 0.0) -> float:
    """1 / P(|z + shift| > width), z standard normal.

    Args:
        width: of the limits [sigma].
        shift: of the mean [sigma].
    """
    from scipy.special import ndtr

    return 1.0 / float(ndtr(-width - shift) + ndtr(-width + shift))


def individuals_width_for(run_length: float) -> float:
    """Width [sigma] of limits that give this run length without a shift."""
    from scipy.special import ndtri

    return -float(ndtri(0.5 / run_length))


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


@functools.lru_cache(maxsize=64)
def cusum_run_length_after_set_up(slack: float, limit: float, setup_loads: int) -> float:
    """Run length without a shift when centre and sigma were estimated from some loads.

    The centre is off by z/sqrt(n) sigma and the mean moving range by .909 z'/sqrt(n) of itself; the
    rate 1/L is averaged over both normal errors.

    Args:
        slack, limit: as for :func:`cusum_run_length`.
        setup_loads: n, values of the set-up phase.

    Source: .909² = .826 is n times the variance of mean moving range over d2, many normal values
        (Cryer & Ryan, J. Quality Technology 22 (1990) 187).
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(7)
    weights = weights / weights.sum()
    error = 1.0 / math.sqrt(setup_loads)
    rate = 0.0
    for spread_node, spread_weight in zip(nodes, weights, strict=True):
        scale = max(0.3, 1.0 + 0.909 * error * float(spread_node))
        for node, weight in zip(nodes, weights, strict=True):
            length = cusum_run_length(slack * scale, limit * scale, float(node) * error)
            rate += float(spread_weight * weight) / length
    return 1.0 / rate


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


@functools.lru_cache(maxsize=64)
def cusum_limit_for(run_length: float, slack: float = 0.5) -> float:
    """Decision limit h [sigma] that gives this run length without a shift.

    Args:
        run_length: loads between two false alarms, above 4 and at most 1e6.
        slack: k [sigma].
    """
    from scipy.optimize import brentq

    def surplus(limit: float) -> float:
        return math.log(cusum_run_length(slack, limit) / run_length)

    return float(brentq(surplus, 0.1, 12.0 / slack, xtol=1e-6))


@functools.lru_cache(maxsize=64)
def ewma_width_for(run_length: float, weight: float = 0.2) -> float:
    """Width [sigma of the weighted mean] that gives this run length without a shift.

    Args:
        run_length: loads between two false alarms, above 4 and at most 1e6.
        weight: of the newest value, at least 0.02.
    """
    from scipy.optimize import brentq

    def surplus(width: float) -> float:
        return math.log(ewma_run_length(weight, width) / run_length)

    return float(brentq(surplus, 0.2, 6.0, xtol=1e-6))
