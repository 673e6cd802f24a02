"""How often before-and-after trials of plants where nothing changed show a change. `make bench`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from trial_plants import Plant, decided
from trial_simulations import with_error

TRIALS = 2000
TROUBLES = {
    "rolls only": Plant(),
    "drift and season": Plant(drift=0.03, season=0.015),
    "drift, season and wander": Plant(
        roll_spread=0.01, drift=0.03, season=0.015, wander=0.01, memory=0.7
    ),
    "strong season, slow wander": Plant(
        roll_spread=0.01, drift=0.03, season=0.03, wander=0.01, memory=0.9
    ),
}


@pytest.mark.parametrize("weighed", [False, True], ids=["", "rolls weighed"])
@pytest.mark.parametrize("control", [False, True], ids=["", "control"])
@pytest.mark.parametrize("rolls", [6, 12, 24])
@pytest.mark.parametrize("name", TROUBLES)
def test_change_shown_where_there_is_none(
    benchmark: Any, name: str, rolls: int, control: bool, weighed: bool
) -> None:
    """Promised: at most 5 %, up to chance (two Monte Carlo errors)."""
    from dataclasses import replace

    plant = replace(TROUBLES[name], rolls=rolls, control=control, weighed=weighed)
    film, equal, covered = benchmark.pedantic(decided, (plant, TRIALS, 41), rounds=1)
    print(
        f"\n{name}, {rolls} rolls, control {control}, weighed {weighed}: film"
        f" {with_error(film, TRIALS)}, equal hold {with_error(equal, TRIALS)}, covered"
        f" {with_error(covered, TRIALS)}"
    )
    limit = 0.05 + 2 * np.sqrt(0.05 * 0.95 / TRIALS)
    assert film / TRIALS <= limit
    assert equal / TRIALS <= limit


UNLIKE = {
    "6 and 12 rolls": Plant(
        rolls=6, rolls_after=12, roll_spread=0.01, drift=0.03, season=0.03, wander=0.01, memory=0.9
    ),
    "12 and 4 rolls": Plant(
        rolls=12, rolls_after=4, roll_spread=0.01, drift=0.03, season=0.03, wander=0.01, memory=0.9
    ),
    "machines that wander apart": Plant(
        rolls=12, control=True, roll_spread=0.02, own_wander=0.008, memory=0.7, season=0.03
    ),
    "few rolls, machines that wander apart": Plant(
        rolls=6, control=True, roll_spread=0.02, own_wander=0.008, memory=0.9, season=0.03
    ),
}


@pytest.mark.parametrize("name", UNLIKE)
def test_change_shown_in_unlike_series(benchmark: Any, name: str) -> None:
    """The same where before and after differ in number, or machines change by themselves."""
    film, equal, covered = benchmark.pedantic(decided, (UNLIKE[name], TRIALS, 43), rounds=1)
    print(
        f"\n{name}: film {with_error(film, TRIALS)}, equal hold {with_error(equal, TRIALS)},"
        f" covered {with_error(covered, TRIALS)}"
    )
    limit = 0.05 + 2 * np.sqrt(0.05 * 0.95 / TRIALS)
    assert film / TRIALS <= limit
    assert equal / TRIALS <= limit


@pytest.mark.parametrize("control", [False, True], ids=["", "control"])
def test_change_found(benchmark: Any, control: bool) -> None:
    """The chance of finding 5 % where it is, and its interval's coverage: printed."""
    plant = Plant(rolls=24, step=np.log(0.95), hold_step=0.0, roll_spread=0.01, wander=0.005,
                  memory=0.5, pull_spread=0.06, control=control)  # fmt: skip
    film, equal, covered = benchmark.pedantic(decided, (plant, TRIALS, 42), rounds=1)
    print(
        f"\n24 rolls, control {control}: film {with_error(film, TRIALS)}, equal hold"
        f" {with_error(equal, TRIALS)}, covered {with_error(covered, TRIALS)}"
    )
    # The error allows for slow changes; where there are none, it covers more.
    assert 0.93 <= covered / TRIALS <= 0.99
