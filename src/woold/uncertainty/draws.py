"""Draws of what nobody knows exactly: seeded, within stated ranges, correlated where asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.words import say

__all__ = ["Correlations", "Unknown", "draw_unknowns"]

Array = npt.NDArray[np.float64]
Correlations = Mapping[tuple[str, str], float]
"""Correlation of pairs of unknowns by name, from -1 to 1."""


@dataclass(frozen=True, slots=True)
class Unknown:
    """A number that is only known within a range.

    Args:
        name: what it is called, such as "film.yield_stress".
        value: best guess, SI.
        low, high: ends of its range, SI.
    """

    name: str
    value: float
    low: float
    high: float


def draw_unknowns(
    unknowns: Sequence[Unknown],
    count: int,
    random: np.random.Generator,
    correlations: Correlations | None = None,
) -> dict[str, Array]:
    """Random draws of every unknown.

    Each is triangular between its ends with its peak at the best guess; correlations are those of
    the normal scores behind the draws (a Gaussian copula).

    Args:
        unknowns: names, best guesses and ranges.
        count: draws of each.
        random: seeded source.
        correlations: of pairs; pairs left out are independent.

    Returns:
        Draws by name, each of shape (count,).

    Raises:
        InputError: a pair that names no unknown, a correlation outside -1 to 1, or correlations
            that cannot hold together.
    """
    from scipy.special import ndtr

    if not unknowns:
        return {}
    scores = random.standard_normal((count, len(unknowns)))
    shares = ndtr(scores @ _mixing(unknowns, correlations or {}).T)
    return {each.name: _triangular(shares[:, index], each) for index, each in enumerate(unknowns)}


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
            )
        matrix[places[one], places[other]] = matrix[places[other], places[one]] = value
    values, vectors = np.linalg.eigh(matrix)
    if values[0] < -1e-9:
        raise InputError.one(
            "--correlate",
            say("correlations that cannot all hold at once"),
            say("a set that fits together: if two inputs go with a third, they go with each other"),
        )
    mixing: Array = vectors * np.sqrt(np.maximum(values, 0.0))
    return mixing


def _triangular(share: Array, unknown: Unknown) -> Array:
    """The value below which a share of a triangular distribution lies."""
    low, peak, high = unknown.low, unknown.value, unknown.high
    width = high - low
    if width <= 0.0:
        return np.full(share.shape, peak)
    at_peak = (peak - low) / width
    rising = low + np.sqrt(share * width * (peak - low))
    falling = high - np.sqrt((1.0 - share) * width * (high - peak))
    return np.where(share < at_peak, rising, falling)
