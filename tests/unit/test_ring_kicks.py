"""Kicks that are moved one after the other leave what a fit of all columns anew leaves."""

from __future__ import annotations

import numpy as np
import pytest

from woold.physics.ring_kicks import Kicks, KicksMoved, kick_columns

POLE = complex(-1.5, 2 * np.pi * 3.1)


@pytest.mark.parametrize("count", [1500, 90])
def test_what_moved_kicks_leave_is_what_least_squares_leave(count: int) -> None:
    """By numpy's own least squares; long runs go by products, short ones do not."""
    rng = np.random.default_rng(4)
    interval = 0.02
    theta = 0.3 + 2 * np.pi * interval * np.arange(count) / 5.0
    known = np.column_stack([np.ones(count), np.cos(theta), np.sin(theta)])
    true = kick_columns(theta, interval, Kicks(POLE, np.array([0.9, 2.6])))
    rest = true @ rng.normal(size=true.shape[1]) + 0.05 * rng.normal(size=count)

    def left(places: np.ndarray) -> float:
        columns = np.hstack([known, kick_columns(theta, interval, Kicks(POLE, places))])
        return float(np.sum((rest - columns @ np.linalg.lstsq(columns, rest, rcond=None)[0]) ** 2))

    places = np.array([0.7, 2.8])
    kept = KicksMoved(rest, theta, interval, Kicks(POLE, places), known)
    # The tiny part that like columns share costs up to some millionths.
    assert kept.left == pytest.approx(left(places), rel=1e-5)
    moved = 0
    for _ in range(60):
        # Far ones too: a kick that comes before the run's begin changes their number.
        tried = (places + rng.normal(scale=0.15, size=2) * rng.integers(0, 2, 2)) % (2 * np.pi)
        before = left(places)
        if abs(left(tried) / before - 1) < 1e-4:
            continue
        assert kept.move(tried) == (left(tried) < before)
        if left(tried) < before:
            places, moved = tried, moved + 1
        assert kept.left == pytest.approx(left(places), rel=1e-5)
    assert moved >= 3
