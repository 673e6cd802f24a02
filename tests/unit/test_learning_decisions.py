"""What measuring is worth to a decision, and trials held back."""

from __future__ import annotations

import itertools
import math
import time
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from report_makers import demo_case
from trial_makers import demo_setup, wrapped
from woold.errors import InputError
from woold.learning.far_off import without_far_off
from woold.learning.forecast import Worth, _is_enough, _worth, decision_value, forecast
from woold.learning.held_back import held_back, plain_average
from woold.learning.new_site import _to_read
from woold.learning.wrapped import Wrapped, other_trials, wrapped_in_trial
from woold.prediction.predict import predict
from woold.sites.from_store import site_of_trial
from woold.sites.site_table import Site
from woold.store import Cell, Record, Store
from woold.trial.averages import DANCER, MARKS, MASS, PULL, TIME, Average


@pytest.mark.parametrize(("over", "spread", "share"), [(0.01, 0.03, 0.5), (-0.02, 0.03, 0.8)])
def test_value_of_a_measurement_by_another_way_to_sum(
    over: float, spread: float, share: float
) -> None:
    """A million savings, each measured, and decided by what is then expected of it."""
    random = np.random.default_rng(1)
    saving = over + spread * random.standard_normal(1_000_000)
    # The error at which a reading takes that share of the variance away.
    read = saving + spread * math.sqrt(1.0 / share - 1.0) * random.standard_normal(1_000_000)
    then = over + share * (read - over)
    changes, gain = decision_value(over, spread, share)
    assert changes == pytest.approx(np.mean((then > 0.0) != (over > 0.0)), abs=0.002)
    without = saving.mean() if over > 0.0 else 0.0
    assert gain == pytest.approx(np.where(then > 0.0, saving, 0.0).mean() - without, abs=2e-4)
    assert decision_value(over, spread, 0.0) == (0.0, 0.0)


@pytest.mark.parametrize(("over", "is_enough"), [(0.0330, True), (-0.0330, True), (0.0327, False)])
def test_enough_is_less_than_one_in_twenty_that_decide_otherwise(
    over: float, is_enough: bool
) -> None:
    """Of a spread of 4 points a measurement takes a quarter of the variance: it moves what is
    expected by 2 points. 3.29 are 1.645 times that, beyond which 5 % lie (normal tables)."""
    worth = [
        Worth("baseline", MASS, 6, share, *decision_value(over, 0.04, share))
        for share in (0.25, 0.10)
    ]
    assert _is_enough(worth) is is_enough
    assert _is_enough(worth[1:]) is True
    assert _is_enough([replace(each, changes=None, gain=None) for each in worth]) is None


def test_a_reading_takes_away_what_it_shares_with_the_answer() -> None:
    """By hand: the saving moves the pull by 4 %; six loads of 8 % err by 3.27 %, so that the pull
    tells .04^2/(.04^2 + .0327^2) = 0.60 of the variance; six cycle times of 2 %, moved by nothing
    but 1 % of their own, tell none. Where no film lies nothing is pulled."""
    random = np.random.default_rng(8)
    one, other = random.standard_normal((2, 400_000))
    logs = {
        "baseline": {PULL: 5.0 + 0.04 * one, TIME: 4.0 + 0.01 * other},
        "candidate": {PULL: np.full(400_000, -np.inf)},
    }
    found = _worth(0.05 + 0.02 * one, logs, random, None)
    assert [(each.treatment, each.what) for each in found] == [
        ("baseline", PULL),
        ("baseline", TIME),
    ]
    assert found[0].narrower == pytest.approx(0.60, abs=0.005)
    assert found[1].narrower == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize(("is_round", "is_told"), [(False, False), (True, True)])
def test_what_can_be_read_of_a_load_not_wrapped_yet(is_round: bool, is_told: bool) -> None:
    """No pull off a round load, which has no flat face; no dancer where the force is known."""
    case = demo_case("today.toml")
    if is_round:
        case = case.with_values({"load.length": None, "load.width": None, "load.diameter": 1.0})
    known = {} if is_told else {"program.force_to_load": np.full(3, 40.0)}
    kinds = [each.what for each in _to_read(case, known)]
    assert (PULL in kinds, DANCER in kinds) == (not is_round, not is_told)
    assert {MASS, MARKS, TIME} <= set(kinds)


