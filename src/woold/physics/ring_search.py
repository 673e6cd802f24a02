"""The ringing of a swing, found: its frequency and damping, and where in the turn it is kicked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.physics.bounce import Bounce, find_bounce
from woold.physics.ring_kicks import Kicks, kick_columns, kick_places, left_by

__all__ = ["Run", "find_ringing", "harmonics", "orders_beside", "ring_pole"]

Floats = NDArray[np.float64]

_FASTEST = 20.0  # Hz, above which no dancer's arm bounces on its film
_MOST_ORDERS = 12
_PLAIN_ORDERS = 8  # where no ringing shows where the corners' own orders end
_REFINED_TURNS = 6
_TRIED_APART, _TRIED_DAMPING = 1.08, 0.05
_HIGHEST_OF_RATE = 0.4  # of the sampling rate
_COST_OF_KICK = 0.1
_WORTH = 5e-3  # of what repeats
_LEAST_EXPLAINED = 0.5
_FREQUENCY_TOLD, _DAMPING_TOLD = 0.003, 0.05  # how well, at best, on recordings of known truth


@dataclass(frozen=True, eq=False)
class Run:
    """A run of steady turns.

    Args:
        position: at even steps, unit of the trace, shape (n,).
        theta: turntable's angle, growing [rad], shape (n,).
        interval: between samples [s].
        begin: time of the first sample [s].
        unseen: mean square of what is faster than the samples can follow.
    """

    position: Floats
    theta: Floats
    interval: float
    begin: float = 0.0
    unseen: float = 0.0

    @property
    def duration(self) -> float:
        """Of the run [s]."""
        return self.interval * len(self.position)


def harmonics(theta: Floats, orders: int) -> Floats:
    """cos nθ and sin nθ up to an order.

    Args:
        theta: turntable's angle [rad], shape (n,).
        orders: the highest.

    Returns:
        Shape (n, 2 orders).
    """
    angles = theta[:, None] * np.arange(1, orders + 1)
    return np.concatenate([np.cos(angles), np.sin(angles)], axis=1)


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
            near = single.frequency * np.array([0.8, 0.9, 1.11, 1.25])
            tried += [(float(each), single.damping) for each in near if lowest < each < highest]
        elif highest > lowest:
            count = int(np.ceil(np.log(highest / lowest) / np.log(_TRIED_APART))) + 1
            tried += [
                (float(each), _TRIED_DAMPING) for each in np.geomspace(lowest, highest, count)
            ]
    if not tried:
        return None, np.empty(0)
    return _best_decay(runs[0], period, tried, single)


def _is_worth(mean_turn: Floats) -> bool:
    """Whether more than a trace of the turn that repeats is faster than the corners."""
    lines = np.abs(np.fft.rfft(mean_turn)) ** 2
    return bool(lines[_PLAIN_ORDERS + 1 :].sum() > _WORTH * lines[1:].sum())


def _best_decay(
    run: Run, period: float, tried: Sequence[tuple[float, float]], single: Bounce | None
) -> tuple[Bounce | None, Floats]:
    """The decay that explains most of what is faster than the corners, made sharper."""
    few = slice(0, int(_REFINED_TURNS * period / run.interval))
    values, theta = run.position[few], run.theta[few]
    best: tuple[float, float, float, Floats] | None = None
    for frequency, damping in tried:
        orders = orders_beside(min(each[0] for each in tried), period, run.interval)
        known = harmonics(theta, orders)
        pole = ring_pole(frequency, damping)
        places, left = kick_places(values, theta, run.interval, pole, known)
        # Many kicks explain anything; of two that explain as much, the one with fewer is right.
        cost = left * np.exp(_COST_OF_KICK * len(places))
        if len(places) and (best is None or cost < best[0]):
            best = cost, frequency, damping, places
    if best is None:
        return None, np.empty(0)
    _, frequency, damping, places = best
    known = harmonics(theta, orders_beside(frequency, period, run.interval))
    reach = theta[-1] / (run.interval * len(theta)) / (4 * frequency)

    def left_over(point: Floats) -> Floats:
        kicks = Kicks(ring_pole(*np.exp(point[:2])), places + reach * point[2:])
        columns = np.hstack([known, kick_columns(theta, run.interval, kicks)])
        return left_by(columns, values)

    from scipy.optimize import least_squares

    first = np.concatenate([np.log([frequency, damping]), np.zeros(len(places))])
    far = np.concatenate([np.log([1.3, 3.0]), np.ones(len(places))])
    found = least_squares(
        left_over,
        first,
        bounds=(first - far, first + far),
        x_scale=np.concatenate([[0.02, 0.3], np.full(len(places), 0.3)]),
        diff_step=1e-2,
        max_nfev=8,
    )
    plain = left_by(known, values)
    explained = 1 - float(np.sum(found.fun**2)) / max(float(np.sum(plain**2)), 1e-300)
    frequency, damping = (float(each) for each in np.exp(found.x[:2]))
    errors = _errors(found.jac, found.fun, frequency, damping)
    at_edge = bool(np.abs(found.x[:2] - first[:2]).max() > 0.95 * far[:2].min())
    if explained < _LEAST_EXPLAINED or at_edge or errors[0] > 0.1 * frequency:
        return None, np.empty(0)
    errors = np.hypot(errors, [_FREQUENCY_TOLD * frequency, _DAMPING_TOLD * damping])
    if single is not None:
        errors = np.hypot(errors, [single.frequency_error, single.damping_error])
    bounce = Bounce(
        frequency=frequency,
        frequency_error=float(errors[0]),
        damping=damping,
        damping_error=float(errors[1]),
        rms=0.0,
        explained=explained,
        kicks=len(places) * max(round((theta[-1] - theta[0]) / (2 * np.pi)), 1),
    )
    return bounce, places + reach * found.x[2:]


def _errors(slopes: Floats, rest: Floats, frequency: float, damping: float) -> Floats:
    """Standard errors of frequency and damping, from the slopes of a fit."""
    freedom = max(len(rest) - slopes.shape[1], 1)
    square = np.linalg.pinv(slopes.T @ slopes) * float(np.sum(rest**2)) / freedom
    return np.asarray(np.sqrt(np.diag(square)[:2]) * [frequency, damping])


def ring_pole(frequency: float, damping: float) -> complex:
    """Pole of a decay [1/s].

    s = -ζω + iω √(1 - ζ²)

    Args:
        frequency: natural [Hz].
        damping: ratio [-].
    """
    omega = 2 * np.pi * frequency
    return complex(-damping * omega, omega * np.sqrt(max(1 - damping**2, 0.0)))
