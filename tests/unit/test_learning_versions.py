"""Versions of what was learnt: kept in the store, asked again as they were."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from report_makers import demo_case
from trial_makers import demo_setup, wrapped
from web_client import case_table, page_client
from woold.errors import InputError
from woold.learning.expected_here import beside_expected, case_pairs, expected_here
from woold.learning.forecast import forecast, saving_draws
from woold.learning.forecast_draws import ForecastDraws
from woold.learning.rows import versions_table
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.versions import LearningVersions
from woold.learning.wrapped import Wrapped
from woold.rows.wording import Wording
from woold.sites.site_table import Site
from woold.store import Store
from woold.store.backup import back_up, check_store
from woold.trial.averages import MASS, Average


def learnt(seed: int) -> tuple[ForecastDraws, list[Wrapped]]:
    """Some draws, as if they had been learnt from a trial."""
    averages = (Average(MASS, 0, 8, 0.0, 0.012), Average("pull reading", 0, 8, 1.0, 0.1, height=1))
    wrapped = [
        Wrapped("site-1", way, "jars", demo_case(name), averages, when=1.8e9)
        for way, name in (("baseline", "today.toml"), ("candidate", "next.toml"))
    ]
    unknowns, random = SharedUnknowns(wrapped), np.random.default_rng(seed)
    draws = unknowns.scores(0.3 * random.standard_normal((300, unknowns.count)))
    spreads = np.full((300, 1), 0.01), np.full((300, 1), 0.012)
    return ForecastDraws(("site-1",), unknowns, draws, ("film mass",), spreads), wrapped


def test_what_was_learnt_is_asked_again_as_it_was(tmp_path: Path) -> None:
    """After the store was closed and opened, and something else was learnt since."""
    case, today = demo_case("next.toml"), demo_case("today.toml")
    first, wrapped = learnt(1)
    url = str(tmp_path / "trial.db")
    store = Store(url)
    versions = LearningVersions(store.engine)
    assert versions.last() == 0
    with pytest.raises(InputError, match="nothing was learnt yet"):
        versions.draws(1)
    assert versions.add(first, wrapped, "Ada").number == 1
    versions.add(learnt(2)[0], wrapped, "Ben")
    store.close()
    store = Store(url)
    versions = LearningVersions(store.engine)
    assert [(each.number, each.by) for each in versions.all()] == [(2, "Ben"), (1, "Ada")]
    kept, version = versions.draws(1)
    assert (version.by, version.trials, version.averages) == ("Ada", ("site-1",), 4)
    # Inputs with their ranges and origins are those that were learnt of.
    assert [each.key for each in kept.unknowns.all] == [each.key for each in first.unknowns.all]
    assert [each.unknown for each in kept.unknowns.all] == [
        each.unknown for each in first.unknowns.all
    ]
    then, now = (forecast(each, case, today).saving for each in (first, kept))
    assert then is not None
    assert now is not None
    # Draws are kept in seven digits.
    assert now.after.value == pytest.approx(then.after.value, rel=1e-4)
    assert now.after.low == pytest.approx(then.after.low, rel=1e-4, abs=1e-6)
    other = forecast(versions.draws(2)[0], case, today).saving
    assert other is not None
    assert other.after.value != pytest.approx(then.after.value, rel=1e-4)
    table = versions_table(versions.all(), Wording())
    assert table.rows[1][0] == "1"
    assert table.rows[1][2:5] == ("Ada", "site-1", "4")
    back_up(store.engine, tmp_path / "copy.sqlite")
    copy = Store(str(tmp_path / "copy.sqlite"))
    assert check_store(copy.engine)[0].rows["learning"] == 2
    assert LearningVersions(copy.engine).draws(2)[1].by == "Ben"
    copy.close()
    store.close()


@pytest.mark.parametrize(("effect", "is_inside"), [(0.070, True), (0.076, False), (0.024, False)])
def test_what_was_measured_beside_what_was_expected(effect: float, is_inside: bool) -> None:
    """Expected 0.05 with a spread of 0.01, measured with an error of 0.01.

    Nine in ten lie within 0.05 +- 1.645 sqrt(0.01^2 + 0.01^2): 0.0267 and 0.0733.
    """
    drawn = 0.05 + 0.01 * np.random.default_rng(1).standard_normal(40_000)
    site = Site("north", 1.0 - math.exp(-effect), effect, 0.01)
    found = beside_expected(1.0 - np.exp(-drawn), site)
    ends = [-math.log1p(-each) for each in (found.expected.low, found.expected.high)]
    # Ends of 40,000 draws: to a fiftieth of their spread.
    assert ends == pytest.approx([0.0267, 0.0733], abs=3e-4)
    assert found.is_inside is is_inside
    assert found.measured.high == pytest.approx(1.0 - math.exp(-effect - 0.01645), abs=1e-5)


def test_how_an_expectation_came_to_be(tmp_path: Path) -> None:
    """Ranges alone, a version of other trials, one that holds this trial's own loads."""
    records = wrapped(demo_setup(tmp_path), tmp_path, 12)
    key = records.setup.trial.key
    other, from_what = learnt(1)
    own = replace(other, trials=("site-1", key))
    with page_client(tmp_path / "trial.db", "/learning") as client:
        nothing = client.get(f"/api/learning/of-trial/{key}").json()
        assert (nothing["version"], nothing["blocks"]) == (0, [])
        engine = client.app.state.store.engine  # type: ignore[attr-defined]
        versions = LearningVersions(engine)
        kept = [(each, versions.add(each, from_what, "Ada")) for each in (other, own)]
        told = client.get(f"/api/learning/of-trial/{key}").json()
        assert client.get("/api/learning/of-trial/nowhere").status_code == 404
    found = expected_here(kept, records)
    assert [each.has_own for each in found.steps] == [False, False, True]
    before, after, _ = (each.saving.high - each.saving.low for each in found.steps)
    # Draws were a third as wide as ranges; what sites and the model add is not.
    assert after < 0.8 * before
    pairs = case_pairs(records.setup)
    drawn = saving_draws(other, pairs, max(each.when for each in from_what))
    assert found.beside is not None
    assert found.beside.expected.value == pytest.approx(np.median(drawn), abs=0.01)
    assert (told["version"], told["tells"]) == (2, True)
    [table, *_] = [each for each in told["blocks"] if each.get("caption") == "How that came to be"]
    assert table["rows"][0][0] == "ranges alone, before any trial"
    assert [row[3] for row in table["rows"]] == ["not among them", "not among them", "learnt from"]
    strong, now = told["blocks"][0]["text"], found.steps[-1].saving
    more = f"{-100 * now.value:.1f} % more film" if now.value < 0 else f"{100 * now.value:.1f} %"
    assert more in strong
    assert f"between {100 * now.low:.1f} % and {100 * now.high:.1f} %" in strong


