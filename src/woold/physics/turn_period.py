"""The turn in a dancer's trace: its period, and the turntable's angle at every sample."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.physics.alias import LEAST_RATE
from woold.physics.trace import EvenSamples
from woold.words import say

__all__ = ["TurnPeriod", "find_turn_period", "follow_turn", "moving_mean"]

Floats = NDArray[np.float64]

_LEAST_REPEAT = 0.15  # correlation of turns below which nothing repeats
_AS_GOOD = 0.035  # less alike, and still the same repeat
_NO_LESS_ALIKE = 0.01
_MOST_PEAKS = 12
_NEARLY_AS_ALIKE = 0.9
_HALF_ALIKE = 0.7
_RIVAL = 0.6
_OFTEN_ALIKE = 0.8
_OFTEN = 3.2  # turns in the longest run
_FOLDED_STEPS = 48
_EXCERPT = 100.0  # s
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
        readings: all periods that the trace allows, the one taken first [s].
        halves: shorter ones after which it is nearly as much like itself [s].
    """

    period: float
    repeat: float
    correlation: float
    is_certain: bool
    readings: tuple[float, ...] = ()
    halves: tuple[float, ...] = ()


def find_turn_period(
    samples: EvenSamples,
    stretches: Sequence[slice],
    shortest: float = 0.6,
    longest: float = 20.0,
    corners: int = 4,
    expected: float | None = None,
) -> TurnPeriod:
    """The turn's period from the trace alone.

    Peaks of the autocorrelation are candidates; the shortest after which turns are about as alike
    as they ever are is the repeat. A centred rectangle repeats twice a turn, a centred square four
    times: where lines between the orders of the repeat stand out of the noise and come again, the
    turn is that much longer; where they do not, the turn is taken to be the one nearest to the
    expected, or to hold as many swings as the load has corners, and the others are told as well.

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
    pieces = [_block_means(samples.position[stretch], coarse) for stretch in stretches]
    longest_piece = max((len(piece) for piece in pieces), default=0) * interval
    last = min(longest, longest_piece / 2.2)
    if last <= shortest:
        raise _not_found(say("{time:.3g} s of movement at most", time=longest_piece), shortest)
    few = _excerpts(pieces, int(_EXCERPT / interval))
    repeat, likeness, rivals = _repeat(few, interval, shortest, last)
    if likeness < _LEAST_REPEAT:
        raise _not_found(say("no repeat in the trace"), shortest)
    level = [_level(piece, interval, longest) for piece in pieces]
    factor, certain = 1, False

    def is_told(longer: float) -> bool:
        """Half orders that come again are a longer turn; those that do not are hunting."""
        return (
            longer <= longest
            and _has_odd_lines(level, interval, longer)
            and _likeness(few, interval, longer, 5) > likeness - _NO_LESS_ALIKE
        )

    # Beside a strong eighth of a turn its quarter may hide what tells the whole.
    while longer := next((each for each in (4, 2) if is_told(repeat * each)), 0):
        # Told by its odd orders; with too few swings it may still be half of a turn.
        repeat *= longer
        certain = _swings(level, interval, repeat) >= corners
    if not certain:
        factor, certain = _turn_over_repeat(level, interval, repeat, corners, longest, expected)
    period = repeat * factor
    # Beside too few samples a bounce folded back makes other lags look alike as well.
    certain = certain and (samples.interval <= 1 / LEAST_RATE or not rivals)
    halves = tuple(
        repeat / parts
        for parts in (2, 3, 4)
        if _likeness(few, interval, repeat / parts, 5) > _HALF_ALIKE * likeness
    )
    readings: tuple[float, ...] = (period,)
    if not certain:
        others = [repeat * each for each in (1, 2, 4, 2 * factor) if each != factor]
        others += halves
        others += rivals if samples.interval > 1 / LEAST_RATE else ()
        readings += tuple(each for each in dict.fromkeys(others) if each <= longest)
    return TurnPeriod(period, repeat, likeness, certain, readings, halves)


def _excerpts(pieces: Sequence[Floats], size: int) -> list[Floats]:
    """Begin, middle and end of all that is long: the turn is known long before an hour is over."""
    total = sum(len(piece) for piece in pieces)
    if total <= 4 * size:
        return list(pieces)
    parts = [
        part
        for piece in pieces
        for part in np.array_split(piece, max(round(len(piece) / size), 1))
        if len(part) > size / 2 or len(pieces) > 1
    ]
    return [parts[place] for place in np.linspace(0, len(parts) - 1, 4).astype(int)]


def _repeat(
    pieces: Sequence[Floats], interval: float, shortest: float, last: float
) -> tuple[float, float, tuple[float, ...]]:
    """The shortest time after which about all repeats that ever does; how alike; others nearly."""
    lags = {
        lag for width in (3.0, 8.0, 20.0) for lag in _peaks(pieces, interval, width, shortest, last)
    }
    lags |= {lag / 2 for lag in lags if lag / 2 >= shortest}
    found = sorted(_refined(pieces, interval, lag) for lag in _apart(sorted(lags)))
    if not found or max(found, key=lambda each: each[1])[1] < _LEAST_REPEAT:
        return shortest, 0.0, ()
    # Few turns are alike by chance: those of which there are three or more go first.
    longest = max(len(piece) for piece in pieces) * interval
    best, alike = max(found, key=lambda each: each[1])
    often = [
        each for each in found if each[0] < longest / _OFTEN and each[1] > _OFTEN_ALIKE * alike
    ]
    best, alike = max(often or found, key=lambda each: each[1])
    # Both are looked at through the shorter one's filter: a coarser one makes all turns alike.
    lag = next(
        lag
        for lag, score in found
        if score >= _NEARLY_AS_ALIKE * alike
        and score >= (1 - _AS_GOOD) * _likeness(pieces, interval, best, 5, lag)
    )
    # Longer runs of turns tell the time more sharply.
    rivals = _apart([each for each, score in found if score > _RIVAL * alike and each > lag / 4])
    others = tuple(each for each in rivals if abs(each / lag - round(each / lag)) > 0.03)
    return *_refined(pieces, interval, lag, reach=0.01, turns=12), others


def _apart(lags: Sequence[float]) -> list[float]:
    """Lags without those that lie close after another."""
    kept: list[float] = []
    for lag in lags:
        if not kept or lag > 1.02 * kept[-1]:
            kept.append(lag)
    return kept


def _peaks(
    pieces: Sequence[Floats], interval: float, width: float, shortest: float, last: float
) -> list[float]:
    """Lags at which the trace is most like itself, motion slower than a width taken off [s]."""
    level = [piece - moving_mean(piece, max(int(width / interval), 3)) for piece in pieces]
    first, end = int(shortest / interval), int(last / interval)
    inside = _autocorrelation(level, end + 1)[first:]
    peaks = 1 + np.flatnonzero((inside[1:-1] >= inside[:-2]) & (inside[1:-1] > inside[2:]))
    peaks = peaks[inside[peaks] > 0.1]
    strongest = peaks[np.argsort(inside[peaks])[::-1][:_MOST_PEAKS]]
    return [float(interval * (first + peak)) for peak in strongest]


def _refined(
    pieces: Sequence[Floats],
    interval: float,
    lag: float,
    reach: float = 0.03,
    turns: int = 5,
) -> tuple[float, float]:
    """The lag near one at which turns are most alike, and how alike they are."""
    near = lag * np.linspace(1 - reach, 1 + reach, 13)
    scores = [_likeness(pieces, interval, each, turns) for each in near]
    at = int(np.argmax(scores))
    if 0 < at < len(near) - 1:
        left, middle, right = scores[at - 1 : at + 2]
        bend = left - 2 * middle + right
        if bend < 0:
            return float(near[at] + 0.5 * (near[1] - near[0]) * (left - right) / bend), middle
    return float(near[at]), scores[at]


def _likeness(
    pieces: Sequence[Floats],
    interval: float,
    period: float,
    turns: int,
    passed: float | None = None,
) -> float:
    """Mean correlation of turns with each other, within runs of some turns.

    What is slower than a turn, or than the time that is passed, is taken off, and what is faster
    than a sixteenth of it.

    Σ_{i≠j} x_i·x_j / (n - 1) over Σ x_i·x_i, which no number of turns favours
    """
    alike = energy = 0.0
    passed = passed or period
    width, short = max(round(passed / interval), 3), max(round(passed / interval / 16), 1)
    for piece in pieces:
        count = int(len(piece) * interval / period)
        if count < 2:
            continue
        # A bounce is no corner, and what is slower than a turn neither.
        level = moving_mean(piece - moving_mean(piece, width), short)
        steps = period / interval * np.arange(count * _FOLDED_STEPS) / _FOLDED_STEPS
        rows = np.interp(steps, np.arange(len(level)), level).reshape(count, -1)
        for part in np.array_split(rows, max(round(len(rows) / turns), 1)):
            if len(part) > 1:
                own = float(np.sum(part**2))
                alike += (float(np.sum(part.sum(axis=0) ** 2)) - own) / (len(part) - 1)
                energy += own
    return alike / max(energy, 1e-300)


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


def _turn_over_repeat(
    pieces: Sequence[Floats],
    interval: float,
    repeat: float,
    corners: int,
    longest: float,
    expected: float | None,
) -> tuple[int, bool]:
    if expected is not None:
        nearest = min((1, 2, 4), key=lambda factor: abs(np.log(repeat * factor / expected)))
        return nearest, abs(repeat * nearest / expected - 1) < _NEAR_EXPECTED
    swings = _swings(pieces, interval, repeat)
    if swings >= corners:
        # A centred load may swing the dancer so often in half a turn.
        return 1, False
    factor = 2 if 2 * swings >= corners else 4
    return (factor, False) if repeat * factor <= longest else (1, False)


def _swings(pieces: Sequence[Floats], interval: float, period: float) -> int:
    """How many tall swings a period holds."""
    folded = _fold(pieces, interval, period)
    line = np.fft.rfft(folded)
    line[5:] = 0  # a bounce is no corner
    smooth = np.fft.irfft(line, len(folded))
    rise = smooth - np.roll(smooth, 1)
    tops = np.flatnonzero((rise > 0) & (np.roll(rise, -1) <= 0))
    tall = smooth[tops] - smooth.min() > 0.25 * np.ptp(smooth)
    return max(int(tall.sum()), 1)


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
