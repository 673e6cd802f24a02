"""Frequency and damping of what rings down, by the matrix pencil.

y(t) = Σ R_m exp(s_m t), every record with its own R; the s_m are eigenvalues of the pencil of the
records' Hankel matrices, stacked, after truncation to the strongest singular vectors.

Source: Y. Hua, T. K. Sarkar, IEEE Trans. Acoustics, Speech, Signal Processing 38 (1990) 814;
stacking of records as in ESPRIT, R. Roy, T. Kailath, ibid. 37 (1989) 984.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["basis_poles", "pencil_basis", "pole_mode"]

Floats = NDArray[np.float64]
Poles = NDArray[np.complex128]

_MANY = 20


def pencil_basis(records: Floats, pencil: int) -> tuple[Floats, Floats]:
    """Singular values and right singular vectors of the records' stacked Hankel matrices.

    Args:
        records: evenly spaced samples, any unit, shape (records, samples).
        pencil: columns of the pencil.

    Returns:
        Singular values, falling; vectors, one a row.

    Source: stacking of records as in ESPRIT, R. Roy, T. Kailath, IEEE Trans. Acoustics, Speech,
    Signal Processing 37 (1989) 984.
    """
    count, samples = records.shape
    rows, columns = samples - pencil, pencil + 1
    if count * rows > _MANY * columns:
        # So many are put together against noise, which hides the digits that squaring costs. The
        # squares of all Hankel matrices are sums of blocks of the records' own.
        products = records.T @ records
        squares = np.zeros((columns, columns))
        for row in range(rows):
            squares += products[row : row + columns, row : row + columns]
        sizes, axes = np.linalg.eigh(squares)
        return np.sqrt(np.maximum(sizes[::-1], 0.0)), axes[:, ::-1].T
    windows = np.lib.stride_tricks.sliding_window_view(records, columns, axis=1)
    _, strengths, vectors = np.linalg.svd(windows.reshape(-1, columns), full_matrices=False)
    return strengths, vectors


def basis_poles(vectors: Floats, interval: float, order: int) -> Poles:
    """Poles of the strongest vectors of `pencil_basis`.

    Args:
        vectors: one a row, the strongest first.
        interval: time between samples [s].
        order: number of exponentials.

    Returns:
        Poles s_m [1/s], complex, shape (order,).

    Source: Y. Hua, T. K. Sarkar, IEEE Trans. Acoustics, Speech, Signal Processing 38 (1990) 814.
    """
    basis = vectors[:order].T
    shift = np.linalg.lstsq(basis[:-1], basis[1:], rcond=None)[0]
    roots = np.linalg.eigvals(shift).astype(complex)
    return np.asarray(np.log(roots) / interval)


def pole_mode(pole: complex) -> tuple[float, float]:
    """Natural frequency [Hz] and damping ratio [-] of a pole.

    f = |s|/2π, ζ = -Re s/|s|
    """
    size = abs(pole)
    return float(size / (2 * np.pi)), float(-pole.real / size) if size else 1.0
