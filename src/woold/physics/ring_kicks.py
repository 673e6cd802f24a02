"""Where in the turn the arm is kicked, and how much rings on after each kick."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Kicks",
    "KicksMoved",
    "kick_columns",
    "kick_instants",
    "kick_places",
    "left_by",
    "share_between",
]

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
    instants = kick_instants(theta, interval, kicks.places)
    return _decays(instants, interval, _wave(len(theta), interval, kicks.pole), kicks.pole)


def _wave(count: int, interval: float, pole: complex) -> NDArray[np.complex128]:
    return np.asarray(np.exp(pole * interval * np.arange(count)))


def _decays(
    instants: Floats, interval: float, wave: NDArray[np.complex128], pole: complex
) -> Floats:
    """Two columns for each kick, which rings from its instant on."""
    count = len(wave)
    columns = np.zeros((count, 2 * len(instants)))
    for number, instant in enumerate(instants):
        first = min(max(int(np.ceil(instant / interval)), 0), count)
        decay = wave[: count - first] * np.exp(pole * (interval * first - instant))
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
    if _is_short(columns):
        return np.asarray(values - columns @ np.linalg.lstsq(columns, values, rcond=None)[0])
    return np.asarray(values - columns @ _fit(columns.T @ columns, columns.T @ values))


def _is_short(columns: Floats) -> bool:
    return bool(len(columns) < _FEW_ROWS * columns.shape[1])


def _fit(squares: Floats, products: Floats) -> Floats:
    """Solves the normal equations, scaled by the columns' sizes."""
    sizes = np.sqrt(np.diag(squares))
    sizes[sizes == 0.0] = 1.0
    scaled = squares / np.outer(sizes, sizes)
    scaled[np.diag_indices_from(scaled)] += _TINY
    return np.asarray(np.linalg.solve(scaled, products / sizes) / sizes)


class KicksMoved:
    """What decays leave of a run while one kick after the other is moved.

    Products of columns that stay are kept: those of a kick that moves are made anew.

    Args:
        rest: a run without all that is known to be no ringing, shape (n,).
        theta: angle turned, growing [rad], shape (n,).
        interval: between samples [s].
        kicks: pole, and places to begin with.
        known: columns that are fitted along, shape (n, m).
    """

    def __init__(
        self, rest: Floats, theta: Floats, interval: float, kicks: Kicks, known: Floats
    ) -> None:
        self.rest, self.theta, self.interval, self.pole = rest, theta, interval, kicks.pole
        self.known, self.wave = known, _wave(len(theta), interval, kicks.pole)
        self.square = float(rest @ rest)
        self._begin(kick_instants(theta, interval, kicks.places))

    def _begin(self, instants: Floats) -> None:
        self.instants = instants
        self.columns = np.asfortranarray(np.hstack([self.known, self._decays(self.instants)]))
        self.squares, self.products = self.columns.T @ self.columns, self.columns.T @ self.rest
        self.left = self._left(self.squares, self.products)

    def move(self, places: Floats) -> bool:
        """Moves the kicks if that leaves less; says whether it did.

        Args:
            places: in the turn [rad], shape (k,).
        """
        instants = kick_instants(self.theta, self.interval, places)
        if len(instants) != len(self.instants):
            earlier, least = self.instants, self.left
            self._begin(instants)
            if self.left < least:
                return True
            self._begin(earlier)
            return False
        moved = np.flatnonzero(instants != self.instants)
        at = self.known.shape[1] + (2 * moved[:, None] + np.arange(2)).ravel()
        before, decays = self.columns[:, at], self._decays(instants[moved])
        self.columns[:, at] = decays
        across = self.columns.T @ decays
        squares, products = self.squares.copy(), self.products.copy()
        squares[:, at], squares[at, :], products[at] = across, across.T, decays.T @ self.rest
        left = self._left(squares, products)
        if left >= self.left:
            self.columns[:, at] = before
            return False
        self.instants, self.left, self.squares, self.products = instants, left, squares, products
        return True

    def _decays(self, instants: Floats) -> Floats:
        return _decays(instants, self.interval, self.wave, self.pole)

    def _left(self, squares: Floats, products: Floats) -> float:
        if _is_short(self.columns):
            return float(np.sum(left_by(self.columns, self.rest) ** 2))
        fit = _fit(squares, products)
        return float(self.square - 2 * products @ fit + fit @ squares @ fit)


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
