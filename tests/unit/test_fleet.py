"""The fleet's query on DuckDB and on a local Spark: the same tests, the same answers."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest

from spark_engine import spark_if
from woold.errors import InputError
from woold.watch.fleet import daily_totals, summarise_fleet
from woold.watch.fleet_sources import Engine, open_fleet
from woold.watch.settings import ChartSettings, Promise, WatchSettings

pytestmark = [
    pytest.mark.xdist_group("fleet"),  # one Java machine for all of them
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
    pytest.mark.filterwarnings("ignore::FutureWarning"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]

START = datetime.datetime(2026, 1, 5, 6, 0)
DAYS, LOADS_A_DAY = 80, 40


def cycles() -> pl.DataFrame:
    """Three machines, two load types; machine B takes 3 % more film from day 50 on."""
    rng = np.random.default_rng(5)
    parts = []
    for code, machine in enumerate("ABC"):
        count = DAYS * LOADS_A_DAY
        day = np.arange(count) // LOADS_A_DAY
        tall = rng.random(count) < 0.6
        film = np.where(tall, 320.0, 180.0) * (1 + 0.025 * rng.standard_normal(count))
        if machine == "B":
            film[day >= 50] *= 1.03
        parts.append(
            pl.DataFrame(
                {
                    "time": [
                        START + datetime.timedelta(days=int(d), minutes=2 * (i % LOADS_A_DAY))
                        for i, d in enumerate(day)
                    ],
                    "machine": [machine] * count,
                    "load_type": np.where(tall, "tall", "short").tolist(),
                    "film_mass_g": film,
                    "breaks": rng.poisson(0.01 * (code + 1), count),
                }
            )
        )
    frame = pl.concat(parts)
    broken = frame.head(4).with_columns(
        film_mass_g=pl.Series([None, -3.0, 0.0, 320.0]),
        machine=pl.Series(["A", "A", "A", None]),
    )
    return pl.concat([frame, broken])


@pytest.fixture(scope="module")
def parquet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fleet")
    frame = cycles()
    half = frame.height // 2
    frame.head(half).write_parquet(folder / "a.parquet")
    frame.tail(frame.height - half).write_parquet(folder / "b.parquet")
    return folder


@pytest.fixture(scope="module", params=["duckdb", "spark"])
def fleet(request: pytest.FixtureRequest, parquet: Path) -> Iterator[Any]:
    engine: Engine = request.param
    with spark_if(engine == "spark"):
        yield open_fleet([f"{parquet}/*.parquet"], engine)


def test_totals_of_days_are_those_of_the_rows(fleet: Any) -> None:
    totals = pl.from_arrow(daily_totals(fleet, WatchSettings()).to_pyarrow())
    assert isinstance(totals, pl.DataFrame)
    expected = (
        cycles()
        .filter((pl.col("film_mass_g") > 0) & pl.col("machine").is_not_null())
        .group_by("machine", "load_type", day=pl.col("time").dt.date())
        .agg(loads=pl.len(), film=pl.col("film_mass_g").sum(), breaks=pl.col("breaks").sum())
    )
    merged = totals.filter(pl.col("loads") > 0).join(
        expected, on=["machine", "load_type", "day"], how="full", suffix="_expected"
    )
    assert merged.height == expected.height
    assert merged["loads"].to_list() == merged["loads_expected"].to_list()
    assert merged["breaks"].to_list() == merged["breaks_expected"].to_list()
    assert merged["film_kg"].to_numpy() == pytest.approx(merged["film"].to_numpy() / 1000)
    assert totals["set_aside"].sum() == 4


def test_the_machine_that_drifts_comes_first(fleet: Any) -> None:
    settings = WatchSettings(
        charts=ChartSettings(setup_loads=1200, false_alarm_every=200_000.0),
        promise=tuple(
            Promise(
                load_type=name,
                baseline_film_per_load=baseline,
                baseline_standard_error=0.002,
                saving=saving,
                saving_low=saving - 0.01,
                saving_high=saving + 0.01,
            )
            for name, baseline, saving in (("tall", 0.340, 0.06), ("short", 0.190, 0.05))
        ),
    )
    summary = summarise_fleet(fleet, settings)
    first, *others = summary.rows
    assert first.machine == "B"
    assert first.recent == pytest.approx(1.03, abs=4e-3)
    assert first.changed == datetime.date(2026, 2, 24)  # day 50
    assert first.first_alarm is not None
    assert datetime.date(2026, 2, 24) <= first.first_alarm <= datetime.date(2026, 2, 28)
    assert [(each.machine, each.alarms, each.changed) for each in others if each.alarms] == []
    assert first.loads == DAYS * LOADS_A_DAY
    yearly = 0.03 * first.film_per_load_kg * LOADS_A_DAY * 365.25
    # The level's .03 is known to about .004, as above.
    assert first.lost_kg_per_year == pytest.approx(yearly, rel=0.15)
    rates = {row.machine: row.breaks_per_1000 for row in summary.rows}
    assert rates["C"] == pytest.approx(30, abs=9)
    assert first.savings is not None
    assert first.savings.loads == first.loads
    codes = {finding.code for finding in summary.findings}
    assert codes == {"rows_set_aside", "loads_without_film"}


def test_machines_that_cannot_be_charted_are_told(tmp_path: Path) -> None:
    """One has a day more than the twenty of the set-up phase, one has just these, and one takes
    the same film for every load, so that nothing can be told from its scatter."""
    rng = np.random.default_rng(6)
    parts = []
    for machine, days, spread in (("charted", 21, 0.01), ("new", 20, 0.01), ("set", 21, 0.0)):
        times = [START + datetime.timedelta(days=at // 6, hours=at % 6) for at in range(6 * days)]
        film = 300.0 * (1 + spread * rng.standard_normal(6 * days))
        parts.append(
            pl.DataFrame({"time": times, "machine": [machine] * 6 * days, "film_mass_g": film})
        )
    pl.concat(parts).write_parquet(tmp_path / "x.parquet")
    settings = WatchSettings(charts=ChartSettings(setup_loads=100))
    found = summarise_fleet(open_fleet([str(tmp_path / "x.parquet")]), settings)
    assert {row.machine: row.charted for row in found.rows} == {
        "charted": True,
        "new": False,
        "set": False,
    }
    told = [each.message for each in found.findings if each.code == "machines_not_charted"]
    assert told == [
        "Machines that are not charted, with fewer than 21 days of loads or with the same film"
        " every day: 2."
    ]


def test_engines_that_cannot_be_opened(tmp_path: Path) -> None:
    for arguments, word in (
        (([str(tmp_path / "none.parquet")],), "source"),
        ((["postgres://nobody@127.0.0.1:1/none"], "duckdb"), "table"),
        (([str(tmp_path / "x.parquet")], "duckdb", "", "lots; DROP"), "memory"),
    ):
        with pytest.raises(InputError, match=word):
            open_fleet(*arguments)


def test_a_table_without_its_columns(tmp_path: Path) -> None:
    path = tmp_path / "x.parquet"
    pl.DataFrame({"time": [START], "machine": ["A"], "film": [3.0]}).write_parquet(path)
    with pytest.raises(InputError, match="film_mass_g"):
        daily_totals(open_fleet([str(path)]), WatchSettings())
    pl.DataFrame({"time": [START], "film_mass_g": [3.0]}).write_parquet(path)
    with pytest.raises(InputError, match="machine"):
        daily_totals(open_fleet([str(path)]), WatchSettings())
