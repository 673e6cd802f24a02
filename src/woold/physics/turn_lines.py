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


def turn_lines(turns: Floats) -> TurnLines:
    """Orders of the average turn with their standard errors.

    x = Re Σ c_n exp(inθ); s_n² = Σ_j |c_nj - c_n|²/(2 (N - 1) N)

    Args:
        turns: one row a turn, shape (N, per turn).

    Returns:
        Orders up to 48, or half of the samples in a turn.
    """
    count, samples = turns.shape
    highest = min(_MOST_ORDERS, samples // 2 - 1)
    each = np.fft.rfft(turns, axis=1)[:, 1 : highest + 1] * 2 / samples
    mean = each.mean(axis=0)
    square = np.sum(np.abs(each - mean) ** 2, axis=0) / (2 * (count - 1) * count)
    # A few turns tell the scatter of one order badly, of some side by side better.
    padded = np.pad(square, _SIDE, mode="edge")
    width = 2 * _SIDE + 1
    smooth = np.convolve(padded, np.ones(width) / width, "valid")
    least = _LEAST_ERROR * float(np.sqrt(np.sum(np.abs(mean) ** 2) / 2))
    return TurnLines(samples, count, mean, np.sqrt(np.maximum(smooth, square / 4) + least**2))
