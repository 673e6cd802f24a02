"""The bounce in a dancer's trace: what rings on after a corner, its frequency and damping."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.physics.decay import matrix_pencil, pole_mode

__all__ = ["Bounce", "find_bounce"]

Floats = NDArray[np.float64]

_SAMPLES_PER_PERIOD = 14
_PEAK_OVER_NOISE = 6.0
_GROUPS = 8


@dataclass(frozen=True)
class Bounce:
    """A ringing found in a trace.

    Args:
        frequency: natural [Hz].
        frequency_error: standard error by leaving out a part of the kicks at a time [Hz].
        damping: ratio [-].
        damping_error: standard error of it [-].
        rms: of the ringing, unit of the trace.
        kicks: how many decays it was taken from.
    """

    frequency: float
    frequency_error: float
    damping: float
    damping_error: float
    rms: float
    kicks: int


def find_bounce(records: list[Floats], interval: float, lowest: float) -> Bounce | None:
    """Frequency and damping of what rings in records free of the corners' slow swing.

    The strongest peak of the spectrum above `lowest` says where to look; decays are cut out after
    the tops of its envelope, and the matrix pencil is put to all of them together.

    Args:
        records: evenly spaced, any unit.
        interval: between samples [s].
        lowest: frequency above which a bounce is looked for [Hz].

    Returns:
        The bounce, or None where nothing rings above the noise.
    """
    peak = _spectral_peak(records, interval, lowest)
    if peak is None:
        return None
    thin = max(int(1 / (peak * interval * _SAMPLES_PER_PERIOD)), 1)
    step = interval * thin
    period = 1 / (peak * step)
    energy, samples = 0.0, 0
    tops: list[tuple[Floats, NDArray[np.intp]]] = []
    for record in records:
        whole = len(record) // thin * thin
        values = record[:whole].reshape(-1, thin).mean(axis=1)
        if len(values) < 8 * period:
            continue
        envelope = _envelope(values, step, peak)
        energy += float(np.sum(envelope**2)) / 2
        samples += len(values)
        tops.append((values, _tops(envelope, int(1.5 * period))))
    if not samples:
        return None
    windows = _decays(tops, period)
    if len(windows) < 2:
        return None
    pole = _ringing_pole(windows, step, peak)
    if pole is None:
        return None
    spread = []
    groups = min(_GROUPS, len(windows))
    for group in range(groups):
        kept = np.arange(len(windows)) % groups != group
        other = _ringing_pole(windows[kept], step, peak)
        if other is not None:
            spread.append(pole_mode(other))
    frequency, damping = pole_mode(pole)
    count = len(spread)
    errors = (
        np.std(spread, axis=0) * np.sqrt(max(count - 1, 0)) if count > 1 else np.array([np.inf] * 2)
    )
    # What does not decay, or comes out differently from every part of the kicks, is no ringing.
    if not (0 < damping < 0.7 and errors[0] < 0.1 * frequency and errors[1] < 0.1):
        return None
    return Bounce(
        frequency=frequency,
        frequency_error=float(errors[0]),
        damping=damping,
        damping_error=float(errors[1]),
        rms=float(np.sqrt(energy / samples)),
        kicks=len(windows),
    )


def _spectral_peak(records: list[Floats], interval: float, lowest: float) -> float | None:
    """Frequency of the strongest peak above `lowest` that stands out of its neighbourhood."""
    length = min(max(len(record) for record in records), max(int(12 / lowest / interval), 64))
    size = 1 << int(np.ceil(np.log2(length)))
    window = np.hanning(length)
    power = np.zeros(size // 2 + 1)
    for record in records:
        if len(record) < length:
            continue
        parts = np.lib.stride_tricks.sliding_window_view(record, length)[:: length // 2]
        power += (np.abs(np.fft.rfft(parts * window, size, axis=1)) ** 2).sum(axis=0)
    frequency = np.fft.rfftfreq(size, interval)
    band = np.flatnonzero((frequency >= lowest) & (frequency <= 0.35 / interval))
    if len(band) < 5 or not power[band].any():
        return None
    # The rings' own shoulders and the noise: the lower quartile of the band speaks for the noise.
    noise = float(np.percentile(power[band], 25))
    inner = band[1:-1]
    peaks = inner[(power[inner] >= power[inner - 1]) & (power[inner] > power[inner + 1])]
    if not len(peaks):
        return None
    best = int(peaks[power[peaks].argmax()])
    if power[best] < _PEAK_OVER_NOISE * noise:
        return None
    return float(frequency[best])


def _envelope(values: Floats, step: float, peak: float) -> Floats:
    """Size of the analytic signal between 0.5 and 1.7 times the peak's frequency."""
    lines = np.fft.fft(values)
    frequency = np.fft.fftfreq(len(values), step)
    lines[(frequency < 0.5 * peak) | (frequency > 1.7 * peak)] = 0
    return np.asarray(np.abs(2 * np.fft.ifft(lines)))


def _tops(envelope: Floats, apart: int) -> NDArray[np.intp]:
    """Highest points of the envelope, none within `apart` of a higher one."""
    from scipy.signal import find_peaks

    tops, _ = find_peaks(envelope, distance=max(apart, 1), height=1.2 * np.median(envelope))
    return np.asarray(tops)


def _decays(tops: list[tuple[Floats, NDArray[np.intp]]], period: float) -> Floats:
    """Windows of one length, each after a kick and before the next one."""
    gaps = np.concatenate([np.diff(places) for _, places in tops] or [np.empty(0)])
    room = float(np.median(gaps)) if len(gaps) else 4 * period
    wait = int(0.6 * period)
    length = int(np.clip(room - 1.2 * period, 2.0 * period, 4.0 * period))
    cut: list[Floats] = []
    for values, places in tops:
        after = np.append(places[1:], len(values))
        for place, following in zip(places, after, strict=True):
            first = place + wait
            if first + length <= min(following - 0.3 * period, len(values)):
                cut.append(values[first : first + length])
    return np.array(cut)


def _ringing_pole(windows: Floats, step: float, peak: float) -> complex | None:
    """The pole of the ringing among those of ringing and slow remainder."""
    poles, _ = matrix_pencil(windows, step, min(4, windows.shape[1] // 2))
    near = [pole for pole in poles if 0.6 * peak < pole.imag / (2 * np.pi) < 1.5 * peak]
    if not near:
        return None
    return complex(min(near, key=lambda pole: abs(pole.imag / (2 * np.pi) - peak)))
