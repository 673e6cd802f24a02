"""Motion over the turntable's angle, split by how often it comes in a turn.

Order n is what happens n times a turn. A rectangle swings the dancer at orders 2, 4 and 8, an
off-centre load at order 1 as well; what bounces, hunts or sticks keeps to no order or to others.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError
from woold.physics.demand import film_line_distance
from woold.physics.outlines import Outline
from woold.words import say

__all__ = [
    "CORNER_ORDERS",
    "OrderSplit",
    "corner_orders",
    "demand_orders",
    "order_spectrum",
    "split_orders",
    "turn_samples",
]

Floats = NDArray[np.float64]

CORNER_ORDERS = (1, 2, 4, 8)
SAMPLES_PER_TURN = 256


@dataclass(frozen=True, eq=False)
class OrderSplit:
    """A signal's swing about its mean, shared out.

    Args:
        corner_share: energy at the corner orders over all energy [-].
        repeating_share: energy at whole orders, which repeats every turn, over all energy [-].
        rms: root mean square of the whole swing, unit of the signal.
        peak_to_peak: of the swing, unit of the signal.
        mean_turn: average turn, unit of the signal, shape (samples per turn,).
        rest: signal less its average turn, shape of the signal.
    """

    corner_share: float
    repeating_share: float
    rms: float
    peak_to_peak: float
    mean_turn: Floats
    rest: Floats


def turn_samples(
    theta: ArrayLike, signal: ArrayLike, samples_per_turn: int = SAMPLES_PER_TURN
) -> Floats:
    """Signal at even steps of the turntable's angle, whole turns only.

    Args:
        theta: angle turned, growing [rad], shape (n,).
        signal: any unit, shape (n,).
        samples_per_turn: even steps in a turn.

    Returns:
        One row a turn, each beginning at a whole multiple of 2π, shape (turns, samples_per_turn).

    Raises:
        InputError: less than one whole turn.
    """
    angle = np.asarray(theta, dtype=np.float64)
    first = np.ceil(angle[0] / (2 * np.pi) - 1e-9)
    turns = int(np.floor(angle[-1] / (2 * np.pi) + 1e-9) - first)
    if turns < 1:
        raise InputError.one(
            "theta",
            say("{pi:.2f} turns", pi=(angle[-1] - angle[0]) / (2 * np.pi)),
            say("one whole turn or more, from one start of a turn to the next"),
            say("Record for longer, with a pulse in each turn."),
        )
    steps = first + np.arange(turns * samples_per_turn) / samples_per_turn
    values = np.interp(2 * np.pi * steps, angle, np.asarray(signal, dtype=np.float64))
    return np.asarray(values).reshape(turns, samples_per_turn)


def order_spectrum(turns: Floats) -> tuple[Floats, Floats]:
    """Amplitude against order.

    x = Σ A_n cos(nθ + phase)

    Args:
        turns: samples, one row a turn, shape (turns, samples per turn).

    Returns:
        Orders in steps of one over the number of turns [-], and amplitudes A, unit of the signal.
    """
    count = turns.size
    amplitudes = np.abs(np.fft.rfft(turns.ravel())) / count
    amplitudes[1:] *= 2
    if count % 2 == 0:
        amplitudes[-1] /= 2
    return np.arange(len(amplitudes)) / len(turns), amplitudes


def split_orders(turns: Floats, orders: Sequence[int] = CORNER_ORDERS) -> OrderSplit:
    """Share of a swing that comes with the corners.

    Args:
        turns: samples, one row a turn, shape (turns, samples per turn).
        orders: the corner orders.

    Returns:
        The shares; all zero for a signal that does not move.
    """
    samples, per_turn = turns.ravel(), turns.shape[1]
    swing = samples - samples.mean()
    energy = float(np.mean(swing**2))
    mean_turn = turns.mean(axis=0)
    lines = np.abs(np.fft.rfft(mean_turn - mean_turn.mean()) / per_turn) ** 2 * 2
    if per_turn % 2 == 0:
        lines[-1] /= 2
    corner = float(sum(lines[order] for order in set(orders) if 0 < order < len(lines)))
    still = energy <= (1e-12 * (1e-300 + float(np.abs(samples).max()))) ** 2
    return OrderSplit(
        corner_share=0.0 if still else min(corner / energy, 1.0),
        repeating_share=0.0 if still else min(float(lines.sum()) / energy, 1.0),
        rms=float(np.sqrt(energy)),
        peak_to_peak=float(np.ptp(samples)),
        mean_turn=mean_turn,
        rest=(turns - mean_turn).ravel(),
    )


def demand_orders(outline: Outline, exit_distance: float, highest: int = 16) -> Floats:
    """Complex amplitudes of the distance to the film's line by order.

    p(θ) = p_0 + Re Σ p_n exp(i n θ)

    Args:
        outline: the load's outline.
        exit_distance: the film's exit point from the axis [m].
        highest: last order.

    Returns:
        p_0 … p_highest [m], complex, shape (highest + 1,).

    Raises:
        PhysicsError: the exit point lies within the circle that the load sweeps.
    """
    vertices = np.ascontiguousarray(outline.vertices, dtype=float)
    lines = _lines(vertices.tobytes(), float(outline.corner_radius), float(exit_distance))
    return lines[: highest + 1].copy()


@functools.lru_cache(maxsize=64)
def _lines(vertices: bytes, corner_radius: float, exit_distance: float) -> Floats:
    """Every order; a dancer is tried at many speeds and settings behind one outline."""
    outline = Outline(np.frombuffer(vertices).reshape(-1, 2), corner_radius)
    count = 4096
    distance = film_line_distance(np.arange(count) * 2 * np.pi / count, outline, exit_distance)
    lines = np.fft.rfft(distance) / count
    lines[1:] *= 2
    return np.asarray(lines)


def corner_orders(outline: Outline, exit_distance: float, share: float = 0.1) -> tuple[int, ...]:
    """Orders at which this load drives the dancer.

    1, 2, 4 and 8, and every other order whose film demand is a share of the strongest one's.

    Args:
        outline: the load's outline.
        exit_distance: the film's exit point from the axis [m].
        share: of the strongest order's amplitude [-].

    Returns:
        Orders, growing.
    """
    strength = np.abs(demand_orders(outline, exit_distance))[1:]
    strong = 1 + np.flatnonzero(strength >= share * max(float(strength.max()), 1e-12))
    return tuple(sorted({*CORNER_ORDERS, *(int(order) for order in strong)}))
