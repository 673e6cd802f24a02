"""Planning: enough loads, an order that hides nothing, honest answers for smaller trials."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from woold.errors import InputError
from woold.store import Store
from woold.trial.pilot import pilot_spread
from woold.trial.plan import plan_trial
from woold.trial.power import cv_upper_limit
from woold.trial.setup import TrialSetup, read_trial, trial_from_tables
from woold.trial.starter import starter_text
from woold.trial.starting import refuse_what_cannot_be_analysed, start_trial
from woold.trial.treatment_means import treatment_means


def test_plan_reaches_its_power_and_one_block_less_does_not(setup: TrialSetup) -> None:
    plan = plan_trial(setup.trial)
    assert plan.sight.both_power >= 0.9
    size = setup.trial.order.loads_per_block
    fewer = plan_trial(setup.trial, loads_per_treatment=plan.loads_per_treatment - size)
    assert fewer.sight.both_power < 0.9
    assert sum(plan.loads_by_type.values()) == plan.loads_per_treatment
    # 3000 and 1000 a year; whole loads of whole blocks miss three to one by a load or two.
    assert plan.loads_by_type["jars"] / plan.loads_by_type["cans"] == pytest.approx(3, rel=0.2)


def test_power_of_the_film_part_is_what_simulation_finds(setup: TrialSetup) -> None:
    """Share of 300 simulated trials that show the saving, against the noncentral t.

    Tolerance: four standard errors; the plan's spread is of lognormal film masses.
    """
    plan = plan_trial(setup.trial, loads_per_treatment=12)
    aim = plan.aim
    seen = 0
    sigma = np.sqrt(np.log1p(aim.film_spread**2))
    treatment = np.array([load.treatment == "candidate" for load in plan.order]).astype(int)
    kind = np.array([load.load_type == "cans" for load in plan.order]).astype(int)
    block = np.array([int(load.block) for load in plan.order])
    mix = [3000.0, 1000.0]
    for seed in range(300):
        rng = np.random.default_rng([7, seed])
        values = (1 - aim.saving * treatment) * np.exp(sigma * rng.standard_normal(treatment.size))
        seen += treatment_means(values, treatment, kind, block, mix).fieller().high < 1
    power = plan.sight.film_power
    assert seen / 300 == pytest.approx(power, abs=4 * np.sqrt(power * (1 - power) / 300))


@pytest.mark.parametrize("changeover", ["each load", "once a block"])
@pytest.mark.parametrize("rolls", ["shared", "one for each treatment"])
def test_neither_shift_nor_block_nor_roll_can_pass_for_a_treatment(
    trial_tables: dict[str, Any], changeover: str, rolls: str
) -> None:
    trial_tables["order"] = {
        "shifts": ["early", "late", "night"],
        "changeover": changeover,
        "rolls": rolls,
        "loads_per_block": 3,
        "seed": 11,
    }
    plan = plan_trial(trial_from_tables(trial_tables, {}).trial, loads_per_treatment=36)
    for name in ("block", "shift"):
        counts = Counter(
            (getattr(load, name), load.treatment, load.load_type) for load in plan.order
        )
        for (value, treatment, kind), count in counts.items():
            other = "baseline" if treatment == "candidate" else "candidate"
            assert counts[value, other, kind] == count
    if rolls == "one for each treatment":
        by_roll = Counter((load.roll, load.treatment) for load in plan.order)
        assert by_roll["A", "baseline"] == by_roll["A", "candidate"]
    if changeover == "once a block":
        for block in {load.block for load in plan.order}:
            treatments = [load.treatment for load in plan.order if load.block == block]
            assert sum(a != b for a, b in pairwise(treatments)) == 1
        first = Counter(
            next(load.treatment for load in plan.order if load.block == block)
            for block in {load.block for load in plan.order}
        )
        assert abs(first["baseline"] - first["candidate"]) <= 1


def test_order_is_random_but_for_its_seed(trial_tables: dict[str, Any]) -> None:
    orders = []
    for seed in (1, 1, 2):
        trial_tables["order"] = {"seed": seed}
        orders.append(plan_trial(trial_from_tables(trial_tables, {}).trial).order)
    assert orders[0] == orders[1]
    assert orders[0] != orders[2]


def test_an_impossible_aim_is_said(trial_tables: dict[str, Any]) -> None:
    trial_tables["aim"] = {"saving": "0.01 %", "margin": "0.01 %"}
    trial_tables["as_typed"] = ["aim.saving", "aim.margin"]
    with pytest.raises(InputError, match="20000 loads of each treatment"):
        plan_trial(trial_from_tables(trial_tables, {}).trial)
    with pytest.raises(InputError, match="two of each load type"):
        plan_trial(trial_from_tables(trial_tables, {}).trial, loads_per_treatment=3)


def test_upper_limit_of_a_pilot_spread_holds_in_four_of_five() -> None:
    held = 0
    for seed in range(1000):
        values = np.random.default_rng([8, seed]).normal(100.0, 5.0, 6)
        held += cv_upper_limit(values)[1] >= 0.05
    # Three standard errors of a share of .8 in 1,000; the limit is exact only for a small CV.
    assert held / 1000 == pytest.approx(0.8, abs=0.04)


def test_pilot_file(tmp_path: Any) -> None:
    path = tmp_path / "pilot.csv"
    path.write_text("film mass\n312 g\n0.305 kg\n11 oz\n320 g\n\n", encoding="utf-8")
    found = pilot_spread(path)
    cv, upper = found.variation, found.upper_limit
    assert found.read_as == ""
    masses = np.array([0.312, 0.305, 11 * 0.028349523125, 0.320])
    assert cv == pytest.approx(masses.std(ddof=1) / masses.mean())
    assert upper > cv
    path.write_text("312 g\n305\n-3 g\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        pilot_spread(path)
    assert len(caught.value.problems) == 2


def test_pilot_file_with_decimal_commas(tmp_path: Any) -> None:
    path = tmp_path / "pilot.csv"
    path.write_text("film mass [g];note\n312,5;a\n305,5;\nn/a;\n320,5;b\n", encoding="utf-16")
    found = pilot_spread(path)
    # By hand: deviations from the mean of 938.5/3 g; variance 112.67/2 g2, so 7.506 g of 312.83 g.
    assert found.variation == pytest.approx(7.506 / 312.83, rel=1e-3)
    for words in ("UTF-16", "semicolons", "comma as decimal mark"):
        assert words in found.read_as
    # Without a separator of its own a decimal comma would cut the grams: refused.
    path.write_text("film mass [g]\n312,5\n305,5\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        pilot_spread(path)
    assert "312, 5" in str(caught.value)


def test_starter_file_can_be_read(tmp_path: Any) -> None:
    path = tmp_path / "trial.toml"
    path.write_text(starter_text(), encoding="utf-8")
    assert read_trial(path).trial.key == "line-1-carriage"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"key": "Line 1"}, "up to 63 of a-z, 0-9 and hyphens"),
        ({"aim": {"savin": "5 %"}}, 'Did you mean "saving"'),
        ({"aim": {"margin": "5 g"}}, "aim.margin: '5 g'"),
        ({"zones": {"limits": ["1 m"]}}, "zones: 3, limits: 2"),
        ({"zones": {"limits": ["1 m", "0.5 m"]}}, "limits that rise"),
        ({"load_types": []}, "load_types"),
        ({"load_types": [{"name": "a", "loads_per_year": 1}] * 2}, "names that differ"),
        ({"order": {"changeover": "never"}}, "order.changeover"),
    ],
)
def test_a_trial_file_that_cannot_be_used(
    trial_tables: dict[str, Any], change: dict[str, Any], words: str
) -> None:
    with pytest.raises(InputError) as caught:
        trial_from_tables(trial_tables | change, {})
    assert words in str(caught.value)


def test_a_case_that_cannot_be_used_is_named_with_its_file(trial_tables: dict[str, Any]) -> None:
    trial_tables["load_types"][0]["baseline"] = "bad.toml"
    with pytest.raises(InputError, match=r"bad\.toml: load"):
        trial_from_tables(trial_tables, {"bad.toml": {"title": "nothing else"}})


# --- What cannot be analysed cannot be started ----------------------------------------------------


def test_the_offered_file_can_be_started_and_analysed(tmp_path: Any) -> None:
    path = tmp_path / "trial.toml"
    path.write_text(starter_text(), encoding="utf-8")
    setup = read_trial(path)
    store = Store(str(tmp_path / "records.sqlite"))
    start_trial(store, setup, plan_trial(setup.trial).order, "AB")
    assert store.trials() == ["line-1-carriage"]
    store.close()


def test_zones_without_limits_and_without_a_case_cannot_be_started(
    trial_tables: dict[str, Any], store: Store
) -> None:
    del trial_tables["zones"]
    setup = trial_from_tables(trial_tables, {})
    with pytest.raises(InputError, match="no case that gives the load's height"):
        start_trial(store, setup, plan_trial(setup.trial).order, "AB")
    assert store.trials() == []


def test_a_zone_above_the_load_cannot_be_started(
    setup_with_cases: TrialSetup, store: Store
) -> None:
    tables = {**setup_with_cases.tables, "zones": {"limits": ["0.5 m", "2.5 m"]}}
    setup = trial_from_tables(tables, setup_with_cases.case_tables)
    with pytest.raises(InputError, match=r"2\.5 m; allowed: below"):
        start_trial(store, setup, plan_trial(setup.trial).order, "AB")


def test_loads_too_few_to_compare_cannot_be_started(
    trial_tables: dict[str, Any], store: Store
) -> None:
    """Two loads of one type in a block each leave nothing to judge by."""
    trial_tables["order"] = {"loads_per_block": 1}
    trial_tables["load_types"] = [
        {"name": name, "loads_per_year": 1} for name in ("a", "b", "c", "d")
    ]
    setup = trial_from_tables(trial_tables, {})
    order = plan_trial(setup.trial, loads_per_treatment=8).order
    start_trial(store, setup, order, "AB")
    lost = [load for load in order if load.treatment == "baseline" or load.load_type == "a"]
    few = [load for load in lost if load.load_type == "a"][:3]
    with pytest.raises(InputError):
        refuse_what_cannot_be_analysed(setup, few)


# --- Looks and missing readings -------------------------------------------------------------------


def test_looks_cost_few_loads_and_save_many(trial_tables: dict[str, Any]) -> None:
    without = plan_trial(trial_from_tables(trial_tables, {}).trial)
    trial_tables["looks"] = {"number": 3}
    found = plan_trial(trial_from_tables(trial_tables, {}).trial)
    assert [look.share for look in found.looks] == pytest.approx([1 / 3, 2 / 3, 1])
    assert found.looks[-1].loads == 2 * found.loads_per_treatment
    assert without.loads_per_treatment <= found.loads_per_treatment
    assert found.loads_per_treatment <= 1.1 * without.loads_per_treatment
    assert found.sight.expected_loads < 0.95 * found.loads_per_treatment


def test_missing_pulls_are_planned_for(trial_tables: dict[str, Any]) -> None:
    """With 30 % of pulls missing the same chance takes more loads."""
    sizes = []
    for missing in ("0 %", "30 %"):
        trial_tables["aim"]["pulls_missing"] = missing
        found = plan_trial(trial_from_tables(trial_tables, {}).trial)
        assert found.sight.both_power >= 0.9
        sizes.append(found.loads_per_treatment)
    assert 1.2 * sizes[0] < sizes[1] < 1.6 * sizes[0]


@pytest.mark.parametrize(
    ("looks", "words"),
    [
        ({"at": ["50 %", "90 %"]}, "from 10 % or more to 100 %"),
        ({"at": ["50 %", "100 %"], "number": 3}, "as many shares as looks (3)"),
        ({"number": 0}, "looks.number"),
        ({"spending": "never"}, "looks.spending"),
    ],
)
def test_looks_that_cannot_be(
    trial_tables: dict[str, Any], looks: dict[str, Any], words: str
) -> None:
    trial_tables["looks"] = looks
    with pytest.raises(InputError) as caught:
        trial_from_tables(trial_tables, {})
    assert words in str(caught.value)


def test_a_trial_file_of_old_is_read(trial_tables: dict[str, Any]) -> None:
    trial_tables["order"] = {"rolls": "one for each arm"}
    trial = trial_from_tables(trial_tables, {}).trial
    assert trial.order.rolls == "one for each treatment"
