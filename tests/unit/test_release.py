"""Which machines come first: gains by hand, beliefs against draws, plans against every plan."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from woold.errors import InputError
from woold.line.release import release
from woold.line.release_belief import Belief, chance_above, first_belief, trial_value, weighed
from woold.line.release_evidence import evidence_of_table
from woold.line.release_file import read_release
from woold.line.release_plan import PlanMachine, PlanStage, PlanTrial, best_plan
from woold.line.release_result import MachineRank, Release
from woold.line.release_starter import release_starter_text
from woold.rows.blocks import block_texts
from woold.sites.read_sites import read_sites
from woold.sites.site_table import SiteTable

HEAD = """carriage = "deep lacing"
years = 2.0
trial_cost = "1000 USD"
trial_days = 2.0
technician_day = "400 USD"
"""
MACHINE = """[[machine]]
name = "{name}"
model = "{model}"
film = "{film}"
loads_per_year = {loads}
film_per_load = "300 g"
film_price = "2.2 USD/kg"
conversion_cost = "4000 USD"
technician_days = 1.5
match = "passed"
hold_margin = "20 %"
"""
SITES = "site,saving,standard_error,carriage,machine,film\n" + "".join(
    f"S{index},{saving} %,1 %,deep lacing,T12,39 gauge\n"
    for index, saving in enumerate((4, 6, 5, 7))
)


def machine(name: str, model: str = "T12", film: str = "39 gauge", loads: int = 60_000) -> str:
    return MACHINE.format(name=name, model=model, film=film, loads=loads)


def written(folder: Path, text: str, name: str) -> Path:
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def sites(folder: Path, text: str = SITES) -> SiteTable:
    return read_sites(written(folder, text, "sites.csv"))


def released(folder: Path, text: str, table: str = SITES) -> Release:
    read = read_release(written(folder, text, "release.toml"))
    return release(read, evidence_of_table(read.asked, sites(folder, table)))


def rank(result: Release, name: str) -> MachineRank:
    return next(each for each in result.machines if each.machine == name)


def test_trial_value_against_simulation() -> None:
    """Decide after a simulated trial, posterior mean against break-even, and average the gain."""
    rng = np.random.default_rng(6)
    true = rng.normal(0.05, 0.03, 400_000)
    seen = true + 0.015 * rng.normal(size=true.size)
    posterior = (0.05 / 0.03**2 + seen / 0.015**2) / (1 / 0.03**2 + 1 / 0.015**2)
    gain = np.where(posterior > 0.04, true - 0.04, 0.0).mean() - 0.01
    assert trial_value(1000.0, 0.05, 0.03, 0.015, 0.04) == pytest.approx(1000 * gain, rel=0.02)
    assert trial_value(1000.0, 0.05, 0.0, 0.015, 0.04) == 0.0


def test_gain_and_break_even_of_a_machine(tmp_path: Path) -> None:
    """60,000 loads x 0.3 kg x 2.2 USD/kg = 39,600 USD; 4000 + 1.5 x 400 = 4600 USD.

    4600 is 5.808 % of two years' film; in a stage half a year later 1.5 years are left, in which
    the 5.5 % that sites save on average, 2178 USD a year, do not pay for it.
    """
    stages = """[[stage]]
name = "early"
start = 2026-01-01
budget = "600 USD"
[[stage]]
name = "late"
start = 2026-07-02
"""
    result = released(tmp_path, HEAD + stages + machine("m 1"))
    found = rank(result, "m 1")
    assert found.film_cost_per_year == pytest.approx(39_600)
    assert found.cost == pytest.approx(4600)
    assert found.break_even_saving == pytest.approx(4600 / 79_200)
    assert found.gain_per_year == pytest.approx(39_600 * found.expected_saving)
    # The first stage cannot pay it.
    assert found.expected_saving == pytest.approx(0.055, abs=0.001)
    assert found.stage is None
    assert found.gain == pytest.approx(2 * 39_600 * found.expected_saving - 4600)
    assert result.combinations[0].break_even_low == found.break_even_saving
    assert result.trial_cost == pytest.approx(1000 + 2 * 400)
    assert (result.stages[0].budget, result.stages[0].days) == (600.0, None)
    assert sum(each.days_used for each in result.stages) == 0.0


def test_belief_before_a_trial_of_its_own(tmp_path: Path) -> None:
    """Five sites that all saved 5 % with an error of 1 %: the next one does as their mean does.

    Effects of -ln .95 = .051293 with errors of .01/.95: .0105263/√5 = .0047075 for the mean. Of
    Student's t of 4 degrees of freedom 68.3 % lie within 1.1416: .0053741. Tolerance: three
    standard errors of such a quantile of 20,000 draws.
    """
    same = "site,saving,standard_error,carriage,machine,film\n" + "".join(
        f"S{index},5 %,1 %,deep lacing,T12,39 gauge\n" for index in range(5)
    )
    belief = first_belief(sites(tmp_path, same))
    assert belief.mean == pytest.approx(0.051293, abs=1e-6)
    assert belief.saving == pytest.approx(0.05)
    assert belief.error == pytest.approx(0.0053741, rel=0.03)
    # One in twenty saves less than 1.645 such errors below.
    least = 1 - np.exp(-0.051293 + 1.645 * belief.error)
    assert belief.saving_at(0.05) == pytest.approx(least, abs=3e-6)


def test_a_machine_is_changed_where_time_is_left_for_it(tmp_path: Path) -> None:
    """The same with more film: 4.4 times as much pays in the second stage as well."""
    stages = """[[stage]]
