"""What a customer may expect to save: sites that were tried, and physics with the film used today.

Effects are e = -ln(1 - saving). With x a draw of physics and m the mean of all draws, a site has

    e = m + b + s (x - m) + d,   d ~ N(0, tau^2)

b is what physics is off alike for all, s how much of its spread sites really have, tau what it
knows nothing of. What sites do not have of that spread, 1 - s^2 of its variance, is the same for
all of them, such as one film: it is in b. All three are learnt from sites that were tried; the film
that a customer uses today weighs the customer's own x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.sites.pooling import pool

__all__ = ["OFF", "OFF_ALTOGETHER", "OWN_SPREAD", "ExpectedEffect", "TriedSites", "expected_effect"]

Array = npt.NDArray[np.float64]

OFF_ALTOGETHER = 0.1
"""Chance that physics with its ranges is off altogether [-] (engineering estimate)."""

OFF = 0.04
"""Standard deviation of what physics is off otherwise, alike for all [-] (engineering estimate)."""

OWN_SPREAD = 0.02
"""Median of the spread that sites have beside physics, half-normal [-] (engineering estimate)."""

_WIDE = 0.15
"""Standard deviation of the mean effect, about none, where physics is off altogether [-]."""

_STEP = 0.0025
_GRID = np.arange(-0.8, 2.0 + 0.5 * _STEP, _STEP)
_SHARES = np.array([0.05, 0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 1.0, 1.2])
_SHARE_WEIGHTS = np.array([1 / 12] * 6 + [1 / 6] * 3)
"""Parts of the spread of physics that sites may have, with their chances beforehand: half of it
that it is about all (engineering estimate)."""

_ENOUGH_SITES, _BELIEVED, _FALLS = 3, 0.95, 1.0
"""Of sites that limit a quote by themselves: how many, their range of a further site, and the part
of that range over which belief falls off beyond it (engineering estimate)."""

_OWN = np.geomspace(0.005, 0.2, 7)
_HALF_NORMAL_MEDIAN = 0.6744897501960817


@dataclass(frozen=True, slots=True)
class TriedSites:
    """Sites that were tried: effects and their standard errors, shape (sites,) [-]."""

    effects: Array
    standard_errors: Array


@dataclass(frozen=True, slots=True)
class ExpectedEffect:
    """Densities of the effect at the customer, on a grid.

    Args:
        effects: the grid, even, shape (grid,) [-].
        by_physics: physics alone, weighed by the film used today.
        by_sites: sites, and physics before them, without the film used today.
        expected: everything together.
    """

    effects: Array
    by_physics: Array
    by_sites: Array
    expected: Array

    def quantiles(self, density: Array, shares: Array) -> Array:
        """Effects below which shares of a density lie."""
        return np.interp(shares, _cumulated(density), self.effects)

    def drawn(self, count: int, random: np.random.Generator) -> Array:
        """Even draws of the expected effect, in random order, shape (count,)."""
        shares = (random.permutation(count) + 0.5) / count
        return self.quantiles(self.expected, shares)


def expected_effect(
    physics: Array, likelihood: Array, sites: TriedSites | None = None
) -> ExpectedEffect:
    """What sites and physics say of a customer's effect.

    Args:
        physics: drawn effects, shape (draws,) [-].
        likelihood: of the film used today in each draw, up to a factor; ones where unknown.
        sites: that were tried; None for none.

    Source:
        Sites as draws of one population: Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), 5;
        what a model is off: Kennedy and O'Hagan, J. R. Statist. Soc. B 63 (2001) 425-464.
    """
    middle = float(physics.mean())
    even = np.ones_like(physics)
    away = physics - middle
    wide = float(physics.std())
    offs = _GRID - _GRID[len(_GRID) // 2]  # b, so that shifts are whole steps
    weights = np.zeros((len(_SHARES), len(_OWN), len(offs)))
    plain, told = np.zeros_like(weights), np.zeros_like(weights)
    for row, share in enumerate(_SHARES):
        common = 0.0 if sites is None else math.sqrt(max(1.0 - share**2, 0.0)) * wide
        prior = (1.0 - OFF_ALTOGETHER) * _normal(offs, math.hypot(OFF, common))
        prior = prior + OFF_ALTOGETHER * _normal(offs + middle, _WIDE)
        spread = _counted(share * away, even)
        weighed = _counted(share * away, likelihood)
        for column, own in enumerate(_OWN):
            chance = _SHARE_WEIGHTS[row] * own * _normal(own, OWN_SPREAD / _HALF_NORMAL_MEDIAN)
            weights[row, column] = prior * chance * _seen(spread, own, offs + middle, sites)
            plain[row, column] = _convolved(spread, own)
            told[row, column] = _convolved(weighed, own)
    weights /= weights.sum()
    within = _within(sites)
    found = [_even(within * _mixed(each, weights, middle)) for each in (plain, told)]
    return ExpectedEffect(_GRID, _even(_convolved(_counted(physics, likelihood), 0.01)), *found)


def _within(sites: TriedSites | None) -> Array:
    """1 where sites by themselves let a further one lie, falling off beyond: they are believed."""
    if sites is None or len(sites.effects) < _ENOUGH_SITES:
        return np.ones_like(_GRID)
    found = pool(sites.effects, sites.standard_errors, confidence=_BELIEVED)
    low, high = found.prediction_low, found.prediction_high
    beyond = np.maximum(np.maximum(low - _GRID, _GRID - high), 0.0)
    falls: Array = np.exp(-0.5 * (beyond / (_FALLS * (high - low))) ** 2)
    return falls


def _seen(spread: Array, own: float, means: Array, sites: TriedSites | None) -> Array:
    """Likelihood of what sites measured, at each mean effect; the largest of it is arbitrary."""
    found = np.ones_like(means)
    if sites is None:
        return found
    for effect, error in zip(sites.effects, sites.standard_errors, strict=True):
        density = _convolved(spread, float(np.hypot(own, error)))
        found = found * np.interp(effect - means, _GRID, density, left=0.0, right=0.0)
    return found


def _mixed(parts: Array, weights: Array, middle: float) -> Array:
    """Density of the effect: spreads about each mean, with the mean's weight."""
    size = len(_GRID)
    sums = np.maximum(parts.sum(axis=-1, keepdims=True), 1e-300)
    length = 1 << (2 * size).bit_length()
    spectrum = np.fft.rfft(parts / sums, length) * np.fft.rfft(weights, length)
    whole = np.fft.irfft(spectrum.sum(axis=(0, 1)), length)[: 2 * size - 1]
    # Both hang on the grid: the sum of their places is off by its middle and by the mean.
    at = 2.0 * _GRID[0] - _GRID[size // 2] + middle + _STEP * np.arange(len(whole))
    return _even(np.maximum(np.interp(_GRID, at, whole, left=0.0, right=0.0), 0.0))


def _counted(values: Array, weights: Array) -> Array:
    ends = np.concatenate([_GRID - 0.5 * _STEP, [_GRID[-1] + 0.5 * _STEP]])
    inside = np.clip(values, _GRID[0], _GRID[-1])
    counts: Array = np.histogram(inside, ends, weights=weights)[0] / (len(values) * _STEP)
    return counts


def _convolved(density: Array, spread: float) -> Array:
    reach = min(int(np.ceil(5.0 * spread / _STEP)) + 1, len(_GRID) - 1)
    offsets = np.asarray(np.arange(-reach, reach + 1) * _STEP, dtype=np.float64)
    kernel = _normal(offsets, max(spread, 0.5 * _STEP))
    whole: Array = np.convolve(density, kernel / kernel.sum(), mode="full")[reach:-reach]
    return whole


def _normal(values: Array | float, spread: float) -> Array:
    density: Array = np.exp(-0.5 * (np.asarray(values) / spread) ** 2)
    normal: Array = density / (np.sqrt(2.0 * np.pi) * spread)
    return normal


def _even(density: Array) -> Array:
    even: Array = density / (density.sum() * _STEP)
    return even


def _cumulated(density: Array) -> Array:
    halves = 0.5 * (density[1:] + density[:-1]) * _STEP
    return np.concatenate([[0.0], np.cumsum(halves)])
