"""Predicted averages as smooth functions of a case's unknowns.

Sampling asks for thousands of predictions with their slopes. Each average's logarithm is a
quadratic of the unknowns' values, with terms of its own for how far the film slips on the rollers,
fitted to draws of the model itself; what it misses is part of the error.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.learning.log_readings import log_grip_margin, log_readings
from woold.learning.wrapped import Wrapped
from woold.uncertainty.draws import SCORE_AT_END, Unknown, draw_unknowns, values_at_scores

__all__ = ["SLIP_ROUNDING", "Emulated", "Quadratic", "emulated", "scaled_values"]

Array = npt.NDArray[np.float64]

_DRAWS = 900

SLIP_ROUNDING = 0.01
"""Part of the grip margin over which slipping sets in [-]."""

_SLIP_TERMS = 3

_MUCH_SLIP = 0.1
_HELD, _SLIP_HELD = 1e-10, 1e-6
"""Holds factors at 0 that no draw tells, so that the slip of a few draws leads to no wild terms."""


@dataclass(frozen=True, slots=True)
class Quadratic:
    """level + slope · v + v · bend · v for each of several quantities, of scaled values v.

    Args:
        level: shape (quantities,).
        slope: shape (quantities, unknowns).
        bend: shape (quantities, unknowns, unknowns), symmetric.
    """

    level: Array
    slope: Array
    bend: Array

    def at(self, scaled: Array) -> Array:
        """Values at scaled values of shape (..., unknowns); shape (..., quantities)."""
        bent = np.einsum("...i,aij,...j->...a", scaled, self.bend, scaled)
        level: Array = self.level + scaled @ self.slope.T + bent
        return level


@dataclass(frozen=True, slots=True)
class Emulated:
    """ln of the averages of one load type, of scaled values of its unknowns.

    Args:
        smooth: what does not slip.
        margin: ln of the force that the rollers hold over the one that is asked of them.
        slip: factors of the slip, its square and its cube, shape (averages, 3).
        missed: standard deviation that this misses, shape (averages,).
        torn: share of the draws in which the film tears.
    """

    smooth: Quadratic
    margin: Quadratic
    slip: Array
    missed: Array
    torn: float

    def at(self, scaled: Array) -> Array:
        """ln of the averages at scaled values (..., unknowns); shape (..., averages)."""
        level: Array = self.smooth.at(scaled) + _slip_terms(self.margin.at(scaled)) @ self.slip.T
        return level


def scaled_values(scores: Array, unknowns: Sequence[Unknown]) -> Array:
    """(value - best guess)/(high - low) of unknowns at normal scores, shape (..., unknowns)."""
    columns = [
        (values_at_scores(scores[..., index], each) - each.value) / (each.high - each.low)
        for index, each in enumerate(unknowns)
    ]
    return np.stack(columns, axis=-1)


def emulated(
    wrapped: Wrapped,
    unknowns: Sequence[Unknown],
    centre: Array | None = None,
    spread: Array | float = 1.0,
) -> Emulated:
    """What a case predicts of its averages, as smooth functions.

    Args:
        wrapped: the case and its averages.
        unknowns: its unknowns, in order.
        centre: scores about which it shall be right, shape (unknowns,); 0 if not given.
        spread: standard deviation of the scores over which it shall be right, shape (unknowns,).
    """
    even = [Unknown(each.name, 0.0, -SCORE_AT_END, SCORE_AT_END, True) for each in unknowns]
    drawn = draw_unknowns(even, _DRAWS, np.random.default_rng(1))
    middle = np.zeros(len(unknowns)) if centre is None else centre
    scores = middle + spread * np.column_stack([drawn[each.name] for each in unknowns])
    values = {
        each.name: values_at_scores(scores[:, index], each) for index, each in enumerate(unknowns)
    }
    logs = log_readings(wrapped.case, wrapped.averages, values, _DRAWS)
    margins = log_grip_margin(wrapped.case, values, _DRAWS)
    whole = np.isfinite(logs).all(axis=1) & np.isfinite(margins)
    scaled = scaled_values(scores, unknowns)[whole]
    margin, _, _ = _fitted(scaled, margins[whole, None])
    slips = _slip_terms(margin.at(scaled))
    smooth, slip, missed = _fitted(scaled, logs[whole], slips)
    return Emulated(smooth, margin, slip, missed, torn=1.0 - float(whole.mean()))


def _slip_terms(margin: Array) -> Array:
    """Slip, its square and its cube, of ln margin of shape (..., 1)."""
    slip = SLIP_ROUNDING * np.logaddexp(0.0, -margin / SLIP_ROUNDING)
    return np.concatenate([slip, slip**2, slip**3], axis=-1)


def _fitted(
    scaled: Array, wanted: Array, slips: Array | None = None
) -> tuple[Quadratic, Array, Array]:
    """A quadratic, factors of the slip terms, and what is missed, by least squares."""
    count = scaled.shape[1]
    one, other = np.triu_indices(count)
    slips = np.zeros((len(scaled), _SLIP_TERMS)) if slips is None else slips
    # About the middle and in spreads, so that no two columns say nearly the same.
    middle, spread = scaled.mean(axis=0), scaled.std(axis=0)
    even = (scaled - middle) / spread
    most = np.maximum(slips.max(axis=0), _MUCH_SLIP ** np.arange(1, _SLIP_TERMS + 1))
    basis = np.column_stack([np.ones(len(even)), even, even[:, one] * even[:, other], slips / most])
    gram = basis.T @ basis
    gram[np.diag_indices_from(gram)] += _HELD * len(even)
    gram[-_SLIP_TERMS:, -_SLIP_TERMS:] += _SLIP_HELD * len(even) * np.eye(_SLIP_TERMS)
    fit = np.asarray(np.linalg.solve(gram, basis.T @ wanted), dtype=np.float64)
    freedom = max(len(scaled) - basis.shape[1], 1)
    missed = np.sqrt(np.sum((wanted - basis @ fit) ** 2, axis=0) / freedom)
    half = np.zeros((wanted.shape[1], count, count))
    half[:, one, other] = 0.5 * fit[1 + count : -_SLIP_TERMS].T
    bend = (half + half.transpose(0, 2, 1)) / (spread[:, None] * spread)
    at_zero = fit[1 : 1 + count].T / spread - 2.0 * bend @ middle
    level = fit[0] - at_zero @ middle - np.einsum("i,aij,j->a", middle, bend, middle)
    return Quadratic(level, at_zero, bend), (fit[-_SLIP_TERMS:] / most[:, None]).T, missed
