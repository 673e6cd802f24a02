"""Frequency and damping of a ringing, fitted to what is heard between its kicks.

A corner does not kick in an instant, and its place in the turn is known no better than the samples
lie apart. What is recorded near a kick is therefore left out: a late place would take the end of
one decay for the begin of the next, which looks like less damping.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.physics.ring_kicks import Kicks, KicksMoved, kick_columns, kick_instants, left_by

__all__ = ["RingFit", "RingStart", "Run", "fitted_ring", "harmonics", "ring_pole", "settled_places"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_KEPT_OFF = 0.2  # of a period, before and after a kick
_LEAST_KEPT = 0.4  # of the samples
_STEPS, _MOST_STEPS = (4, 2, 1), 6  # of a sample, by which a kick's place is moved
_FARTHEST = np.log([1.2, 4.0])  # that frequency and damping may go from their first values


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


@dataclass(frozen=True, eq=False)
class RingStart:
    """A ringing as it is thought to be before it is fitted.

    Args:
        frequency: natural [Hz].
        damping: ratio [-].
        places: of its kicks in the turn [rad], shape (k,).
    """

    frequency: float
    damping: float
    places: Floats


@dataclass(frozen=True, eq=False)
class RingFit:
    """A ringing fitted to a run.

    Args:
        frequency: natural [Hz].
        damping: ratio [-].
        frequency_error: standard error of the frequency [Hz].
        damping_error: standard error of the ratio [-].
        places: of its kicks in the turn [rad], shape (k,).
        explained: share of what is faster than the corners that the ringing explains [-].
        went_far: frequency or damping went as far as it was let.
        criterion: Bayesian information criterion, over all samples.
    """

    frequency: float
    damping: float
    frequency_error: float
    damping_error: float
    places: Floats
    explained: float
    went_far: bool
    criterion: float


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


def ring_pole(frequency: float, damping: float) -> complex:
    """Pole of a decay [1/s].

    s = -ζω + iω √(1 - ζ²)

    Args:
        frequency: natural [Hz].
        damping: ratio [-].
    """
    omega = 2 * np.pi * frequency
    return complex(-damping * omega, omega * np.sqrt(max(1 - damping**2, 0.0)))


def fitted_ring(run: Run, first: RingStart, beside: Sequence[Floats]) -> RingFit:
    """A ringing fitted by least squares over what lies between its kicks.

    Of what is fitted along as much is taken as the Bayesian information criterion allows.

    Args:
        run: without steady lines and slow motion.
        first: to begin with.
        beside: sets of columns of which one is fitted along, shape (n, m) each.
    """
    kicks = Kicks(ring_pole(first.frequency, first.damping), first.places)
    columns = kick_columns(run.theta, run.interval, kicks)
    between = _between(run, first.places, _KEPT_OFF / first.frequency)
    costs = []
    for known in beside:
        together = np.hstack([known, columns])[between]
        costs.append(_criterion(left_by(together, run.position[between]), together.shape[1]))
    return _fitted(run, first, beside[int(np.argmin(costs))], between)


def _criterion(rest: Floats, columns: int) -> float:
    square = max(float(np.sum(rest**2)), 1e-300)
    return float(len(rest) * np.log(square) + columns * np.log(len(rest)))


def settled_places(run: Run, fit: RingFit, known: Floats) -> Floats:
    """Places of kicks, each moved to where the decays leave least.

    A wrong frequency would move them to where they make up for it: it is fitted before.

    Args:
        run: without steady lines and slow motion.
        fit: frequency, damping, and places to begin with.
        known: columns that are fitted along, shape (n, m).

    Returns:
        Places [rad], shape (k,).
    """
    kicks = Kicks(ring_pole(fit.frequency, fit.damping), fit.places)
    kept = KicksMoved(run.position, run.theta, run.interval, kicks, known)
    speed = (run.theta[-1] - run.theta[0]) / (run.interval * (len(run.theta) - 1))
    settled = fit.places
    for step, number in itertools.product(_STEPS, range(len(settled))):
        for way in (-1.0, 1.0):
            place = settled[number]
            for _ in range(_MOST_STEPS):
                tried = settled.copy()
                tried[number] += way * step * speed * run.interval
                if not kept.move(tried):
                    break
                settled = tried
            if settled[number] != place:
                break  # the other way it came from more
    return settled


def _fitted(run: Run, first: RingStart, known: Floats, between: Flags) -> RingFit:
    from scipy.optimize import least_squares

    start = np.log([first.frequency, first.damping])
    values, beside = run.position[between], known[between]

    def columns_at(point: Floats) -> Floats:
        kicks = Kicks(ring_pole(*np.exp(point)), first.places)
        return kick_columns(run.theta, run.interval, kicks)

    def left_over(point: Floats) -> Floats:
        return left_by(np.hstack([beside, columns_at(point)[between]]), values)

    found = least_squares(
        left_over,
        start,
        bounds=(start - _FARTHEST, start + _FARTHEST),
        x_scale=[0.02, 0.3],
        diff_step=1e-3,
        max_nfev=12,
    )
    frequency, damping = (float(each) for each in np.exp(found.x))
    left = float(np.sum(found.fun**2))
    together = np.hstack([known, columns_at(found.x)])
    noise = left / max(len(values) - together.shape[1] - 2, 1)
    errors = np.sqrt(noise * np.diag(np.linalg.pinv(found.jac.T @ found.jac)))
    plain = float(np.sum(left_by(beside, values) ** 2))
    return RingFit(
        frequency=frequency,
        damping=damping,
        frequency_error=float(errors[0]) * frequency,
        damping_error=float(errors[1]) * damping,
        places=first.places,
        explained=1 - left / max(plain, 1e-300),
        went_far=bool(np.any(np.abs(found.x - start) > 0.95 * _FARTHEST)),
        criterion=_criterion(left_by(together, run.position), together.shape[1]),
    )


def _between(run: Run, places: Floats, apart: float) -> Flags:
    """Samples that lie farther than some time [s] from every kick."""
    instants = kick_instants(run.theta, run.interval, places)
    time = run.interval * np.arange(len(run.theta))
    far = np.min(np.abs(time[:, None] - instants[None, :]), axis=1, initial=np.inf) > apart
    # Kicks so close to one another leave nothing: then all is taken.
    return far if far.mean() > _LEAST_KEPT else np.ones(len(time), dtype=bool)
