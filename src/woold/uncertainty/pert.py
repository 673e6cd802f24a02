"""PERT: what the range of a placeholder or an estimate is taken for, wherever it is used.

A beta distribution of 1 + 4 g and 5 - 4 g, with g the best guess as a share of the range: likeliest
at the best guess, nothing beyond the ends, mean (low + 4 best guess + high)/6.

Source:
    Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959) 646-669 (from memory).
"""

from __future__ import annotations

import functools
import math

import numpy as np
import numpy.typing as npt

__all__ = ["pert_at_scores", "pert_at_shares", "pert_shares"]

Array = npt.NDArray[np.float64]

_SCORES = np.linspace(-8.0, 8.0, 1601)
"""A hundredth apart: between them a straight line is right to a hundred-thousandth of the range."""

_BELOW = np.array([0.5 * math.erfc(-each / math.sqrt(2.0)) for each in _SCORES.tolist()])
"""What lies below them."""

_SUM = 6.0
_TERMS = 20
_STEPS = 4
"""So many leave a ten-millionth of the range."""


def pert_at_shares(shares: Array, guess: float) -> Array:
    """The values below which so much of a PERT distribution lies, as shares of its range.

    Args:
        shares: of the distribution, any shape [-].
        guess: best guess as a share of the range, 0 at its low end [-].

    Returns:
        Same shape, from 0 at the low end to 1 [-].
    """
    return np.asarray(np.interp(shares, _BELOW, _shares(guess)))


def pert_at_scores(scores: Array, guess: float) -> Array:
    """The values below which as much lies as below normal scores, likewise."""
    return np.asarray(np.interp(scores, _SCORES, _shares(guess)))


def pert_shares(guess: float) -> tuple[Array, Array]:
    """A PERT distribution's values at evenly set normal scores, as shares of its range.

    Args:
        guess: best guess as a share of the range, 0 at its low end [-].

    Returns:
        Scores from -8 to 8 and shares, of one shape [-].
    """
    return _SCORES, _shares(guess)


@functools.lru_cache(maxsize=256)
def _shares(guess: float) -> Array:
    # From either end by itself, since what lies beyond the last scores is lost beside 1.
    low, high = _lower_half(1.0 + 4.0 * guess), _lower_half(5.0 - 4.0 * guess)
    shares: Array = np.concatenate([low, 1.0 - high[-2::-1]])
    shares.flags.writeable = False
    return shares


def _lower_half(rising: float) -> Array:
    """Values at the scores up to 0, by Newton's method in logarithms of share and value.

    The logarithm of the share bends down over that of the value, and the start lies below: each
    step comes nearer from below.
    """
    wanted = _BELOW[: len(_SCORES) // 2 + 1]
    falling, scale = _SUM - rising, _scale(rising)
    value: Array = (wanted * rising / scale) ** (1.0 / rising)
    for _ in range(_STEPS):
        share = _share_below(value, rising)
        slope = scale * value**rising * (1.0 - value) ** (falling - 1.0)
        value = value * (wanted / share) ** (share / slope)
    return value


def _share_below(value: Array, rising: float) -> Array:
    """Regularised incomplete beta function I_x(a, b), a + b = 6; not SciPy's, which loads slowly.

    I_x(a, b) = x^a (1 - x)^(b - 1)/(a B(a, b)) (1 + (b - 1) r/(a + 1) (1 + (b - 2) r/(a + 2) ...)),
    r = x/(1 - x), up to x = 1/2, where a term n falls as n^-6; beyond, 1 - I_(1-x)(b, a).

    Source: Digital Library of Mathematical Functions, 8.17.9 and 8.17.4 (from memory).
    """
    is_low = value <= 0.5
    x = np.where(is_low, value, 1.0 - value)
    a = np.where(is_low, rising, _SUM - rising)
    b, ratio = _SUM - a, x / (1.0 - x)
    term = total = np.ones_like(x)
    for n in range(1, _TERMS):
        term = term * ((b - n) / (a + n) * ratio)
        total = total + term
    share = _scale(rising) * x**a * (1.0 - x) ** (b - 1.0) / a * total
    return np.where(is_low, share, 1.0 - share)


def _scale(rising: float) -> float:
    """1/B(a, 6 - a)."""
    return math.gamma(_SUM) / (math.gamma(rising) * math.gamma(_SUM - rising))
