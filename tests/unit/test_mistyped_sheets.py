"""A technician who mistypes 2 % of the cells: what would move a verdict is asked about.

The aims are those of the task that the sheets are for: nine in ten of the slips that would change
what somebody acts on, and fewer than one false question in a hundred cells that are right. The
benchmark of the same name does it with more sheets and other habits.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from mistyping import Habits, asked_cells, caught, written_sheets
from woold.trial.plan import plan_trial
from woold.trial.setup import trial_from_tables


def test_slips_that_would_move_a_verdict_are_asked_about(trial_tables: dict[str, Any]) -> None:
    setup = trial_from_tables(trial_tables, {})
    order = plan_trial(setup.trial, loads_per_treatment=12).order
    found = caught(setup, order, Habits(), range(100, 112))
    # Enough of them to tell: with fewer than twenty, one that is missed would be one in ten.
    assert found.moving >= 15
    assert found.share_of_moving >= 0.9, found.missed
    assert found.false_share < 0.01


def test_sheets_without_a_slip_are_hardly_asked_about(trial_tables: dict[str, Any]) -> None:
    setup = trial_from_tables(trial_tables, {})
    order = plan_trial(setup.trial, loads_per_treatment=20).order
    asked = cells = 0
    for seed in range(12):
        sheets = written_sheets(order, np.random.default_rng(seed), Habits(share=0.0, pull=0.2))
        asked += len(asked_cells(setup, sheets.typed))
        cells += 40 * (6 + 2 + 12)
    assert asked / cells < 0.01


@pytest.mark.parametrize("share", [0.0, 0.02])
def test_the_technician_is_the_same_each_time(trial_tables: dict[str, Any], share: float) -> None:
    setup = trial_from_tables(trial_tables, {})
    order = plan_trial(setup.trial, loads_per_treatment=8).order
    one, other = (
        written_sheets(order, np.random.default_rng(7), Habits(share=share)) for _ in range(2)
    )
    assert one.typed == other.typed
    assert (one.typed == one.right) == (share == 0.0)