def test_a_trial_held_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Inside where the others expect what it measured, and not where they expect 20 points more."""
    records = wrapped(demo_setup(tmp_path), tmp_path, 8)
    site = site_of_trial(records)
    others = [Site(name, 1.0 - math.exp(-0.05), 0.05, 0.01) for name in ("a", "b", "c")]
    random = np.random.default_rng(2)
    for more, is_inside in ((0.0, True), (0.2, False)):
        drawn = site.saving + more + 0.01 * random.standard_normal(20_000)
        monkeypatch.setattr("woold.learning.held_back.saving_draws", lambda *_, d=drawn: d)
        learned: Any = None
        found = held_back(learned, records, others)
        assert found.is_inside is is_inside
        assert found.trial == records.setup.trial.key
        assert found.measured.value == site.saving
        # 1.645 times both errors together, on either side.
        error = math.hypot(0.01, (1.0 - site.saving - more) * site.standard_error)
        width = found.expected.high - found.expected.low
        assert width == pytest.approx(2.0 * 1.645 * error, rel=0.05)
        assert found.plain is not None
        assert found.plain.sites == 3
        assert found.plain.further_site.value == pytest.approx(1.0 - math.exp(-0.05))
        inside = found.plain.further_site.low <= site.saving <= found.plain.further_site.high
        assert found.is_inside_plain is inside
    assert plain_average(others[:1]) is None
    store = Store(str(tmp_path / "trial.db"))
    try:
        with pytest.raises(InputError, match="Nothing is left to learn from"):
            other_trials(store, (), records.setup.trial.key)
        with pytest.raises(InputError, match="woold trial list"):
            other_trials(store, (), "nowhere")
    finally:
        store.close()


def test_what_another_person_reads_otherwise_is_in_the_error(tmp_path: Path) -> None:
    """Two people read five parts twice, the second always 20 N more: their spread is 20 N/sqrt(2).

    By hand: the mean reading is 110 N, so that the error of a pull reading's average grows by
    20/(110 sqrt(2)) = 12.86 %, in squares; that of film mass does not.
    """
    records = wrapped(demo_setup(tmp_path), tmp_path, 8)
    rows = [
        Record(
            number=index,
            id=f"gauge-{index}",
            trial=records.setup.trial.key,
            kind="gauge",
            key=str(index),
            cells={
                "instrument": Cell("pull gauge [N]"),
                "part": Cell(str(part)),
                "person": Cell(person),
                "repeat": Cell(str(repeat)),
                "reading": Cell(str(force), si=force),
            },
            void=False,
            by="test",
            at="2026-01-01T00:00:00+00:00",
            source=None,
            replaces=None,
            reason="",
        )
        for index, (part, person, repeat) in enumerate(
            itertools.product(range(5), ("Ada", "Ben"), (1, 2))
        )
        for force in (80.0 + 10.0 * part + 20.0 * (person == "Ben"),)
    ]
    before = wrapped_in_trial(replace(records, gauges=()))
    after = wrapped_in_trial(replace(records, gauges=tuple(rows)))
    seen = set()
    for then, now in zip(before, after, strict=True):
        for one, other in zip(then.averages, now.averages, strict=True):
            more = other.log_error**2 - one.log_error**2
            wanted = 0.1286**2 if one.what == PULL else 0.0
            assert more == pytest.approx(wanted, rel=1e-3, abs=1e-12)
            seen.add(one.what)
    assert {MASS, PULL, TIME} <= seen
    # When the loads were written down: now.
    assert {each.when for each in after} == {before[0].when}
    assert before[0].when == pytest.approx(time.time(), abs=3600.0)


def _nothing_unknown() -> Any:
    """What was learnt where all inputs are known: sites and ways of wrapping alone differ."""
    unknowns = SimpleNamespace(known=lambda *_: [], scores=lambda at: at)
    return SimpleNamespace(
        can_be_trusted=True,
        kinds=(MASS,),
        draws=np.zeros((4000, 1)),
        spreads_by_kind=(np.full((4000, 1), 0.03), np.full((4000, 1), 0.04)),
        unknowns=unknowns,
    )


def test_what_makes_a_range_wide() -> None:
    """By hand: 3^2 of 3^2 + 4^2 is the site's, 36 %; in a saving the site cancels."""
    case = demo_case("next.toml")
    learned = _nothing_unknown()
    film = {each.cause: each.share for each in forecast(learned, case).causes}
    assert film == {"site": pytest.approx(0.36, abs=0.03), "model": pytest.approx(0.64, abs=0.03)}
    saving = forecast(learned, case, demo_case("today.toml"))
    assert [each.cause for each in saving.causes] == ["model"]
    assert saving.causes[0].share == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize("friction", [0.15, 0.55])
def test_film_that_runs_through_unstretched_is_told_and_not_learnt_from(friction: float) -> None:
    """What whole predictions have where rollers hold nothing, and where they hold a little less."""
    case = demo_case("today.toml")
    wrapped_so = predict(case.with_values({"carriage.friction": friction}))
    measured = ((MASS, wrapped_so.film_mass_kg), (MARKS, wrapped_so.stretch_on_load))
    averages = tuple(Average(what, 0, 8, math.log(value), 0.01) for what, value in measured)
    both = [Wrapped("north", way, "jars", case, averages) for way in ("baseline", "candidate")]
    kept, findings = without_far_off(both)
    if friction > 0.5:
        assert (kept, findings) == (both, [])
        return
    assert kept == []
    assert [each.field for each in findings] == ["north", "north"]
    factor = wrapped_so.stretch_on_load / predict(case).stretch_on_load
    assert factor < 0.5
    assert f"stretch by marks was measured {factor:.2g} times" in findings[0].message
    assert "unstretched" in findings[0].message