name = "early"
start = 2026-01-01
budget = "4000 USD"
[[stage]]
name = "late"
start = 2026-07-02
"""
    found = rank(released(tmp_path, HEAD + stages + machine("m 1", loads=264_000)), "m 1")
    yearly = 4.4 * 39_600 * found.expected_saving
    assert (found.stage, found.next_step) == ("late", "convert")
    assert found.gain == pytest.approx(yearly * (2 - 182 / 365.25) - 4600)


def test_chance_and_promise_against_draws(tmp_path: Path) -> None:
    result = released(tmp_path, HEAD + machine("m 1"))
    found = rank(result, "m 1")
    table = sites(tmp_path)
    belief = weighed(first_belief(table), table.sites)
    draws = np.random.default_rng(3).normal(belief.mean, belief.error, 2_000_000)
    savings = 1.0 - np.exp(-draws)
    assert found.chance_of_payback == pytest.approx((savings * 79_200 > 4600).mean(), abs=2e-3)
    low, promised, high = np.quantile(savings, [0.1, 0.1, 0.9])
    assert found.saving_low == pytest.approx(low, abs=2e-4)
    assert found.saving_high == pytest.approx(high, abs=2e-4)
    assert found.promise_per_year == pytest.approx(39_600 * promised, rel=5e-3)
    assert result.promised_with == 0.9
    # Of another film nobody made a trial: nothing is promised.
    other = released(tmp_path, HEAD + machine("m 1", film="63 gauge"))
    assert rank(other, "m 1").promise_per_year is None
    assert chance_above(Belief(0.05, 0.01), 1.0) == 0.0


def every_plan(
    machines: tuple[PlanMachine, ...],
    trials: tuple[PlanTrial, ...],
    stages: tuple[PlanStage, ...],
) -> float:
    best = 0.0
    count = len(stages)
    for made in itertools.product((False, True), repeat=len(trials)):
        for places in itertools.product(range(-1, count), repeat=len(machines)):
            cost, days = np.zeros(count), np.zeros(count)
            worth = 0.0
            for each, is_made in zip(trials, made, strict=True):
                if is_made:
                    cost[0] += each.cost
                    days[0] += each.days
                    worth += each.worth
            allowed = True
            for each, place in zip(machines, places, strict=True):
                if place < 0:
                    continue
                cost[place] += each.cost
                days[place] += each.days
                worth += each.gains[place]
                if count > 1 and place == 0 and each.group is not None and made[each.group]:
                    allowed = False
            limits = zip(cost, days, stages, strict=True)
            if allowed and all(c <= s.budget and d <= s.days for c, d, s in limits):
                best = max(best, worth)
    return best


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("count", [1, 2])
def test_the_plan_is_the_best_of_every_plan_there_is(seed: int, count: int) -> None:
    draw = np.random.default_rng(seed)
    machines = tuple(
        PlanMachine(
            tuple(float(each) for each in draw.uniform(-300, 1000, count)),
            float(draw.integers(100, 900)),
            float(draw.integers(1, 6)),
            [None, 0, 1][int(draw.integers(3))],
        )
        for _ in range(6)
    )
    trials = tuple(PlanTrial(float(draw.uniform(50, 400)), 150.0, 2.0) for _ in range(2))
    stages = tuple(
        PlanStage(float(draw.integers(600, 1500)), float(draw.integers(4, 12)))
        for _ in range(count)
    )
    plan = best_plan(machines, trials, stages)
    assert plan.worth == pytest.approx(every_plan(machines, trials, stages))
    assert plan.bound == pytest.approx(plan.worth)
    for at, stage in enumerate(stages):
        here = [each for each, place in zip(machines, plan.stage_of, strict=True) if place == at]
        made = [each for each, is_made in zip(trials, plan.trials, strict=True) if is_made]
        extra = made if at == 0 else []
        assert sum(each.cost for each in [*here, *extra]) <= stage.budget
        assert sum(each.days for each in [*here, *extra]) <= stage.days


def test_a_plan_without_money() -> None:
    plan = best_plan((PlanMachine((500.0,), 100.0, 1.0),), (), (PlanStage(0.0, 0.0),))
    assert plan.stage_of.tolist() == [-1]
    assert plan.worth == 0.0


def test_combinations_are_ranked_by_what_a_trial_is_worth(tmp_path: Path) -> None:
    text = HEAD.replace("1000 USD", "100 USD").replace("days = 2.0", "days = 0.5")
    text += machine("known") + machine("new", "A28", "63 gauge", 63_000)
    text += machine("failed", "R45", "63 gauge", 500_000).replace('"passed"', '"failed"')
    result = released(tmp_path, text)
    first, second, last = result.combinations
    assert (first.machine, first.trials, first.own_claim) == ("A28", 0, None)
    assert first.trial_pays
    assert (second.machine, second.trials, second.own_claim) == ("T12", 4, "next site")
    assert second.expected_saving_error < first.expected_saving_error
    assert (last.next_step, last.trial_value) == ("leave", 0.0)
    assert last.break_even_low is None
    failed = rank(result, "failed")
    assert (failed.next_step, failed.stage) == ("leave", None)
    assert "match failed" in failed.reason


def test_trials_of_a_machine_or_of_its_model_are_its_own(tmp_path: Path) -> None:
    table = SITES + "S9,5 %,1 %,deep lacing,hall 9,63 gauge\n"
    text = HEAD + machine("hall 9", "A28", "63 gauge") + machine("hall 8", "A28", "63 gauge")
    result = released(tmp_path, text, table)
    assert [each.trials for each in result.machines] == [1, 1]


def test_what_a_test_would_change(tmp_path: Path) -> None:
    """The share of simulated trials that move the expected saving across what is needed."""
    text = HEAD + machine("new", "A28", "63 gauge", 90_000)
    result = released(tmp_path, text)
    (combination,) = result.combinations
    belief = first_belief(sites(tmp_path))
    error, trial = belief.error, result.trial_effect_error
    draw = np.random.default_rng(5)
    true = draw.normal(belief.mean, error, 1_000_000)
    seen = true + trial * draw.normal(size=true.size)
    weight = error**2 / (error**2 + trial**2)
    after = belief.mean + weight * (seen - belief.mean)
    needed = 4600 / (2 * 90_000 * 0.3 * 2.2)
    now = 1 - np.exp(-belief.mean) > needed
    share = float((((1 - np.exp(-after)) > needed) != now).mean())
    assert combination.chance_of_change == pytest.approx(share, abs=5e-3)
    # One machine alone: it is in the plan now; a tenth of the trials would put it out or not.
    assert now
    falls = 1 - np.exp(-np.quantile(after, 0.1)) < needed
    assert combination.machines_fewer_if_bad == int(falls)
    assert combination.machines_more_if_good == 0


def test_claims_of_a_stage(tmp_path: Path) -> None:
    text = HEAD.replace("1000 USD", "50000 USD")
    text += machine("known", loads=200_000) + machine("new", "A28", "63 gauge", 200_000)
    result = released(tmp_path, text)
    (stage,) = result.stages
    assert set(stage.machines) == {"known", "new"}
    assert (stage.machines_with_trials, stage.machines_with_claim) == (1, 1)
    assert stage.promise_per_year == rank(result, "known").promise_per_year
    assert "4 sites" in stage.claim
    words = " ".join(block_texts(tuple(result.blocks())))
    assert "for 1 of its machines what their own trials carry" in words


def test_what_is_never_changed(tmp_path: Path) -> None:
    text = 'as_typed = ["machine[2].loads_per_year"]\n' + HEAD
    text += machine("done").replace('film = "39', 'carriage_now = "deep lacing"\nfilm = "39')
    text += machine("slack").replace('"20 %"', '"-3 %"') + machine("idle", loads=0)
    text += (
        machine("unknown", loads=300_000)
        .replace('hold_margin = "20 %"\n', "")
        .replace('match = "passed"\n', "")
    )
    result = released(tmp_path, text)
    assert rank(result, "done").next_step == "done"
    assert rank(result, "slack").next_step == "leave"
    assert "-3 %" in rank(result, "slack").reason
    assert (rank(result, "idle").next_step, rank(result, "idle").break_even_saving) == (
        "leave",
        None,
    )
    unknown = rank(result, "unknown")
    assert unknown.stage is not None
    assert {"match", "hold"} <= set(unknown.before)
    assert {each.code for each in result.findings} == {"hold_not_said", "match_not_made"}


REGISTER = """name;model;film;loads_per_year;film_per_load [g];film_price;conversion_cost;technician_days;owner
m 1;T12;39 gauge;60000;300;2,2 USD/kg;4000 USD;1,5;A
m 2;A28;63 gauge;90000;310;2,2 USD/kg;4100 USD;2;B
"""  # noqa: E501


def test_a_register_says_the_same_as_the_file(tmp_path: Path) -> None:
    written(tmp_path, REGISTER, "machines.csv")
    read = read_release(
        written(tmp_path, HEAD + 'register_file = "machines.csv"\n', "release.toml")
    )
    first, second = read.asked.machine
    assert (first.name, first.loads_per_year, first.film_per_load) == ("m 1", 60_000.0, 0.3)
    assert (second.film_price.amount, second.technician_days) == (2.2, 2.0)
    assert first.technician_days == 1.5
    assert read.unused == ("owner",)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("60000", "many", ("machine[0].loads_per_year", "line 2")),
        ("90000", "", ("machine[1].loads_per_year", "line 3")),
        ("m 2", "m 1", ("twice",)),
        ("film_per_load [g]", "film_per_load [N]", ("machine[0].film_per_load", "line 2")),
        ("4100 USD", "4100 EUR", ("one currency",)),
        ("model", "film", ("twice",)),
        ("name;", "label;", ("name",)),
        ("310", "310000", ("machine[1].film_per_load",)),
    ],
)
def test_bad_registers(tmp_path: Path, old: str, new: str, words: tuple[str, ...]) -> None:
    written(tmp_path, REGISTER.replace(old, new, 1), "machines.csv")
    path = written(tmp_path, HEAD + 'register_file = "machines.csv"\n', "release.toml")
    with pytest.raises(InputError) as raised:
        read_release(path)
    told = " ".join(str(each) for each in raised.value.problems)
    for word in words:
        assert word in told


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("carriage =", "carriges =", "carriges"),
        ("years = 2.0", "years = 0.0", "years"),
        ('register_file = "x.csv"', "", "register"),
        ('"1000 USD"', '"1000 kg"', "trial_cost"),
        ('"x.csv"', '"x.csv"\n[[machine]]\nname = "a"', "one of the two"),
        ('"x.csv"', '"gone.csv"', "gone.csv"),
    ],
)
def test_bad_release_files(tmp_path: Path, old: str, new: str, word: str) -> None:
    written(tmp_path, REGISTER, "x.csv")
    text = (HEAD + 'register_file = "x.csv"\n').replace(old, new)
    with pytest.raises(InputError, match=word):
        read_release(written(tmp_path, text, "release.toml"))


def test_stages_out_of_order(tmp_path: Path) -> None:
    stages = (
        '[[stage]]\nname = "b"\nstart = 2026-07-01\n[[stage]]\nname = "a"\nstart = 2026-01-01\n'
    )
    with pytest.raises(InputError, match="order"):
        read_release(written(tmp_path, HEAD + stages + machine("m 1"), "release.toml"))


def test_the_starter_can_be_asked(tmp_path: Path) -> None:
    result: Any = released(tmp_path, release_starter_text())
    assert [each.name for each in result.stages] == ["pilot", "rest of the year"]


def test_a_machine_that_wraps_nothing_needs_no_saving(tmp_path: Path) -> None:
    """Its film costs nothing, so that no saving pays its change: there is no such number."""
    text = release_starter_text().replace("loads_per_year = 60000", "loads_per_year = 0")
    result: Any = released(tmp_path, f'as_typed = ["machine[0].loads_per_year"]\n{text}')
    assert [each.break_even_low for each in result.combinations] == [None]
    json.dumps(result.to_dict(), allow_nan=False)
