"""One carriage for the line: shares and film against the map, and against other commands."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import numpy as np
import polars
import pytest

from woold.carriages.compare import compare_carriages
from woold.demo.line_loads import write_line_loads
from woold.errors import InputError
from woold.line.catalogue import Catalogue, read_catalogue
from woold.line.line_file import LineFile, read_line
from woold.line.map import run_map
from woold.line.one_carriage import LineCarriages, line_carriages
from woold.line.starter import starter_text
from woold.line.things import LineChoice, case_of

Made = tuple[LineFile, Catalogue, LineCarriages, polars.DataFrame]


def line_of(folder: Path, text: str) -> tuple[LineFile, Catalogue]:
    (folder / "line.toml").write_text(text, encoding="utf-8")
    line = read_line(folder / "line.toml")
    return line, read_catalogue(line)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The invented line, and the rows of its map with each load on its machine in its film."""
    folder = tmp_path_factory.mktemp("line")
    write_line_loads(folder / "line-loads.csv", 80)
    source = files("woold.demo").joinpath("files/line.toml").read_text(encoding="utf-8")
    line, catalogue = line_of(folder, source)
    run = run_map(line, catalogue, folder / "map")
    model = {each.name: each.model.removeprefix("@") for each in line.things.machines}
    rows = polars.read_parquet(run.files.pattern()).filter(
        (polars.col("film") == polars.col("film_today"))
        & (polars.col("machine_model") == polars.col("machine").replace_strict(model))
    )
    rows = rows.with_columns(
        (polars.col("film_mass_kg") * polars.col("loads_per_year")).alias("yearly"),
        (polars.col("status") != "does_not").alias("serves"),
    )
    return line, catalogue, line_carriages(line, catalogue, draws=100), rows


def of_today(line: LineFile, rows: polars.DataFrame) -> dict[str, float]:
    """Film of a year of each load with the carriage that its machine has, from the map [kg]."""
    fitted = {
        each.name: each.carriage.removeprefix("@") for each in line.things.machines if each.carriage
    }
    now = rows.filter(polars.col("carriage") == polars.col("machine").replace_strict(fitted))
    return dict(now.select("load", "yearly").iter_rows())


def test_shares_and_film_are_those_of_the_map(made: Made) -> None:
    line, _, result, rows = made
    today = of_today(line, rows)
    known = {name: mass for name, mass in today.items() if np.isfinite(mass)}
    assert len(known) == len(today)  # today's carriage lays film on every load, fit or unfit
    total = sum(known.values())
    assert result.film_per_year_kg == pytest.approx(total)
    for each in result.carriages:
        mine = rows.filter(polars.col("carriage") == each.carriage)
        served = mine.filter("serves")
        film = sum(known[name] for name in served["load"].to_list())
        assert each.film_share == pytest.approx(film / total)
        assert each.film_per_year_kg == pytest.approx(served["yearly"].sum())
        assert each.loads_share == pytest.approx(
            served["loads_per_year"].sum() / mine["loads_per_year"].sum()
        )
        assert each.saving_kg == pytest.approx(film - served["yearly"].sum())
        assert each.saving_share == pytest.approx(1.0 - served["yearly"].sum() / film)
        missing = sum(limit.film_share for limit in each.limits)
        assert missing == pytest.approx(1.0 - each.film_share)


def test_price_of_one_is_against_the_best_of_each_machine(made: Made) -> None:
    _, _, result, rows = made
    best = {each.machine_model: each.carriage for each in result.machines}
    by_load = {(row["carriage"], row["load"]): row for row in rows.iter_rows(named=True)}
    for each in result.carriages:
        price = theirs = 0.0
        for row in rows.filter(polars.col("carriage") == each.carriage).iter_rows(named=True):
            other = by_load[best[row["machine_model"]], row["load"]]
            if row["serves"] and other["serves"]:
                price += row["yearly"] - other["yearly"]
                theirs += other["yearly"]
        assert each.price_of_one_kg == pytest.approx(price, abs=1e-6)
        assert each.price_of_one_share == pytest.approx(price / theirs, abs=1e-9)
        assert each.price_of_one_low_kg <= price + 1e-6
        assert each.price_of_one_high_kg >= price - 1e-6
    shares = [each.film_share for each in result.carriages]
    assert shares == sorted(shares, reverse=True)


