"""How often verdicts of simulated trials are right. Run with `make bench`; figures are printed.

Every share stands with its Monte Carlo error; seeds are fixed.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from trial_simulations import accusations, own_rolls_covered, verdicts, with_error
from trial_tables import Truth
from woold.trial.plan import plan_trial
from woold.trial.setup import Looks, trial_from_tables

TRIALS = 2000

NO_SAVING = {
    "equal hold": Truth(28, ratio=1.0),
    "one zone at .95": Truth(28, ratio=0.95 ** (1 / 3), hold=(0.95, 1.0, 1.0)),
    "all zones at .95": Truth(28, ratio=0.95, hold=(0.95, 0.95, 0.95)),
    "correlated zones": Truth(28, ratio=0.95, hold=(0.95, 0.95, 0.95), zone_correlation=0.7),
    "skewed masses": Truth(28, ratio=1.0, skewness=1.0),
}
"""Film at equal hold is 1 in all of them."""

SAVING = {
    "equal hold": Truth(28, ratio=0.94, pull_spread=0.10),
    "one zone at .95": Truth(28, ratio=0.92, hold=(0.95, 1.0, 1.0), pull_spread=0.10),
    "correlated zones": Truth(28, ratio=0.94, pull_spread=0.10, zone_correlation=0.7),
    "30 % of pulls missing": Truth(28, ratio=0.94, pull_spread=0.10, missing=0.3),
}


@pytest.mark.parametrize("looks", [1, 4])
@pytest.mark.parametrize("name", NO_SAVING)
def test_false_savings(benchmark: Any, name: str, looks: int) -> None:
    """Promised: a saving at equal hold claimed in at most 2.5 % of trials without one, also where
    the trial stops at the first look that claims it; intervals cover 93 to 97 %.
    """
    told = benchmark.pedantic(
        verdicts, (NO_SAVING[name], TRIALS, 31, Looks(number=looks)), rounds=1
    )
    print(
        f"\n{name}, {looks} looks: claimed {with_error(told.savings, TRIALS)}, covered"
        f" {with_error(told.covered, told.judged)}, {dict(told.claims)}"
    )
    assert told.savings / TRIALS <= 0.025 + 2 * np.sqrt(0.025 * 0.975 / TRIALS)
    assert 0.93 <= told.covered / told.judged <= 0.97


@pytest.mark.parametrize("looks", [1, 2, 4])
@pytest.mark.parametrize("name", SAVING)
def test_savings_found(benchmark: Any, name: str, looks: int) -> None:
    """What looks save, and that interval and estimate allow for an early stop."""
    told = benchmark.pedantic(verdicts, (SAVING[name], TRIALS, 32, Looks(number=looks)), rounds=1)
    print(
        f"\n{name}, {looks} looks: claimed {with_error(told.savings, TRIALS)}, covered"
        f" {with_error(told.covered, told.judged)}, loads {told.loads / TRIALS:.1f} of 56, median"
        f" error of the log ratio {np.median(told.estimates):+.4f}, zones said lower"
        f" {with_error(told.lower, TRIALS)}"
    )
    assert 0.93 <= told.covered / told.judged <= 0.97
    if name == "equal hold":
        assert told.lower / TRIALS <= 0.05


@pytest.mark.parametrize("pairs", [12, 28, 60])
def test_clean_trials_accused(benchmark: Any, pairs: int) -> None:
    """Promised: a load, and a block, in at most 5 % of clean trials each."""
    counts = benchmark.pedantic(accusations, (Truth(pairs), TRIALS, 33), rounds=1)
    for what, count in zip(("a load", "a block"), counts, strict=True):
        print(f"\n{pairs} pairs, {what} accused: {with_error(count, TRIALS)}")
        assert count / TRIALS <= 0.05


@pytest.mark.parametrize("missing", [0.0, 0.3])
def test_planned_chance_is_reached(benchmark: Any, missing: float) -> None:
    """Promised: a trial planned for missing pulls shows saving and hold as often as planned."""
    setup = trial_from_tables(
        {
            "key": "x",
            "aim": {"saving": "5 %", "margin": "10 %", "pulls_missing": f"{100 * missing} %"},
            "zones": {"limits": ["0.5 m", "1.0 m"]},
            "load_types": [{"name": "jars", "loads_per_year": 1000}],
        },
        {},
    )
    plan = plan_trial(setup.trial)
    aim = setup.trial.aim
    truth = Truth(
        plan.loads_per_treatment,
        ratio=0.95,
        spread=aim.film_spread,
        pull_spread=aim.containment_spread,
        zone_correlation=aim.zone_correlation,
        missing=missing,
        one_type=True,
    )
    trials = TRIALS // 4
    told = benchmark.pedantic(verdicts, (truth, trials, 34), rounds=1)
    both = told.claims["saves film at equal hold"]
    print(
        f"\n{plan.loads_per_treatment} loads of each treatment, {missing:.0%} missing: planned"
        f" {plan.sight.both_power:.3f} at least, found {with_error(both, trials)}"
    )
    assert both / trials >= plan.sight.both_power - 4 * np.sqrt(0.09 / trials)


@pytest.mark.parametrize("loads_of_roll", [2, 4, 7])
def test_rolls_of_each_treatment(benchmark: Any, loads_of_roll: int) -> None:
    """Promised: intervals hold the truth in 93 % at least, where rolls stand for their loads."""
    covered = benchmark.pedantic(own_rolls_covered, (TRIALS, 35, loads_of_roll), rounds=1)
    print(f"\n{loads_of_roll} loads of a roll: covered {with_error(covered, TRIALS)}")
    assert covered / TRIALS >= 0.93
