"""The turn in a dancer's trace: its period, and the turntable's angle at every sample."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.physics.trace import EvenSamples
from woold.words import say

__all__ = ["TurnPeriod", "find_turn_period", "follow_turn", "moving_mean"]

Floats = NDArray[np.float64]

_LEAST_REPEAT = 0.25  # correlation below which nothing repeats
_NEAR_EXPECTED = 0.1
_FOLDED = 12
_LINE_OVER_NOISE = 12.0  # power of a line over that of its neighbourhood, to count as one


@dataclass(frozen=True)
class TurnPeriod:
    """Time of a turn.

    Args:
        period: of the turn [s].
        repeat: shortest time after which the trace repeats: a turn, a half or a quarter [s].
        correlation: of the trace with itself one repeat later [-].
        is_certain: the trace itself says that the turn is no shorter; otherwise a load with
            the asked number of corners was assumed.
    """

    period: float
    repeat: float
    correlation: float
    is_certain: bool


def find_turn_period(
    samples: EvenSamples,
    stretches: Sequence[slice],
    shortest: float = 0.6,
    longest: float = 20.0,
    corners: int = 4,
    expected: float | None = None,
) -> TurnPeriod:
    """The turn's period from the trace alone.

    The first peak of the autocorrelation that is about as high as the highest is the repeat. A
    centred rectangle repeats twice a turn, a centred square four times: where lines between the
    orders of the repeat stand out of the noise, the turn is that much longer; where they do not,
    the turn is taken to be the one nearest to the expected, or to hold as many swings as the load
    has corners.

    Args:
        samples: the trace.
        stretches: where the dancer works.
        shortest, longest: repeats looked for [s].
        corners: of the load, for the undecided case.
        expected: turn period, for the undecided case [s].

    Returns:
        The period, and how sure it is.

    Raises:
        InputError: nothing repeats, or less than two and a half repeats were recorded.
    """
    coarse = max(int(0.02 / samples.interval), 1)
    interval = samples.interval * coarse
    pieces = [
        _level(_block_means(samples.position[stretch], coarse), interval, longest)
        for stretch in stretches
    ]
    longest_piece = max((len(piece) for piece in pieces), default=0) * interval
    last = min(longest, longest_piece / 2.2)
    if last <= shortest:
        raise _not_found(say("{time:.3g} s of movement at most", time=longest_piece), shortest)
    correlation = _autocorrelation(pieces, int(longest_piece / 2.2 / interval))
    first, end = int(shortest / interval), int(last / interval)
    inside = correlation[first:end]
    peaks = 1 + first + np.flatnonzero((inside[1:-1] >= inside[:-2]) & (inside[1:-1] > inside[2:]))
    if not len(peaks) or correlation[peaks].max() < _LEAST_REPEAT:
        raise _not_found(say("no repeat in the trace"), shortest)
    # Correlation falls with the lag where the turning speed wanders; noise costs all lags alike.
    floor = correlation[peaks].max() - 0.12 * (correlation[peaks].max() - inside.min())
    peak = int(peaks[correlation[peaks] >= floor][0])
    repeat = _refined(correlation, peak) * interval
    factor, certain = _turn_over_repeat(pieces, interval, repeat, corners, longest, expected)
    return TurnPeriod(repeat * factor, repeat, float(correlation[peak]), certain)


def _not_found(given: str, shortest: float) -> InputError:
    error = InputError.one(
        "trace",
        given,
        say(
            "two and a half turns or more that repeat, a repeat taking {shortest:g} s or more",
            shortest=shortest,
        ),
        say("Record more turns, or give the turning speed, a turn pulse or the turntable's angle."),
    )
    assert isinstance(error, InputError)
    return error


def _block_means(values: Floats, size: int) -> Floats:
    whole = len(values) // size * size
    return np.asarray(values[:whole].reshape(-1, size).mean(axis=1))


def _level(values: Floats, interval: float, longest: float) -> Floats:
    """Values without drift slower than the longest repeat."""
    degree = int(np.clip(len(values) * interval / (2 * longest), 1, 12))
    place = np.linspace(-1.0, 1.0, len(values))
    fit = np.polynomial.legendre.legfit(place, values, degree)
    return np.asarray(values - np.polynomial.legendre.legval(place, fit))


def _autocorrelation(pieces: Sequence[Floats], lags: int) -> Floats:
    total, count = np.zeros(lags), np.zeros(lags)
    for piece in pieces:
        size = 1 << int(np.ceil(np.log2(2 * len(piece))))
        power = np.abs(np.fft.rfft(piece, size)) ** 2
        use = min(lags, len(piece))
        total[:use] += np.fft.irfft(power, size)[:use]
        count[:use] += len(piece) - np.arange(use)
    mean = total / np.maximum(count, 1)
    return np.asarray(mean / max(float(mean[0]), 1e-300))


def _refined(correlation: Floats, peak: int) -> float:
    """Lag of the peak, from its multiples as long as they stand."""
    lag, multiple = _parabola(correlation, peak), 1
    while 2 * multiple * lag * 1.02 < len(correlation) - 2:
        ahead = 2 * multiple * lag
        reach = max(int(0.1 * lag), 2)
        near = slice(max(int(ahead) - reach, 1), min(int(ahead) + reach, len(correlation) - 1))
        place = int(near.start + correlation[near].argmax())
        if correlation[place] < 0.6 * correlation[peak]:
            break
        multiple *= 2
        lag = _parabola(correlation, place) / multiple
    return lag


def _parabola(values: Floats, peak: int) -> float:
    left, middle, right = values[peak - 1 : peak + 2]
    bend = left - 2 * middle + right
    return float(peak + (0.5 * (left - right) / bend if bend < 0 else 0.0))


def _turn_over_repeat(
    pieces: Sequence[Floats],
    interval: float,
    repeat: float,
    corners: int,
    longest: float,
    expected: float | None,
) -> tuple[int, bool]:
    for factor in (4, 2):
        if repeat * factor <= longest and _has_odd_lines(pieces, interval, repeat * factor):
            return factor, True
    if expected is not None:
        nearest = min((1, 2, 4), key=lambda factor: abs(np.log(repeat * factor / expected)))
        return nearest, abs(repeat * nearest / expected - 1) < _NEAR_EXPECTED
    folded = _fold(pieces, interval, repeat)
    line = np.fft.rfft(folded)
    line[5:] = 0  # a bounce is no corner
    smooth = np.fft.irfft(line, len(folded))
    rise = smooth - np.roll(smooth, 1)
    tops = np.flatnonzero((rise > 0) & (np.roll(rise, -1) <= 0))
    tall = smooth[tops] - smooth.min() > 0.25 * np.ptp(smooth)
    swings = max(int(tall.sum()), 1)
    if swings >= corners:
        return 1, True
    factor = 2 if 2 * swings >= corners else 4
    return (factor, False) if repeat * factor <= longest else (1, False)


def _has_odd_lines(pieces: Sequence[Floats], interval: float, period: float) -> bool:
    """Whether lines at odd multiples of 1/period stand out of the noise beside them."""
    strength = noise = 0.0
    # Parts short enough for the turning speed to hold, long enough to part the lines.
    parts = [
        part
        for piece in pieces
        for part in np.array_split(piece, max(int(len(piece) * interval / period / 24), 1))
        if len(part) * interval >= 6 * period
    ]
    for each in parts:
        part = each[: int(len(each) * interval // period * period / interval)]
        window = np.hanning(len(part)) * part
        angle = 2 * np.pi * np.arange(len(part)) * interval / period
        for order in (1, 3):
            lines = [
                abs(np.sum(window * np.exp(-1j * angle * (order + step)))) ** 2
                for step in (0.0, -0.5, -0.37, 0.37, 0.5)
            ]
            strength += lines[0]
            noise += sum(lines[1:]) / 4
    return strength > _LINE_OVER_NOISE * noise > 0


def _fold(pieces: Sequence[Floats], interval: float, period: float, bins: int = 64) -> Floats:
    # Not more than a few repeats, lest a wandering speed smear them.
    piece = max(pieces, key=len)[: int(_FOLDED * period / interval)]
    place = (np.arange(len(piece)) * interval / period % 1.0 * bins).astype(int)
    count = np.bincount(place, minlength=bins)
    return np.asarray(np.bincount(place, piece, minlength=bins) / np.maximum(count, 1))


def follow_turn(samples: EvenSamples, stretch: slice, period: float) -> Floats:
    """Turntable angle in a stretch, from the phase of its strongest order.

    θ = 2π t/T + ψ/n, ψ the phase of the order n, averaged over one turn, twice

    Args:
        samples: the trace.
        stretch: where the dancer works.
        period: of the turn, about [s].

    Returns:
        θ, growing, from 0 at about the stretch's start [rad], shape (samples in the stretch,).
    """
    values = samples.position[stretch]
    interval = samples.interval
    turn = max(round(period / interval), 4)
    base = 2 * np.pi * np.arange(len(values)) * interval / period
    if len(values) < 3 * turn:
        return np.asarray(base)
    level = values - moving_mean(values, turn)
    inner = slice(turn, len(values) - turn)
    strengths = [abs(np.sum(level[inner] * np.exp(-1j * n * base[inner]))) for n in (1, 2, 3, 4)]
    order = 1 + int(np.argmax(strengths))
    turned = level * np.exp(-1j * order * base)
    mean = moving_mean(turned.real, turn) + 1j * moving_mean(turned.imag, turn)
    mean = moving_mean(mean.real, turn) + 1j * moving_mean(mean.imag, turn)
    phase = np.unwrap(np.angle(mean))
    # Where the averages run over the stretch's ends the phase is held.
    phase[:turn], phase[-turn:] = phase[turn], phase[-turn - 1]
    theta = base + (phase - phase[0]) / order
    return np.asarray(np.maximum.accumulate(theta))


def moving_mean(values: Floats, size: int) -> Floats:
    """Mean over `size` samples centred on each; at the ends over those that are there."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    place = np.arange(len(values))
    first = np.maximum(place - size // 2, 0)
    last = np.minimum(place + (size - size // 2), len(values))
    return np.asarray((total[last] - total[first]) / (last - first))