def test_best_of_a_machine_serves_most_of_its_film(made: Made) -> None:
    line, _, result, rows = made
    today = of_today(line, rows)
    for machine in result.machines:
        here = rows.filter(polars.col("machine_model") == machine.machine_model)
        whole = sum(today[name] for name in here["load"].unique().to_list())
        served = {
            carriage: sum(
                today[name]
                for name in here.filter("serves", polars.col("carriage") == carriage)[
                    "load"
                ].to_list()
            )
            / whole
            for carriage in here["carriage"].unique().to_list()
        }
        assert machine.film_share == pytest.approx(max(served.values()))
        assert machine.today_share == pytest.approx(served[machine.today])


CANDIDATE = """
[[carriages]]
name = "shorter"

[carriages.carriage]
prestretch = "260 %"
gap = "12 mm"
unwind_tension = "25 N"
widest_roll = "20 in"
"""


def test_saving_on_one_load_is_what_two_carriages_side_by_side_save(tmp_path: Path) -> None:
    line, catalogue = line_of(tmp_path, starter_text() + CANDIDATE)
    result = line_carriages(line, catalogue, draws=2000)
    each = next(each for each in result.carriages if each.carriage == "shorter")
    things, load = line.things, catalogue.loads[0]
    cases = [
        case_of(things, LineChoice(carriage, things.models[0], things.films[0],
                                   things.recipes[0]), load)
        for carriage in things.carriages
    ]  # fmt: skip
    compared = compare_carriages(*cases, draws=2000)
    assert compared.saving > 0.005
    assert each.saving_share == pytest.approx(compared.saving, rel=1e-9)
    assert each.saving_low_share == pytest.approx(compared.saving_interval.low, abs=0.01)
    assert each.saving_high_share == pytest.approx(compared.saving_interval.high, abs=0.01)


def test_twins_cost_nothing_whatever_is_not_known(tmp_path: Path) -> None:
    twin = CANDIDATE.replace("shorter", "twin").replace("12 mm", "25 mm")
    line, catalogue = line_of(tmp_path, starter_text() + twin)
    for each in line_carriages(line, catalogue, draws=200).carriages:
        assert each.price_of_one_kg == 0.0
        assert (each.price_of_one_low_kg, each.price_of_one_high_kg) == (0.0, 0.0)
        assert (each.saving_share, each.saving_low_share) == (0.0, 0.0)
        assert each.lost_share == 0.0


def test_carriage_too_narrow_for_the_roll_serves_nothing(tmp_path: Path) -> None:
    narrow = CANDIDATE.replace('widest_roll = "20 in"', 'widest_roll = "15 in"')
    line, catalogue = line_of(tmp_path, starter_text() + narrow)
    one = line_carriages(line, catalogue, draws=100).carriages[-1]
    assert (one.carriage, one.film_share) == ("shorter", 0.0)
    assert one.lost_share == pytest.approx(1.0)
    assert [(each.limit, each.film_share) for each in one.limits] == [("roll_width", 1.0)]


def test_loads_without_machine_and_odd_draws_are_named(tmp_path: Path) -> None:
    text = starter_text().replace("loads_per_year = 60000", "")
    line, catalogue = line_of(tmp_path, text)
    with pytest.raises(InputError, match=r"loads\.machines"):
        line_carriages(line, catalogue)
    line, catalogue = line_of(tmp_path, starter_text())
    with pytest.raises(InputError, match="--draws"):
        line_carriages(line, catalogue, draws=3)
