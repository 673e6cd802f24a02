"""Versions of what was learnt: kept in the store, asked again as they were."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from report_makers import demo_case
from woold.errors import InputError
from woold.learning.forecast import forecast
from woold.learning.forecast_draws import ForecastDraws
from woold.learning.rows import versions_table
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.versions import LearningVersions
from woold.learning.wrapped import Wrapped
from woold.rows.wording import Wording
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
