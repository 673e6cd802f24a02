"""Motion slower than a turn: a drift of the level, or a hunting that comes and goes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.physics.turn_period import moving_mean

__all__ = ["SlowMotion", "drift_columns", "slow_motion", "wave_columns"]

Floats = NDArray[np.float64]

_FASTEST_ORDER = 0.93  # times a turn; above it lies what comes with the turns
_FEWEST_WAVES = 1.25
_SURE_WAVES = 1.75
_STEPS_A_TURN = 12
_AS_GOOD = 0.03  # of the slow energy, that even the right one of both may leave
_TURNS_BACK = 0.2  # of the way
_NOT_WORTH = 2e-3  # of all the energy


@dataclass(frozen=True, eq=False)
class SlowMotion:
    """What describes the slow motion of a run.

    Args:
        degree: of the polynomial that is the drift.
        hunting_frequency: of a slow wave, or None [Hz].
        waves: how many of them the run holds.
        is_certain: drift and hunting can be told apart.
        rise: of the drift over the run, unit of the position.
    """

    degree: int
    hunting_frequency: float | None = None
    waves: float = 0.0
    is_certain: bool = True
    rise: float = 0.0


def wave_columns(time: Floats, frequency: float, degree: int) -> Floats:
    """Columns whose sums are a wave of slowly changing size and phase.

    P_k(t) cos 2πft and P_k(t) sin 2πft, P_k the Legendre polynomials up to the degree

    Args:
        time: of the samples [s], shape (n,).
        frequency: of the wave [Hz].
        degree: of the polynomials.

    Returns:
        Shape (n, 2 (degree + 1)).
    """
    sizes = np.polynomial.legendre.legvander(_place(time), degree)
    angle = 2 * np.pi * frequency * time
    return np.concatenate([sizes * np.cos(angle)[:, None], sizes * np.sin(angle)[:, None]], axis=1)


def _place(time: Floats) -> Floats:
    middle, half = (time[0] + time[-1]) / 2, max((time[-1] - time[0]) / 2, 1e-12)
    return np.asarray((time - middle) / half)


def drift_columns(time: Floats, degree: int) -> Floats:
    """Legendre polynomials over the time.

    Args:
        time: of the samples [s], shape (n,).
        degree: the highest.

    Returns:
        Shape (n, degree + 1).
    """
    return np.asarray(np.polynomial.legendre.legvander(_place(time), degree))


def slow_motion(position: Floats, interval: float, period: float) -> SlowMotion:
    """Whether what is slower than a turn drifts or hunts.

    A mean over one turn takes away what comes with the turn. A cubic is put to what is left, and a
    line with a wave of slowly changing size; the wave is taken where its Bayesian information
    criterion is the lower one, and one and a quarter of it were recorded.

    Args:
        position: a run of whole turns at even steps, any unit, shape (n,).
        interval: between samples [s].
        period: of the turn [s].

    Returns:
        What describes it.
    """
    turn = max(round(period / interval), 2)
    inner = slice(turn // 2, len(position) - turn // 2)
    step = max(turn // _STEPS_A_TURN, 1)
    values = moving_mean(position, turn)[inner][::step]
    time = np.asarray(interval * np.arange(len(position))[inner][::step], dtype=np.float64)
    if len(values) < 2 * _STEPS_A_TURN:
        return SlowMotion(1)
    span = float(time[-1] - time[0])
    energy = float(np.var(position))
    if float(np.var(values)) < _NOT_WORTH * energy:
        return SlowMotion(1)
    by_degree = [_left(drift_columns(time, degree), values) for degree in (1, 2, 3)]
    floor = 1e-5 * energy + _AS_GOOD * float(np.var(values))
    # As many values say something of their own as the band can hold.
    count = max(2 * _FASTEST_ORDER * span / period, 6.0)
    found = _best_wave(time, values, span, period)
    frequency, left = found or (0.0, np.inf)
    waves = frequency * span
    drifts = count * np.log(by_degree[2] + floor) + 4 * np.log(count)
    hunts = count * np.log(left + floor) + 7 * np.log(count)
    columns = drift_columns(time, 3)
    course = columns @ np.linalg.lstsq(columns, values, rcond=None)[0]
    rise, span_of = float(course[-1] - course[0]), float(np.ptp(course))
    # What turns back on its way is no drift for certain: it may be a wave that was not all seen.
    hides = span_of - abs(rise) > _TURNS_BACK * span_of
    if hunts < drifts:
        return SlowMotion(1, frequency, waves, waves >= _SURE_WAVES)
    return SlowMotion(3, None, waves, not hides, rise)


def _left(columns: Floats, values: Floats) -> float:
    fit = np.linalg.lstsq(columns, values, rcond=None)[0]
    return float(np.mean((values - columns @ fit) ** 2))


def _best_wave(
    time: Floats, values: Floats, span: float, period: float
) -> tuple[float, float] | None:
    """Frequency of the wave that leaves least, and what it leaves."""
    low, high = _FEWEST_WAVES / span, _FASTEST_ORDER / period
    if high <= low:
        return None
    base = drift_columns(time, 1)
    grid = np.arange(low, high, 0.2 / span)
    left = [_left(np.hstack([base, wave_columns(time, each, 0)]), values) for each in grid]
    at = int(np.argmin(left))
    near = np.linspace(max(grid[at] - 0.2 / span, low), grid[at] + 0.2 / span, 9)
    finer = [_left(np.hstack([base, wave_columns(time, each, 1)]), values) for each in near]
    best = int(np.argmin(finer))
    return float(near[best]), finer[best]
