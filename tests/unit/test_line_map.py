"""The map of a line: its cells against single predictions and verdicts, and how it is kept."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

import numpy as np
import polars
import pytest

from woold.carriages.study import carriage_report
from woold.case.file import read_case
from woold.case.model import Case
from woold.case.text import toml_from_table
from woold.demo.line_loads import write_line_loads
from woold.errors import InputError, WooldError
from woold.line.case_table import case_table
from woold.line.catalogue import Catalogue, read_catalogue
from woold.line.cell import line_cell, named_cell
from woold.line.check import check_line
from woold.line.limits import FINDINGS
from woold.line.line_file import LineFile, read_line
from woold.line.map import MapRun, run_map
from woold.line.map_result import LineMap, line_map
from woold.line.one_carriage import line_carriages
from woold.line.things import LineChoice, case_of, recipe_for
from woold.physics.outlines import largest_radius
from woold.prediction.predict import load_outline, predict
from woold.report.html import report_html
from woold.report.line_report import line_report
from woold.report.making import Making
from woold.rows.wording import Wording
from woold.verdict.verdict import verdict_of

KINDS_OF_LOAD = 60
CELLS = 150

LineMade = tuple[LineFile, Catalogue, MapRun, LineMap]


def written(folder: Path, text: str = "") -> LineFile:
    """The invented line in a folder, with its first loads."""
    source = files("woold.demo").joinpath("files/line.toml").read_text(encoding="utf-8")
    (folder / "line.toml").write_text(text or source, encoding="utf-8")
    write_line_loads(folder / "line-loads.csv", KINDS_OF_LOAD)
    return read_line(folder / "line.toml")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> LineMade:
    folder = tmp_path_factory.mktemp("line")
    line = written(folder)
    catalogue = read_catalogue(line)
    run = run_map(line, catalogue, folder / "map")
    return line, catalogue, run, line_map(check_line(line, catalogue), run)


def expected(case: Case, choice: LineChoice) -> tuple[str | None, float | None]:
    """Whether it fails by what single commands say, and its film; None where they cannot say."""
    rated, widest = choice.film.rated_prestretch, case.carriage.widest_roll
    is_beyond = widest is not None and case.film.roll_width > widest
    is_beyond |= rated is not None and case.carriage.prestretch > rated
    if largest_radius(load_outline(case)) >= case.machine.exit_distance:
        return "does_not", None
    try:
        p = predict(case)
        report = carriage_report(case)
    except WooldError:
        return "does_not", None
    parts = verdict_of(case, p).parts
    is_beyond |= any(each.holds is False for each in parts)
    speed = report.drive[-1].film_speed_m_per_s
    for rating in (choice.carriage.drive, choice.model.drive):
        if rating is not None and rating.film_speed is not None:
            is_beyond |= speed > rating.film_speed
    return ("does_not" if is_beyond else None), p.film_mass_kg


def test_cells_say_what_single_predictions_say(made: LineMade) -> None:
    line, catalogue, run, _ = made
    things = line.things
    rows = polars.read_parquet(run.files.pattern()).rows_by_key(
        ["carriage", "machine_model", "film", "load", "machine"], named=True, unique=True
    )
    draw = np.random.default_rng(3)
    failed = 0
    for _ in range(CELLS):
        carriage, model, film, load = (
            each[int(draw.integers(len(each)))]
            for each in (things.candidates, things.models, things.films, catalogue.loads)
        )
        choice = LineChoice(carriage, model, film, recipe_for(things, model, film, load))
        case = case_of(things, choice, load)
        row = rows[carriage.name, model.name, film.name, load.name, load.machine]
        status, mass = expected(case, choice)
        assert row["recipe"] == choice.recipe.name
        if status is not None:
            failed += 1
            assert row["status"] == "does_not", (choice, load)
        elif row["status"] == "does_not":
            # Only what the single commands do not ask: tension at a corner, springs, power.
            assert row["limit"] in ("grip", "pulled_through", "spring", "power", "torque")
        if mass is not None:
            assert row["film_mass_kg"] == pytest.approx(mass, rel=1e-9)
            codes = {each.code for each in predict(case).findings} & set(FINDINGS)
            assert codes <= set(row["findings"].split(",")) | {"prestretch_above_rating"}
    assert 10 < failed < CELLS - 10


def test_counts_add_up_and_worst_loads_are_in_the_map(made: LineMade) -> None:
    _, catalogue, run, result = made
    assert result.works + result.finding + result.does_not == run.cells
    assert run.cells == 4 * 6 * 8 * len(catalogue.loads)
    assert result.works > 0
    assert result.does_not == sum(each.combinations for each in result.limits)
    frame = polars.read_parquet(run.files.pattern())
    for cell in result.cells[::17]:
        here = frame.filter(
            (polars.col("carriage") == cell.carriage)
            & (polars.col("machine_model") == cell.machine_model)
            & (polars.col("film") == cell.film)
        )
        failing = here.filter(polars.col("status") == "does_not")
        assert cell.does_not == failing.height
        assert cell.worst_load in (failing if failing.height else here)["load"].to_list()
        loads = here["loads_per_year"].sum()
        assert cell.works_share == pytest.approx(1.0 - failing["loads_per_year"].sum() / loads)


def test_shares_of_a_cell_by_hand(made: LineMade) -> None:
    line, catalogue, _, _ = made
    load = catalogue.loads[0]
    names = ("short gap", "R45 ring", "63 gauge", load.name)
    cell = line_cell(line, named_cell(line, catalogue, names), catalogue)
    share = {each.limit: each.share for each in cell.limits}
    # The roll is 20 in wide and so is the widest that goes in; 260 % of 300 % that are allowed.
    assert share["roll_width"] == pytest.approx(1.0)
    assert share["film_rating"] == pytest.approx(3.00 / 2.60)
    # The farthest corner of the load passes the exit, 1.35 m from the axis.
    assert load.load.length is not None
    assert load.load.width is not None
    corner = 0.5 * math.hypot(load.load.length, load.load.width)
    assert share["film_exit"] == pytest.approx(1.35 / corner)
    # At 45 rpm the load takes film at the corner's own speed; behind the roller it is as much
    # faster as it then springs back, some per cent.
    demand = 2.0 * math.pi * 0.75 * corner
    assert 0.9 * 3.5 / demand < share["film_speed"] < 3.5 / demand


def test_drive_is_asked_as_the_carriage_report_says(tmp_path: Path) -> None:
    source = files("woold.demo").joinpath("files/line.toml").read_text(encoding="utf-8")
    even = '[corner_tension]\nlowest = "100 %"\nhighest = "100 %"\n\n[[films]]'
    line = written(tmp_path, source.replace("[[films]]", even, 1))
    catalogue = read_catalogue(line)
    found = named_cell(line, catalogue, ("short gap", "A28 arm", "63 gauge", "load 3"))
    share = {each.limit: each.share for each in line_cell(line, found, catalogue).limits}
    row = carriage_report(case_of(line.things, found.choice, found.load)).drive[-1]
    assert row.torque_fast_n_m is not None
    assert share["torque"] == pytest.approx(11.0 / row.torque_fast_n_m)
    assert share["power"] == pytest.approx(320.0 / row.power_drive_w)
    assert share["film_speed"] == pytest.approx(3.5 / row.film_speed_m_per_s)


def test_case_of_a_cell_is_a_case_file_of_the_same_numbers(made: LineMade, tmp_path: Path) -> None:
    line, catalogue, _, _ = made
    found = named_cell(line, catalogue, ("one for all", "hall 3", "51 gauge", "load 5"))
    path = tmp_path / "case.toml"
    path.write_text(
        toml_from_table(case_table(line.things, found.choice, found.load)), encoding="utf-8"
    )
    single = predict(read_case(path))
    cell = line_cell(line, found, catalogue)
    assert cell.machine_model == "T15 automatic"
    assert cell.film_mass_kg == pytest.approx(single.film_mass_kg, rel=1e-9)
    assert cell.cycle_time_s == pytest.approx(single.cycle_time_s, rel=1e-9)


def test_stopped_run_goes_on_where_it_was(made: LineMade, tmp_path: Path) -> None:
    line, catalogue, whole, _ = made
    folder = tmp_path / "map"

    class StoppedError(Exception):
        pass

    def stop(done: int, total: int) -> None:
        if done > total / 3:
            raise StoppedError

    with pytest.raises(StoppedError):
        run_map(line, catalogue, folder, progress=stop)
    kept = len(list(folder.glob("cells-*.parquet")))
    assert 0 < kept < 192
    again = run_map(line, catalogue, folder)
    assert again.judged == (192 - kept) * len(catalogue.loads)
    columns = ["carriage", "machine_model", "film", "load"]
    both = [polars.read_parquet(each.files.pattern()).sort(columns) for each in (whole, again)]
    assert both[0].equals(both[1])
    assert run_map(line, catalogue, folder).judged == 0
    assert not list(folder.glob("*.part"))


def test_map_of_another_line_is_not_mixed(made: LineMade, tmp_path: Path) -> None:
    line, catalogue, _, _ = made
    folder = tmp_path / "map"
    folder.mkdir()
    (folder / "note.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="something else"):
        run_map(line, catalogue, folder)
    (folder / "note.txt").unlink()
    (folder / "line-map.json").write_text('{"fingerprint": "other"}', encoding="utf-8")
    with pytest.raises(InputError, match="--fresh"):
        run_map(line, catalogue, folder)


def test_unknown_names_of_a_cell_are_refused(made: LineMade) -> None:
    line, catalogue, _, _ = made
    for names, option in (
        (("none", "T12", "63 gauge", "load 1"), "--carriage"),
        (("short gap", "none", "63 gauge", "load 1"), "--machine"),
        (("short gap", "T12", "none", "load 1"), "--film"),
        (("short gap", "T12", "63 gauge", "none"), "--load"),
    ):
        with pytest.raises(InputError, match=option):
            named_cell(line, catalogue, names)


def test_report_of_a_line_is_the_same_whenever_it_is_made(made: LineMade) -> None:
    line, catalogue, run, result = made
    making = Making(Wording(), datetime(2026, 4, 2, 12, 0, tzinfo=UTC), command="woold report line")
    carriages = line_carriages(line, catalogue, draws=100)
    first = report_html(line_report(carriages, result, making))
    again = run_map(line, catalogue, run.files.folder)
    second = line_report(carriages, line_map(check_line(line, catalogue), again), making)
    assert report_html(second) == first
    assert carriages.carriages[0].carriage in first
    assert result.cells[0].worst_load in first


def test_roll_that_just_goes_in_is_near_no_limit(made: LineMade) -> None:
    # The carriage takes rolls of 20 in and the roll is 20 in wide: nothing is short of that.
    line, catalogue, run, _ = made
    frame = polars.read_parquet(run.files.pattern()).filter(polars.col("limit") == "roll_width")
    assert set(frame["status"].to_list()) == {"does_not"}
    names = ("short gap", "T12", "51 gauge", catalogue.loads[2].name)
    assert line_cell(line, named_cell(line, catalogue, names), catalogue).limit != "roll_width"
