"""Predicted averages as smooth functions of a case's unknowns.

Sampling asks for thousands of predictions with their slopes. Each average's logarithm is a
quadratic of the unknowns' values, with terms of its own for how far the film slips on the rollers,
fitted to draws of the model itself; what it misses is part of the error. Where rollers let the film
through almost unstretched the model jumps; such draws are left out, and their share is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from woold.learning.log_readings import log_grip_margin, log_readings
from woold.learning.wrapped import Wrapped
from woold.physics.neck_down import HIGH_SIDE
from woold.uncertainty.draws import SCORE_AT_END, Unknown, draw_unknowns, values_at_scores
from woold.uncertainty.spread import LAW

__all__ = ["SLIP_ROUNDING", "Emulated", "Quadratic", "Slip", "emulated", "evened", "scaled_values"]

Array = npt.NDArray[np.float64]

_DRAWS = 900

SLIP_ROUNDING = 0.01
"""Part of the grip margin over which slipping sets in [-]."""

_POWERS = 3

_MUCH_SLIP = 0.1
_HELD, _SLIP_HELD = 1e-10, 1e-6
"""Holds factors at 0 that no draw tells, so that the slip of a few draws leads to no wild terms."""

_JUMPED = 5.0
"""Draws off by more, in robust standard deviations of all, are beyond a jump."""

_FOLLOWED = 0.02
"""None is off by less than this part of a reading [-]."""

_ROUNDS = 12

_ROUGHLY = 0.02
"""Weight of a draw of the whole ranges, where one near the answer has 1 [-]."""


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
class Slip:
    """What slipping adds: factors of the slip, its square and its cube, and of slip with values.

    Args:
        powers: shape (averages, 3).
        cross: of the slip times each scaled value, shape (averages, unknowns).
        most: slip of the draws it was fitted to; beyond it goes on straight.
    """

    powers: Array
    cross: Array
    most: float

    def at(self, slip: Array, scaled: Array) -> Array:
        """Added at a slip (..., 1) and scaled values (..., unknowns); shape (..., averages)."""
        added: Array = _powers(slip, self.most) @ self.powers.T + slip * (scaled @ self.cross.T)
        return added


@dataclass(frozen=True, slots=True)
class Emulated:
    """ln of the averages of one load type, of scaled values of its unknowns.

    Args:
        smooth: what does not slip.
        margin: ln of the force that the rollers hold over the one that is asked of them.
        slip: what slipping adds.
        missed: standard deviation that this misses, shape (averages,).
        torn: share of the draws in which the film tears or runs through rollers.
        jumped: share of the draws that the smooth functions do not follow.
    """

    smooth: Quadratic
    margin: Quadratic
    slip: Slip
    missed: Array
    torn: float
    jumped: float

    def at(self, scaled: Array) -> Array:
        """ln of the averages at scaled values (..., unknowns); shape (..., averages)."""
        slip = _slip_of(self.margin.at(scaled))
        level: Array = self.smooth.at(scaled) + self.slip.at(slip, scaled)
        return level


def evened(unknown: Unknown) -> Unknown:
    """An unknown of which readings are smooth functions: the law's error counts by its sides.

    Args:
        unknown: an input. The law loses more width above its middle than below; without its sides
            every quadratic of it would be off by half a per cent of film there.
    """
    if unknown.name != LAW or unknown.value != 0.0 or unknown.high <= 0.0:
        return unknown
    return replace(unknown, high=HIGH_SIDE * unknown.high)


def scaled_values(scores: Array, unknowns: Sequence[Unknown]) -> Array:
    """(value - best guess)/(high - low) of evened unknowns at normal scores.

    Args:
        scores: of each, shape (..., unknowns).
        unknowns: whose they are.
    """
    even = [evened(each) for each in unknowns]
    columns = [
        (values_at_scores(scores[..., index], each) - each.value) / (each.high - each.low)
        for index, each in enumerate(even)
    ]
    return np.stack(columns, axis=-1)


def emulated(
    wrapped: Wrapped,
    unknowns: Sequence[Unknown],
    spread: Array | float = 1.0,
    near: tuple[Array, Array] | None = None,
) -> Emulated:
    """What a case predicts of its averages, as smooth functions.

    Args:
        wrapped: the case and its averages.
        unknowns: its unknowns, in order.
        spread: standard deviation of the scores over which it shall be right, shape (unknowns,).
        near: middle and standard deviation of scores where it shall be right above all, likewise;
            elsewhere it is then right roughly, so that no sampler is led astray there.
    """
    even = [Unknown(each.name, 0.0, -SCORE_AT_END, SCORE_AT_END, "normal") for each in unknowns]
    drawn = draw_unknowns(even, _DRAWS, np.random.default_rng(1))
    chance = np.column_stack([drawn[each.name] for each in unknowns])
    scores, weights = np.asarray(spread * chance), np.ones(_DRAWS)
    if near is not None:
        scores = np.concatenate([near[0] + near[1] * chance, scores])
        weights = np.concatenate([weights, np.full(_DRAWS, _ROUGHLY)])
    count = len(scores)
    values = {
        each.name: values_at_scores(scores[:, index], each) for index, each in enumerate(unknowns)
    }
    logs = log_readings(wrapped.case, wrapped.averages, values, count)
    margins = log_grip_margin(wrapped.case, values, count)
    whole = np.isfinite(logs).all(axis=1) & np.isfinite(margins)
    torn = 1.0 - float(whole[:_DRAWS].mean())
    is_near = np.arange(count)[whole] < _DRAWS
    scaled, wanted, weights = scaled_values(scores, unknowns)[whole], logs[whole], weights[whole]
    margin = _quadratic(*_fitted(_Basis(scaled), margins[whole, None], weights))
    slip = _slip_of(margin.at(scaled))
    followed: npt.NDArray[np.bool_] = np.ones(len(scaled), dtype=bool)
    for _ in range(_ROUNDS):
        basis = _Basis(scaled[followed], slip[followed])
        basis, fit = _fitted(basis, wanted[followed], weights[followed])
        off = np.abs(wanted - basis.columns(scaled, slip) @ fit)
        usual = _ROBUST * np.median(off[followed & is_near], axis=0)
        allowed = np.maximum(_JUMPED * usual, _FOLLOWED) / np.sqrt(weights[:, None])
        kept = np.all(off <= allowed, axis=1)
        if (kept == followed).all() or kept.sum() < 2 * basis.size:
            break
        followed = kept
    counted = followed & is_near
    freedom = max(int(counted.sum()) - basis.size, 1)
    return Emulated(
        _quadratic(basis, fit),
        margin,
        _slip(basis, fit),
        np.sqrt((off[counted] ** 2).sum(axis=0) / freedom),
        torn,
        jumped=1.0 - float(followed[is_near].mean()),
    )


_ROBUST = 1.4826
"""Standard deviation over the median distance, of normal numbers [-]."""


def _slip_of(margin: Array) -> Array:
    """How far film slips, of ln margin of shape (..., 1)."""
    slip: Array = SLIP_ROUNDING * np.logaddexp(0.0, -margin / SLIP_ROUNDING)
    return slip


def _powers(slip: Array, most: float) -> Array:
    """Slip of shape (..., 1), its square and its cube; straight beyond the most."""
    within = np.minimum(slip, most)
    beyond = slip - within
    square = within**2 + 2.0 * within * beyond
    cube = within**3 + 3.0 * within**2 * beyond
    return np.concatenate([slip, square, cube], axis=-1)


class _Basis:
    """Columns of a fit, about the middle of draws and in their spreads, so that none are alike.

    Args:
        scaled: values of the draws, shape (draws, unknowns).
        slip: of the draws, shape (draws, 1); None where nothing slips.
    """

    def __init__(self, scaled: Array, slip: Array | None = None) -> None:
        self.scaled = scaled
        self.slip = np.zeros((len(scaled), 1)) if slip is None else slip
        self.middle, self.spread = scaled.mean(axis=0), scaled.std(axis=0)
        self.unknowns = scaled.shape[1]
        self.pairs = np.triu_indices(self.unknowns)
        self.most = max(float(self.slip.max()), _MUCH_SLIP)
        self.smooth = 1 + self.unknowns + len(self.pairs[0])
        self.size = self.smooth + _POWERS + self.unknowns

    def columns(self, scaled: Array, slip: Array) -> Array:
        """Of any draws, shape (draws, size)."""
        even = (scaled - self.middle) / self.spread
        one, other = self.pairs
        over = slip / self.most
        powers = np.concatenate([over, over**2, over**3], axis=-1)
        return np.column_stack(
            [np.ones(len(even)), even, even[:, one] * even[:, other], powers, over * even]
        )


def _fitted(basis: _Basis, wanted: Array, weights: Array) -> tuple[_Basis, Array]:
    """The basis and factors of its columns, by least squares."""
    columns = basis.columns(basis.scaled, basis.slip)
    weighed = columns.T * weights
    gram = weighed @ columns
    gram[np.diag_indices_from(gram)] += _HELD * len(columns)
    slips = np.arange(basis.smooth, basis.size)
    gram[slips, slips] += _SLIP_HELD * len(columns)
    return basis, np.asarray(np.linalg.solve(gram, weighed @ wanted), dtype=np.float64)


def _quadratic(basis: _Basis, fit: Array) -> Quadratic:
    """The columns that do not slip, of values as they are."""
    count, middle, spread = basis.unknowns, basis.middle, basis.spread
    one, other = basis.pairs
    half = np.zeros((fit.shape[1], count, count))
    half[:, one, other] = 0.5 * fit[1 + count : basis.smooth].T
    bend = (half + half.transpose(0, 2, 1)) / (spread[:, None] * spread)
    at_zero = fit[1 : 1 + count].T / spread - 2.0 * bend @ middle
    level = fit[0] - at_zero @ middle - np.einsum("i,aij,j->a", middle, bend, middle)
    return Quadratic(level, at_zero, bend)


def _slip(basis: _Basis, fit: Array) -> Slip:
    """The columns that slip, likewise."""
    start = basis.smooth + _POWERS
    cross = fit[start:].T / (basis.spread * basis.most)
    powers = fit[basis.smooth : start].T / basis.most ** np.arange(1, _POWERS + 1)
    powers[:, 0] -= cross @ basis.middle
    return Slip(powers, cross, float(basis.slip.max()))
