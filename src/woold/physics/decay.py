"""Frequency and damping of what rings down."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError
from woold.words import say

__all__ = [
    "basis_poles",
    "damping_of_decrement",
    "decrement_of_damping",
    "matrix_pencil",
    "pencil_basis",
    "pole_mode",
]

Floats = NDArray[np.float64]
Poles = NDArray[np.complex128]

_MANY = 20


def decrement_of_damping(damping: float) -> float:
    """Logarithmic decrement: log of the ratio of two peaks that follow one another.

    δ = 2π ζ/√(1 - ζ²)

    Args:
        damping: ζ, from 0 to below 1 [-].

    Returns:
        δ [-].

    Raises:
        InputError: no oscillation has that damping ratio.
    """
    if not 0 <= damping < 1:
        raise InputError.one("damping", f"{damping:g}", say("from 0 to below 1"))
    return float(2 * np.pi * damping / np.sqrt(1 - damping**2))


def damping_of_decrement(first_peak: float, last_peak: float, periods: int = 1) -> float:
    """Damping ratio from two peaks some periods apart.

    ζ = δ/√(4π² + δ²), δ = ln(first/last)/periods

    Args:
        first_peak, last_peak: heights above the rest position, any unit.
        periods: between them [-].

    Returns:
        ζ [-].

    Raises:
        InputError: peaks that are not positive, or no period between them.
    """
    if not (first_peak > 0 and last_peak > 0 and periods >= 1):
        raise InputError.one(
            "peaks",
            say(
                "{first:g} and {last:g}, periods apart: {periods}",
                first=first_peak,
                last=last_peak,
                periods=periods,
            ),
            say("two positive heights, one period or more apart"),
        )
    decrement = np.log(first_peak / last_peak) / periods
    return float(decrement / np.hypot(2 * np.pi, decrement))


def matrix_pencil(
    records: Sequence[ArrayLike] | ArrayLike, interval: float, order: int, pencil: int | None = None
) -> tuple[Poles, Floats]:
    """Poles shared by records that are sums of exponentials.

    y(t) = Σ R_m exp(s_m t), every record with its own R; the s_m are eigenvalues of the pencil of
    the records' Hankel matrices, stacked, after truncation to the strongest singular vectors.

    Args:
        records: evenly spaced samples, any unit; one record or several of one length.
        interval: time between samples [s].
        order: number of exponentials; a ringing takes two.
        pencil: columns of the pencil; half of a record if not given.

    Returns:
        Poles s_m [1/s], complex, shape (order,); and all singular values, for judging the order.

    Raises:
        InputError: records too short for the order.

    Source: Y. Hua, T. K. Sarkar, IEEE Trans. Acoustics, Speech, Signal Processing 38 (1990) 814;
    stacking of records as in ESPRIT, R. Roy, T. Kailath, ibid. 37 (1989) 984.
    """
    rows = np.atleast_2d(np.asarray(records, dtype=np.float64))
    samples = rows.shape[1]
    width = samples // 2 if pencil is None else pencil
    if order < 1 or width < order or samples - width < 1 or not np.isfinite(rows).all():
        raise InputError.one(
            "records",
            say("{samples} samples for {order} exponentials", samples=samples, order=order),
            say("{order} finite samples or more in each record", order=2 * max(order, 1)),
        )
    strengths, vectors = pencil_basis(rows, width)
    if len(strengths) < order:
        raise InputError.one(
            "records",
            say("windows: {count}", count=len(strengths)),
            say("windows: {count} or more", count=order),
        )
    return basis_poles(vectors, interval, order), strengths


def pencil_basis(records: Floats, pencil: int) -> tuple[Floats, Floats]:
    """Singular values and right singular vectors of the records' stacked Hankel matrices.

    Args:
        records: evenly spaced samples, any unit, shape (records, samples).
        pencil: columns of the pencil.

    Returns:
        Singular values, falling; vectors, one a row.
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
        Poles [1/s], shape (order,).
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
