"""A steady oscillation: a narrow line in the spectrum that keeps to no turn and never dies out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from woold.physics.slow_motion import wave_columns

__all__ = ["STEADY_DEGREE", "steady_frequencies"]

Floats = NDArray[np.float64]

STEADY_DEGREE = 2  # of the slow change of a line's size and phase
_LEAST_SHARE = 0.012  # of all the energy
_LEAST_OF_BAND = 0.5  # of the energy nearby that does not repeat
_LEAST_OF_REPEATING = 0.3  # of the energy nearby that repeats
_BAND = 0.12  # either way, of the frequency
_MOST = 2


def steady_frequencies(
    unlike: Floats, repeating: Floats, interval: float, lowest: float
) -> tuple[float, ...]:
    """Frequencies of steady oscillations in a run.

    A line counts where most of what is near it and does not repeat from turn to turn is that line,
    and where it is not just the unlike part of a ringing that does repeat.

    Args:
        unlike: the run less its average turn, shape (n,).
        repeating: the average turn at the run's samples, shape (n,).
        interval: between samples [s].
        lowest: frequency above which lines are looked for [Hz].

    Returns:
        Frequencies, the strongest first [Hz].
    """
    rest, found = unlike.copy(), []
    time = np.asarray(interval * np.arange(len(rest)), dtype=np.float64)
    energy = float(np.var(unlike) + np.var(repeating))
    for _ in range(_MOST):
        frequency = _strongest(rest, interval, lowest)
        if frequency is None:
            break
        columns = wave_columns(time, frequency, STEADY_DEGREE)
        line = columns @ np.linalg.lstsq(columns, rest, rcond=None)[0]
        reach = max(_BAND * frequency, 4 / (interval * len(rest)))
        near = _band_energy(rest, interval, frequency, reach)
        repeats = _band_energy(repeating, interval, frequency, reach)
        strength = float(np.mean(line**2))
        if (
            strength < _LEAST_SHARE * energy
            or strength < _LEAST_OF_BAND * near
            or strength < _LEAST_OF_REPEATING * repeats
        ):
            break
        found.append(frequency)
        rest = rest - line
    return tuple(found)


def _strongest(values: Floats, interval: float, lowest: float) -> float | None:
    """Frequency of the highest line above the lowest, between the spectrum's steps."""
    size = 1 << int(np.ceil(np.log2(4 * len(values))))
    power = np.abs(np.fft.rfft(np.hanning(len(values)) * values, size)) ** 2
    step = 1 / (size * interval)
    first = int(np.ceil(lowest / step))
    if first >= len(power) - 2:
        return None
    at = first + int(power[first:-1].argmax())
    left, middle, right = power[at - 1 : at + 2]
    bend = left - 2 * middle + right
    return float(step * (at + (0.5 * (left - right) / bend if bend < 0 else 0.0)))


def _band_energy(values: Floats, interval: float, middle: float, reach: float) -> float:
    power = 2 * np.abs(np.fft.rfft(values)) ** 2 / len(values) ** 2
    frequency = np.arange(len(power)) / (len(values) * interval)
    return float(power[np.abs(frequency - middle) <= reach].sum())
