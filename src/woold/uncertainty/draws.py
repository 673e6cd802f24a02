"""Draws of what nobody knows exactly: seeded, within stated ranges, correlated where asked."""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
import numpy.typing as npt

from woold.case.model import Input
from woold.errors import InputError
from woold.uncertainty.pert import pert_at_scores, pert_at_shares
from woold.words import say

__all__ = [
    "SCORE_AT_END",
    "Correlations",
    "Shape",
    "Unknown",
    "draw_unknowns",
    "unknown_of",
    "values_at_scores",
]

SCORE_AT_END = 1.6448536269514722
"""Normal score that 5 % lie above [-]."""

_NORMAL = NormalDist()

Array = npt.NDArray[np.float64]
Correlations = Mapping[tuple[str, str], float]
"""Correlation of pairs of unknowns by name, from -1 to 1."""

Shape = Literal["pert", "normal", "lognormal"]


@dataclass(frozen=True, slots=True)
class Unknown:
    """A number that is only known within a range.

    Args:
        name: what it is called, such as "film.yield_stress".
        value: best guess, SI.
        low, high: ends of its range, SI.
        shape: PERT, likeliest at the best guess and with nothing beyond the ends; normal or
            lognormal, whose middle 90 % they hold, with the best guess as median and a spread of
            its own on either side.
    """

    name: str
    value: float
    low: float
    high: float
    shape: Shape = "pert"


def unknown_of(given: Input, name: str | None = None) -> Unknown | None:
    """The unknown behind an input of a case; None where nothing is known of its range.

    Args:
        given: the input.
        name: what to call it; the input's field if not given.
    """
    low, high = given.origin.low, given.origin.high
    if not given.is_amount or low is None or high is None or not low < high:
        return None
    low, high = min(low, given.value), max(high, given.value)
    shape: Shape = "normal" if given.is_normal else "pert"
    return Unknown(name or given.field, given.value, low, high, shape)


def draw_unknowns(
    unknowns: Sequence[Unknown],
    count: int,
    random: np.random.Generator,
    correlations: Correlations | None = None,
) -> dict[str, Array]:
    """Random draws of every unknown.

    Each is PERT between its ends, or normal or lognormal where it says so; correlations are those
    of the normal scores behind the draws (a Gaussian copula). Every unknown is spread evenly over
    its own distribution (a Latin hypercube) by a stream of its own name, so that its draws stay as
    they are when another unknown comes or goes.

    Args:
        unknowns: names, best guesses and ranges.
        count: draws of each.
        random: seeded source; one number of it is used.
        correlations: of pairs; pairs left out are independent.

    Returns:
        Draws by name, each of shape (count,).

    Raises:
        InputError: a pair that names no unknown, a correlation outside -1 to 1, or correlations
            that cannot hold together.

    Source:
        McKay, Beckman and Conover, Technometrics 21 (1979) 239-245.
    """
    start = int(random.integers(2**63))
    if not unknowns:
        return {}
    shares = np.column_stack([_even_shares(each.name, count, start) for each in unknowns])
    if correlations:
        from scipy.special import ndtr, ndtri

        shares = ndtr(ndtri(shares) @ _mixing(unknowns, correlations).T)
    return {
        each.name: _values_at_shares(shares[:, index], each) for index, each in enumerate(unknowns)
    }


def _values_at_shares(shares: Array, unknown: Unknown) -> Array:
    """The values of an unknown below which so much of it lies [SI]."""
    if unknown.shape == "pert":
        return _within(unknown, pert_at_shares(shares, _guess(unknown)))
    # Not by SciPy, which takes longer to load than all else that draws need.
    scores = np.array([_NORMAL.inv_cdf(each) for each in shares.tolist()])
    return values_at_scores(scores, unknown)


def values_at_scores(scores: Array, unknown: Unknown) -> Array:
    """The values of an unknown below which as much lies as below normal scores.

    Args:
        scores: normal scores, 0 at the median, any shape [-].
        unknown: PERT between its ends, normal or lognormal.

    Returns:
        Values [SI], same shape.
    """
    if unknown.shape == "normal":
        return _normal(scores, unknown)
    if unknown.shape == "lognormal":
        return _lognormal(scores, unknown)
    return _within(unknown, pert_at_scores(scores, _guess(unknown)))


def _even_shares(name: str, count: int, start: int) -> Array:
    """Shares from 0 to 1, one in each of so many equal steps, in random order."""
    random = np.random.default_rng([start, zlib.crc32(name.encode())])
    shares: Array = (random.permutation(count) + random.random(count)) / count
    # Never 0 or 1, whose normal scores are infinite.
    return np.clip(shares, 1e-12, 1.0 - 1e-12)


def _normal(scores: Array, unknown: Unknown) -> Array:
    """The value at a normal score, its range being the middle 90 %; either side has its own."""
    down, up = unknown.value - unknown.low, unknown.high - unknown.value
    return unknown.value + np.where(scores < 0.0, down, up) * scores / SCORE_AT_END


def _lognormal(scores: Array, unknown: Unknown) -> Array:
    """The same of its logarithm."""
    down, up = math.log(unknown.value / unknown.low), math.log(unknown.high / unknown.value)
    return np.asarray(
        unknown.value * np.exp(np.where(scores < 0.0, down, up) * scores / SCORE_AT_END)
    )


def _guess(unknown: Unknown) -> float:
    """The best guess as a share of the range; of no range anything."""
    width = unknown.high - unknown.low
    return (unknown.value - unknown.low) / width if width > 0.0 else 0.5


def _within(unknown: Unknown, shares: Array) -> Array:
    return unknown.low + (unknown.high - unknown.low) * shares


def _mixing(unknowns: Sequence[Unknown], correlations: Correlations) -> Array:
    """Matrix that makes independent normal scores correlated; its square is the correlations."""
    places = {each.name: index for index, each in enumerate(unknowns)}
    matrix = np.eye(len(unknowns))
    for (one, other), value in correlations.items():
        for name in (one, other):
            if name not in places:
                raise InputError.one(
                    "--correlate",
                    repr(name),
                    say("two of: {names}", names=", ".join(places)),
                    say("Check the name."),
                )
        if one == other or not -1.0 <= value <= 1.0:
            raise InputError.one(
                "--correlate",
                say("{one} with {other}: {value:g}", one=one, other=other, value=value),
                say("two inputs and -1 to 1"),
                say("Name two different inputs and a number between -1 and 1."),
            )
        matrix[places[one], places[other]] = matrix[places[other], places[one]] = value
    values, vectors = np.linalg.eigh(matrix)
    if values[0] < -1e-9:
        raise InputError.one(
            "--correlate",
            say("correlations that cannot all hold at once"),
            say("a set that fits together: if two inputs go with a third, they go with each other"),
            say("Leave one of the correlations out, or make it smaller."),
        )
    mixing: Array = vectors * np.sqrt(np.maximum(values, 0.0))
    return mixing
