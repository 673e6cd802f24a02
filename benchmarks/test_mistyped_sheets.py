"""A technician who mistypes 2 % of the cells: how much is asked about, and how much for nothing."""

from __future__ import annotations

from typing import Any

import pytest

from mistyping import Habits, caught
from small_trial import small_trial
from woold.trial.plan import plan_trial
from woold.trial.setup import trial_from_tables

TABLES = small_trial()
HABITS = {
    "12 loads": (12, 80, Habits()),
    "28 loads": (28, 40, Habits()),
    "pulls that spread by 20 %": (16, 60, Habits(pull=0.2)),
    "a candidate that holds less": (12, 60, Habits(hold=0.92, pull=0.08)),
    "no saving": (16, 60, Habits(ratio=1.0)),
    "a saving at the border": (16, 60, Habits(ratio=0.96, film=0.05)),
}


@pytest.mark.parametrize("name", HABITS)
def test_slips_are_asked_about(benchmark: Any, name: str) -> None:
    loads, sheets, habits = HABITS[name]
    setup = trial_from_tables(TABLES, {})
    order = plan_trial(setup.trial, loads_per_treatment=loads).order
    found = benchmark.pedantic(
        caught, args=(setup, order, habits, range(sheets)), rounds=1, iterations=1
    )
    told = (
        f"{name}: {sheets} sheets, {found.slips} slips, {found.asked} asked about; "
        f"{found.moving} would move a verdict, {found.moving_asked} of them asked about "
        f"({found.share_of_moving:.1%}); {found.false} false questions in {found.right} right "
        f"cells ({found.false_share:.2%})"
    )
    print(f"\n{told}")
    benchmark.extra_info["told"] = told
    assert found.share_of_moving >= 0.9
    assert found.false_share < 0.01
