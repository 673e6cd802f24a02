"""What a customer may expect to save: sites that were tried, and physics with the film used today.

Effects are e = -ln(1 - saving). Sites: y_i ~ N(mu, tau^2 + s_i^2), a further one e ~ N(mu, tau^2).
Before any site, mu is as physics has it, but one time in ten that is off altogether. The film that
the customer uses today weighs each effect by how likely it is with that effect, by physics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["DIFFERENT", "OFF_ALTOGETHER", "ExpectedEffect", "TriedSites", "expected_effect"]

Array = npt.NDArray[np.float64]

OFF_ALTOGETHER = 0.1
"""Chance that physics with its ranges is off altogether [-] (engineering estimate)."""

DIFFERENT = 0.04
"""Middle of what is taken for the spread between sites, a half-normal one [-] (placeholder)."""

_WIDE = 0.15
"""Standard deviation of effects, about none, where physics is off altogether [-]."""

_BANDWIDTH = 0.02
_LEAST_SEEN = 0.002
"""Share of the draws near an effect below which the film used today says little of it."""

_GRID = np.linspace(-0.8, 2.0, 1121)
_SPREADS = np.geomspace(0.004, 0.5, 24)
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
        The normal model of sites: Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), 5.4.
        Weighing what is known of a margin with a model of all else: R. C. Jeffrey, The Logic of
        Decision (1965), 11.
    """
    counts = _counted(physics, np.ones_like(physics))
    seen = _smoothed(counts)
    weighed = _smoothed(_counted(physics, likelihood))
    mean = float(likelihood.mean())
    least = _LEAST_SEEN / (np.sqrt(2.0 * np.pi) * _BANDWIDTH)
    told = (weighed + least * mean) / (seen + least)
    middle = (1.0 - OFF_ALTOGETHER) * seen + OFF_ALTOGETHER * _normal(_GRID, _WIDE)
    by_sites = _further_site(middle, sites)
    return ExpectedEffect(_GRID, _even(weighed), by_sites, _even(by_sites * told))


def _further_site(middle: Array, sites: TriedSites | None) -> Array:
    """Density of a further site's effect, given one of the mean of all sites beforehand."""
    scale = DIFFERENT / _HALF_NORMAL_MEDIAN
    logs = np.log(np.maximum(middle, 1e-300)) - 0.5 * (_SPREADS[:, None] / scale) ** 2
    logs = logs + np.log(_SPREADS[:, None])  # even steps of the logarithm
    if sites is not None:
        for effect, error in zip(sites.effects, sites.standard_errors, strict=True):
            variance = _SPREADS[:, None] ** 2 + error**2
            logs = logs - 0.5 * ((effect - _GRID) ** 2 / variance + np.log(variance))
    weights = np.exp(logs - logs.max())
    found = np.zeros_like(_GRID)
    for spread, row in zip(_SPREADS, weights, strict=True):
        found += _convolved(row, spread)
    return _even(found)


def _counted(values: Array, weights: Array) -> Array:
    step = _GRID[1] - _GRID[0]
    ends = np.concatenate([_GRID - 0.5 * step, [_GRID[-1] + 0.5 * step]])
    inside = np.clip(values, _GRID[0], _GRID[-1])
    counts: Array = np.histogram(inside, ends, weights=weights)[0] / (len(values) * step)
    return counts


def _smoothed(density: Array) -> Array:
    return _convolved(density, _BANDWIDTH)


def _convolved(density: Array, spread: float) -> Array:
    step = _GRID[1] - _GRID[0]
    reach = min(int(np.ceil(5.0 * spread / step)) + 1, len(_GRID) - 1)
    kernel = _normal(np.arange(-reach, reach + 1) * step, max(spread, 0.5 * step))
    whole: Array = np.convolve(density, kernel / kernel.sum(), mode="full")[reach:-reach]
    return whole


def _normal(values: Array, spread: float) -> Array:
    density: Array = np.exp(-0.5 * (values / spread) ** 2) / (np.sqrt(2.0 * np.pi) * spread)
    return density


def _even(density: Array) -> Array:
    even: Array = density / (density.sum() * (_GRID[1] - _GRID[0]))
    return even


def _cumulated(density: Array) -> Array:
    step = _GRID[1] - _GRID[0]
    halves = 0.5 * (density[1:] + density[:-1]) * step
    return np.concatenate([[0.0], np.cumsum(halves)])
