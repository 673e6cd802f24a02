"""The ringing of a swing, found: its frequency and damping, and where in the turn it is kicked."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from woold.physics.bounce import Bounce, find_bounce
from woold.physics.ring_fit import (
    RingFit,
    RingStart,
    Run,
    fitted_ring,
    harmonics,
    ring_pole,
    settled_places,
)
from woold.physics.ring_kicks import kick_places
from woold.physics.slow_motion import drift_columns

__all__ = ["find_ringing", "orders_beside"]

Floats = NDArray[np.float64]

_FASTEST = 20.0  # Hz, above which no dancer's arm bounces on its film
_MOST_ORDERS = 12
_PLAIN_ORDERS = 8  # where no ringing shows where the corners' own orders end
_REFINED_TURNS = 6
_MOST_STARTS = 3
_NEAR, _NEAR_DAMPING = np.array([0.8, 0.87, 0.94, 1.06, 1.13, 1.25]), 0.03
_LARGEST_ERROR = 0.1  # of the frequency
_DRIFT_DEGREE = 2
_ORDERS_TRIED = (4, 6, 8, 10)
_TRIED_APART, _TRIED_DAMPING = 1.08, 0.05
_HIGHEST_OF_RATE = 0.4  # of the sampling rate
_COST_OF_KICK = 0.1
_WORTH = 5e-3  # of what repeats
_LEAST_EXPLAINED = 0.5
_FREQUENCY_TOLD, _DAMPING_TOLD = 0.003, 0.05  # how well, at best, on recordings of known truth
_BESIDE_CORNERS = 9.0  # times a turn; slower, some of it is taken for the corners' own swing
_FREQUENCY_TOLD_BESIDE, _DAMPING_TOLD_BESIDE = 0.02, 0.3


def orders_beside(frequency: float | None, period: float, interval: float) -> int:
    """How many orders are the corners' own, beside a ringing.

    Args:
        frequency: of the ringing, or None [Hz].
        period: of the turn [s].
        interval: between samples [s].
    """
    highest = _PLAIN_ORDERS
    if frequency is not None:
        highest = min(_MOST_ORDERS, int(0.75 * frequency * period))
    return int(np.clip(highest, 4, max(0.4 * period / interval, 4) if interval else highest))


def find_ringing(
    runs: Sequence[Run], mean_turn: Floats, period: float, lowest: float
) -> tuple[Bounce | None, Floats]:
    """The ringing and its kicks' places in the turn: of single decays, or of all turns together.

    Args:
        runs: without steady lines and slow motion, the longest first.
        mean_turn: average turn of the longest run, unit of the trace.
        period: of the turn, or of its repeat [s].
        lowest: frequency above which a ringing is looked for [Hz].

    Returns:
        The ringing, or None, and the places [rad].
    """
    single = find_bounce([run.position for run in runs], runs[0].interval, lowest)
    tried = [] if single is None else [(single.frequency, single.damping)]
    if single is not None or _is_worth(mean_turn):
        highest = min(_FASTEST, _HIGHEST_OF_RATE / runs[0].interval)
        if single is not None:
            near, damping = single.frequency * _NEAR, max(single.damping, _NEAR_DAMPING)
            tried += [(float(each), damping) for each in near if lowest < each < highest]
        elif highest > lowest:
            count = int(np.ceil(np.log(highest / lowest) / np.log(_TRIED_APART))) + 1
            tried += [
                (float(each), _TRIED_DAMPING) for each in np.geomspace(lowest, highest, count)
            ]
    if not tried:
        return None, np.empty(0)
    return _best_decay(runs[0], period, tried)


def _is_worth(mean_turn: Floats) -> bool:
    """Whether more than a trace of the turn that repeats is faster than the corners."""
    lines = np.abs(np.fft.rfft(mean_turn)) ** 2
    return bool(lines[_PLAIN_ORDERS + 1 :].sum() > _WORTH * lines[1:].sum())


def _best_decay(
    run: Run, period: float, tried: Sequence[tuple[float, float]]
) -> tuple[Bounce | None, Floats]:
    """The decay that explains most of what is faster than the corners, made sharper."""
    few = slice(0, int(_REFINED_TURNS * period / run.interval))
    part = Run(run.position[few], run.theta[few], run.interval)
    starts: list[tuple[float, RingStart]] = []
    known = _known(part.theta, orders_beside(min(each[0] for each in tried), period, run.interval))
    for frequency, damping in tried:
        pole = ring_pole(frequency, damping)
        places, left = kick_places(part.position, part.theta, run.interval, pole, known)
        # Many kicks explain anything; of two that explain as much, the one with fewer is right.
        if len(places):
            cost = left * np.exp(_COST_OF_KICK * len(places))
            starts.append((cost, RingStart(frequency, damping, places)))
    if not starts:
        return None, np.empty(0)
    starts.sort(key=lambda each: each[0])
    fits = [
        fitted_ring(part, start, _beside(part, start.frequency, period))
        for _, start in starts[:_MOST_STARTS]
    ]
    # Kicks at every eighth of a turn make up for places that are a little off, and for a wrong
    # frequency: only fits whose places have settled can be held against each other.
    fit = min((_settled(part, each, period) for each in fits), key=lambda each: each.criterion)
    fit = _settled(part, fit, period)
    if (
        fit.explained < _LEAST_EXPLAINED
        or fit.went_far
        or fit.frequency_error > _LARGEST_ERROR * fit.frequency
    ):
        return None, np.empty(0)
    is_slow = fit.frequency * period < _BESIDE_CORNERS
    told = _FREQUENCY_TOLD_BESIDE if is_slow else _FREQUENCY_TOLD
    damping_told = _DAMPING_TOLD_BESIDE if is_slow else _DAMPING_TOLD
    bounce = Bounce(
        frequency=fit.frequency,
        frequency_error=float(np.hypot(fit.frequency_error, told * fit.frequency)),
        damping=fit.damping,
        damping_error=float(np.hypot(fit.damping_error, damping_told * fit.damping)),
        rms=0.0,
        explained=fit.explained,
        kicks=len(fit.places) * max(round(float(np.ptp(part.theta)) / (2 * np.pi)), 1),
    )
    return bounce, fit.places


def _settled(part: Run, fit: RingFit, period: float) -> RingFit:
    """A fit after its kicks' places have settled."""
    beside = _beside(part, fit.frequency, period)
    places = settled_places(part, fit, beside[-1])
    return fitted_ring(part, RingStart(fit.frequency, fit.damping, places), beside)


def _beside(part: Run, frequency: float, period: float) -> list[Floats]:
    """What may be fitted beside a ringing: the corners' orders, few or many of them."""
    most = orders_beside(frequency, period, part.interval)
    orders = [*(each for each in _ORDERS_TRIED if each < most), most]
    return [_known(part.theta, each) for each in orders]


def _known(theta: Floats, orders: int) -> Floats:
    """Columns of the corners' swing, and of what taking the drift away beforehand left of it."""
    return np.hstack([drift_columns(theta, _DRIFT_DEGREE), harmonics(theta, orders)])
