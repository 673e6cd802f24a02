"""Where in the turn the arm is kicked, and how much rings on after each kick."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Kicks", "kick_columns", "kick_instants", "kick_places", "left_by", "share_between"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_PLACES = 192  # in a turn
_MOST_KICKS = 8
_LEAST_GAIN = 0.01  # of the ringing, that one more kick must add
_TINY = 1e-10  # of a column's square: columns that are alike share what belongs to both
_FEW_ROWS = 3  # times the columns, below which the columns may be too much alike for squares


@dataclass(frozen=True, eq=False)
class Kicks:
    """A ringing after kicks at the same places of every turn.

    Args:
        pole: s of exp(s t) [1/s].
        places: in the turn [rad], shape (k,).
    """

    pole: complex
    places: Floats


def kick_columns(theta: Floats, interval: float, kicks: Kicks) -> Floats:
    """Columns whose sums are decays after every kick of a run, each with its own size and phase.

    Re and Im of exp(s (t - t_k)) from each kick on

    Args:
        theta: angle turned, growing [rad], shape (n,).
        interval: between samples [s].
        kicks: pole and places.

    Returns:
        Shape (n, 2 kicks in the run).
    """
    instants, count = kick_instants(theta, interval, kicks.places), len(theta)
    wave = np.exp(kicks.pole * interval * np.arange(count))
    columns = np.zeros((count, 2 * len(instants)))
    for number, instant in enumerate(instants):
        first = min(max(int(np.ceil(instant / interval)), 0), count)
        decay = wave[: count - first] * np.exp(kicks.pole * (interval * first - instant))
        columns[first:, 2 * number] = decay.real
        columns[first:, 2 * number + 1] = decay.imag
    return columns


def left_by(columns: Floats, values: Floats) -> Floats:
    """What columns leave of values when they are fitted by least squares.

    By the normal equations: several times as fast as a singular value decomposition, and the noise
    of a recording hides the digits that squaring costs.

    Args:
        columns: shape (n, m).
        values: shape (n,).

    Returns:
        Shape (n,).
    """
    if len(columns) < _FEW_ROWS * columns.shape[1]:
        return np.asarray(values - columns @ np.linalg.lstsq(columns, values, rcond=None)[0])
    squares = columns.T @ columns
    sizes = np.sqrt(np.diag(squares))
    sizes[sizes == 0.0] = 1.0
    squares /= np.outer(sizes, sizes)
    squares[np.diag_indices_from(squares)] += _TINY
    fit = np.linalg.solve(squares, (columns.T @ values) / sizes) / sizes
    return np.asarray(values - columns @ fit)


def share_between(band: tuple[float, float], pole: complex) -> float:
    """Share of a decay's energy that lies between two frequencies.

    ∫ |1/(s² + 2ζωs + ω²)|² over the band, over the same from 0 to ∞, which is π/(4ζω³)

    Args:
        band: low and high [Hz].
        pole: of the decay, which begins from rest [1/s].

    Returns:
        Share [-].
    """
    frequency, (omega, damping) = np.linspace(*band, 400), (abs(pole), -pole.real / abs(pole))
    at = 2 * np.pi * frequency
    density = 1 / ((omega**2 - at**2) ** 2 + (2 * damping * omega * at) ** 2)
    inside = 2 * np.pi * float(np.trapezoid(density, frequency))
    return float(inside * 4 * damping * omega**3 / np.pi)


def kick_instants(theta: Floats, interval: float, places: Floats) -> Floats:
    """Times of the kicks that ring within a run [s], from its first sample.

    Of those before the run only the last one counts: within it their decays are all one.

    Args:
        theta: angle turned, growing [rad], shape (n,).
        interval: between samples [s].
        places: in the turn [rad], shape (k,).
    """
    turn = 2 * np.pi
    speed = (theta[-1] - theta[0]) / (interval * (len(theta) - 1))
    wholes = np.arange(np.floor(theta[0] / turn) - 2, np.ceil(theta[-1] / turn) + 1)
    angles = np.sort((turn * wholes[:, None] + places).ravel())
    early = angles[angles < theta[0]][-1:]
    angles = angles[(angles >= theta[0]) & (angles < theta[-1])]
    inside = np.interp(angles, theta, interval * np.arange(len(theta)))
    return np.concatenate([(early - theta[0]) / speed, inside])


def kick_places(
    rest: Floats, theta: Floats, interval: float, pole: complex, known: Floats
) -> tuple[Floats, float]:
    """Places in the turn after which most rings, one after another.

    Args:
        rest: a run without all that is known to be no ringing, shape (n,).
        theta: angle turned [rad], shape (n,).
        interval: between samples [s].
        pole: of the ringing [1/s].
        known: columns that are fitted along, shape (n, m).

    Returns:
        Places [rad], the strongest first, and the mean square of what they leave.
    """
    places: list[float] = []
    left = left_by(known, rest)
    energy, floor = float(np.mean(left**2)), 0.0
    while len(places) < _MOST_KICKS:
        places.append(_next_place(left, theta, interval, pole))
        columns = np.hstack([known, kick_columns(theta, interval, Kicks(pole, np.array(places)))])
        left = left_by(columns, rest)
        now = float(np.mean(left**2)) * len(rest) / max(len(rest) - columns.shape[1], 1)
        floor = floor or energy
        if floor - now < _LEAST_GAIN * energy:
            places.pop()
            break
        floor = now
    return np.array(places), floor or energy


def _next_place(left: Floats, theta: Floats, interval: float, pole: complex) -> float:
    """Place from which on the rest, matched to the decay, holds most energy over all turns."""
    from scipy.signal import lfilter

    step = np.exp(np.conj(pole) * interval)
    matched = lfilter([1.0], [1.0, -step], left[::-1].astype(complex))[::-1]
    place = (theta % (2 * np.pi) / (2 * np.pi) * _PLACES).astype(int) % _PLACES
    count = np.bincount(place, minlength=_PLACES)
    energy = np.bincount(place, np.abs(matched) ** 2, minlength=_PLACES) / np.maximum(count, 1)
    return float((int(energy.argmax()) + 0.5) * 2 * np.pi / _PLACES)
