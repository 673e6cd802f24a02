"""The bounce in a dancer's trace: what rings on after a corner, its frequency and damping.

Corners kick the arm at sharp instants, and the swing that they force in between is smooth. A short
moving cubic takes the smooth part away and leaves a kick's mark no longer than itself; what is
found between two marks is ringing, if anything. Filters that cut by frequency would not do: they
smear the kicks into a ripple of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.physics.decay import basis_poles, pencil_basis, pole_mode

__all__ = ["Bounce", "find_bounce"]

Floats = NDArray[np.float64]

_FASTEST = 20.0  # Hz, above which no dancer's arm bounces on its film
_SAMPLES_IN_FILTER = 40
_MOST_WINDOWS = 200
_LEAST_EXPLAINED = 0.5  # of the energy between two kicks
_GROUPS = 8
# In lengths of the filter: from a kick's top to its window, from a window to the next kick.
_WAIT, _CLEAR = 0.75, 0.6
_SHORTEST_WINDOW, _LONGEST_WINDOW = 1.3, 3.0
# A filter of length w keeps what is faster than about 1/w; much slower than 4/w is another's.
_SLOWEST_KEPT, _FASTEST_KEPT = 0.9, 4.0


@dataclass(frozen=True)
class Bounce:
    """A ringing found in a trace.

    Args:
        frequency: natural [Hz].
        frequency_error: standard error, from leaving kicks out and from the model's order [Hz].
        damping: ratio [-].
        damping_error: standard error of it [-].
        rms: of the ringing over all the time, unit of the trace.
        explained: share of the energy between kicks that is this ringing [-].
        kicks: how many decays it was taken from.
    """

    frequency: float
    frequency_error: float
    damping: float
    damping_error: float
    rms: float
    explained: float
    kicks: int


@dataclass(frozen=True, eq=False)
class _Decays:
    """Windows between kicks, and what goes with them."""

    windows: Floats
    step: float
    rests: list[Floats]
    filter_length: float


def find_bounce(records: Sequence[Floats], interval: float, lowest: float) -> Bounce | None:
    """Frequency and damping of what rings between the kicks.

    Filters of several lengths are tried; the matrix pencil with two and with four exponentials is
    put to all windows together. Where both agree on a decay, it is a candidate; the one that
    explains most of the energy between the kicks is taken.

    Args:
        records: evenly spaced, any unit, drift and slow swing included.
        interval: between samples [s].
        lowest: frequency above which a bounce is looked for [Hz].

    Returns:
        The bounce, or None where nothing rings above the noise.
    """
    best: tuple[float, _Decays, complex] | None = None
    highest = min(_FASTEST, 0.2 / interval)
    for frequency in np.geomspace(lowest, highest, 12) if highest > lowest else ():
        decays = _decays(records, interval, 1.2 / frequency)
        if decays is None:
            continue
        pole = _agreed_pole(decays.windows, decays)
        if pole is None:
            continue
        explained, _ = _explained(decays.windows, pole[0], decays.step)
        if explained >= _LEAST_EXPLAINED and (best is None or explained > best[0]):
            best = explained, decays, pole[0]
    return _bounce(*best) if best is not None else None


def _bounce(explained: float, decays: _Decays, pole: complex) -> Bounce | None:
    agreed = _agreed_pole(decays.windows, decays)
    assert agreed is not None
    frequency, damping = pole_mode(pole)
    count = len(decays.windows)
    groups = min(_GROUPS, count)
    others = [
        _agreed_pole(decays.windows[np.arange(count) % groups != group], decays)
        for group in range(groups)
    ]
    spread = [pole_mode(other[0]) for other in others if other is not None]
    if len(spread) < max(groups // 2, 2):
        return None
    by_kicks = np.std(spread, axis=0) * np.sqrt(len(spread) - 1)
    errors = np.hypot(by_kicks, np.abs(agreed[1]) / 2)
    if errors[0] > 0.1 * frequency or errors[1] > max(0.05, 0.7 * damping):
        return None
    return Bounce(
        frequency=frequency,
        frequency_error=float(errors[0]),
        damping=damping,
        damping_error=float(errors[1]),
        rms=_rms(decays, pole),
        explained=explained,
        kicks=count,
    )


def _decays(records: Sequence[Floats], interval: float, length: float) -> _Decays | None:
    """Windows between kicks, after a moving cubic of the given length [s] is taken away."""
    from scipy.signal import find_peaks, savgol_filter

    thin = max(int(length / _SAMPLES_IN_FILTER / interval), 1)
    step = interval * thin
    size = int(length / step) // 2 * 2 + 1
    if size < 9:
        return None
    rests: list[tuple[Floats, NDArray[np.intp]]] = []
    half = size // 2
    for record in records:
        values = record[: len(record) // thin * thin].reshape(-1, thin).mean(axis=1)
        if len(values) < 5 * size:
            continue
        rest = (values - savgol_filter(values, size, 3))[half:-half]
        size_of = np.sqrt(np.convolve(rest**2, np.ones(half) / half, "same"))
        tops, _ = find_peaks(size_of, distance=int(1.6 * size), height=1.3 * np.median(size_of))
        rests.append((rest, tops))
    gaps = np.concatenate([np.diff(tops) for _, tops in rests] or [np.empty(0)])
    if not len(gaps):
        return None
    room = float(np.median(gaps)) - (_WAIT + _CLEAR) * size
    wait = int(_WAIT * size)
    window = int(np.clip(room, _SHORTEST_WINDOW * size, _LONGEST_WINDOW * size))
    cut = [
        rest[top + wait : top + wait + window]
        for rest, tops in rests
        for top, following in zip(tops, np.append(tops, len(rest) + size)[1:], strict=True)
        if top + wait + window <= min(following - _CLEAR * size, len(rest))
    ]
    if len(cut) < 3:
        return None
    if len(cut) > _MOST_WINDOWS:
        kept = np.linspace(0, len(cut) - 1, _MOST_WINDOWS).astype(int)
        cut = [cut[place] for place in kept]
    return _Decays(np.array(cut), step, [rest for rest, _ in rests], length)


def _agreed_pole(windows: Floats, decays: _Decays) -> tuple[complex, Floats] | None:
    """The decay that two and four exponentials agree on, and their difference in it."""
    if len(windows) < 2:
        return None
    found = []
    _, vectors = pencil_basis(windows, windows.shape[1] // 3)
    for order in (2, 4):
        poles = basis_poles(vectors, decays.step, order)
        found.append(
            [
                pole
                for pole in poles
                if pole.imag > 0
                and _SLOWEST_KEPT < decays.filter_length * abs(pole) / (2 * np.pi) < _FASTEST_KEPT
                and 0 < pole_mode(pole)[1] < 0.4
            ]
        )
    pairs = [(first, second) for first in found[0] for second in found[1]]
    if not pairs:
        return None
    first, second = min(pairs, key=lambda pair: abs(pair[0] - pair[1]))
    apart = np.subtract(pole_mode(first), pole_mode(second))
    mean = (first + second) / 2
    frequency, damping = pole_mode(mean)
    if abs(apart[0]) > 0.05 * frequency or abs(apart[1]) > max(0.03, 0.4 * damping):
        return None
    return complex(mean), np.asarray(apart)


def _explained(windows: Floats, pole: complex, step: float) -> tuple[float, float]:
    """Share of the windows' energy that a decay explains, and its mean square over them."""
    wave = np.exp(pole * step * np.arange(windows.shape[1]))
    basis, _ = np.linalg.qr(np.column_stack([wave.real, wave.imag]))
    found, all_ = float(np.sum((windows @ basis) ** 2)), float(np.sum(windows**2))
    # White noise, too, lies in the decay's two dimensions, as in any two others.
    noise = (all_ - found) / max(windows.shape[1] - 2, 1) * 2
    return found / max(all_, 1e-300), max(found - noise, 0.0) / windows.size


def _rms(decays: _Decays, pole: complex) -> float:
    """Of the ringing over all the time, between and across the kicks."""
    size = decays.windows.shape[1]
    parts = [
        rest[: len(rest) // size * size].reshape(-1, size)
        for rest in decays.rests
        if len(rest) >= size
    ]
    return float(np.sqrt(_explained(np.concatenate(parts), pole, decays.step)[1]))