@pytest.mark.parametrize("is_saving", [True, False])
def test_how_the_bench_s_answer_came_to_be(tmp_path: Path, is_saving: bool) -> None:
    """Ranges alone, an earlier version, one that tells nothing of such film, the latest."""
    case, today = demo_case("next.toml"), demo_case("today.toml")
    body = {"case": case_table("next.toml")}
    body |= {"against": case_table("today.toml")} if is_saving else {}
    (one, from_what), (last, _) = learnt(1), learnt(2)
    thin = case.with_values({"film.thickness": 8e-6})
    elsewhere = [Wrapped("site-2", "candidate", "jars", thin, from_what[0].averages, when=1.8e9)]
    unknowns = SharedUnknowns(elsewhere)
    other = replace(one, unknowns=unknowns, draws=np.zeros((300, unknowns.count)))
    assert not other.tells(case)
    with page_client(tmp_path / "some.db", "/learning") as client:
        engine = client.app.state.store.engine  # type: ignore[attr-defined]
        versions = LearningVersions(engine)
        versions.add(one, from_what, "Ada")
        alone = client.post("/api/learning/forecast", json=body).json()
        versions.add(other, elsewhere, "Ada")
        versions.add(last, from_what, "Ada")
        told = client.post("/api/learning/forecast", json=body).json()
        first = client.post("/api/learning/forecast", json=body | {"version": 1}).json()
    # With one version there is nothing to tell: its facts have what there was without it.
    for each in (alone, first):
        assert "How that came to be" not in [block.get("caption") for block in each["blocks"]]
    [table] = [each for each in told["blocks"] if each.get("caption") == "How that came to be"]
    rows = table["rows"]
    assert [row[0].split(",")[0] for row in rows] == [
        "ranges alone",
        *(f"version {number}" for number in (1, 2, 3)),
    ]
    assert rows[2][1] == "says nothing of it"
    now = forecast(last, case, today if is_saving else None)
    if is_saving:
        assert now.saving is not None
        assert rows[3][1] == f"{100.0 * now.saving.after.value:.1f} %"
        earlier = np.median(saving_draws(one, [(today, case, 1.0)]))
        assert float(rows[1][1].removesuffix(" %")) == pytest.approx(100.0 * earlier, abs=0.1)
    else:
        assert rows[3][1].startswith(f"{1000.0 * now.film_mass_kg.value:.0f} g")
        assert rows[0][1].startswith(f"{1000.0 * now.film_mass_before_kg.value:.0f} g")
