"""The orders of an average turn, and how well the turns' own scatter lets each be known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["TurnLines", "turn_lines"]

Floats = NDArray[np.float64]
Lines = NDArray[np.complex128]

_MOST_ORDERS = 48
_LEAST_ERROR = 2e-4  # of the swing: no model turn is simulated to better
_SIDE = 2  # orders either way whose scatter is taken together


@dataclass(frozen=True, eq=False)
class TurnLines:
    """Orders of an average turn.

    Args:
        samples: in a turn.
        turns: how many there were.
        lines: complex amplitudes of the orders 1, 2, ..., shape (n,).
        line_error: standard error of real and imaginary part, shape (n,).
    """

    samples: int
    turns: int
    lines: Lines
    line_error: Floats


def turn_lines(turns: Floats, read_to: Floats | None = None) -> TurnLines:
    """Orders of the average turn with their standard errors; what is read worse counts less.

    x = Re Σ c_n exp(inθ); w_nj = 1/(τ_n² + r_j²), c_n = Σ_j w_nj c_nj / Σ_j w_nj,
    s_n² = 1/Σ_j w_nj, τ_n² = Σ_j |c_nj - c_n|²/(2 (N - 1)) - r², no less than none

    Args:
        turns: one row a turn, shape (N, per turn).
        read_to: standard error r that reading leaves in any order of each turn; none if not known,
            unit of the turns, shape (N,).

    Returns:
        Orders up to 48, or half of the samples in a turn.

    Source: L. V. Hedges, I. Olkin, Statistical Methods for Meta-Analysis (1985), chapter 9, weights
    by what differs between and within, the former from the plain scatter; from memory.
    """
    count, samples = turns.shape
    highest = min(_MOST_ORDERS, samples // 2 - 1)
    each = np.fft.rfft(turns, axis=1)[:, 1 : highest + 1] * 2 / samples
    read = np.zeros(count) if read_to is None else read_to**2
    plain = each.mean(axis=0)
    square = np.sum(np.abs(each - plain) ** 2, axis=0) / (2 * (count - 1))
    # A few turns tell the scatter of one order badly, of some side by side better.
    padded = np.pad(square, _SIDE, mode="edge")
    width = 2 * _SIDE + 1
    smooth = np.convolve(padded, np.ones(width) / width, "valid")
    scatter = np.maximum(smooth, square / 4)
    least = _LEAST_ERROR * float(np.sqrt(np.sum(np.abs(plain) ** 2) / 2))
    between = np.maximum(scatter - float(read.mean()), 0.0) + count * least**2
    weight = 1 / np.maximum(between[None, :] + read[:, None], 1e-300)
    mean = (weight * each).sum(axis=0) / weight.sum(axis=0)
    return TurnLines(samples, count, mean, 1 / np.sqrt(weight.sum(axis=0)))
