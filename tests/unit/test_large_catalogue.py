"""A catalogue read in portions by DuckDB and by a local Spark: the same tests, the same map."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal
from typer.testing import CliRunner

import woold.cli.line_wear  # noqa: F401  # its command joins the others when it is loaded
from small_line import write_small_line
from spark_engine import spark_if
from woold.cli.line_recipes import app as terminal
from woold.errors import InputError
from woold.line.catalogue import read_catalogue
from woold.line.catalogue_portions import CataloguePortions, open_portions
from woold.line.check import check_line
from woold.line.line_file import LineFile, read_line
from woold.line.map import run_map
from woold.line.map_result import line_map
from woold.line.portioned_map import run_portions
from woold.watch.fleet_sources import Engine

pytestmark = [
    pytest.mark.xdist_group("fleet"),  # one Java machine for all of them
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
    pytest.mark.filterwarnings("ignore::FutureWarning"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
]

ROWS = 10
Made = tuple[LineFile, CataloguePortions]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small line whose catalogue is two Parquet files; a row of the second stands twice."""
    made = tmp_path_factory.mktemp("large")
    line, loads = write_small_line(made, ROWS)
    frame = pl.read_csv(loads)
    (made / "loads").mkdir()
    frame.head(6).write_parquet(made / "loads" / "a.parquet")
    twice = pl.concat([frame.tail(4), frame.head(1)])
    twice.write_parquet(made / "loads" / "b.parquet")
    text = line.read_text(encoding="utf-8")
    line.write_text(
        text.replace("line-loads.csv", "loads/*.parquet").replace('"5 %"', '"10 %"'),
        encoding="utf-8",
    )
    return made


@pytest.fixture(scope="module", params=["duckdb", "spark"])
def found(request: pytest.FixtureRequest, folder: Path) -> Iterator[Made]:
    engine: Engine = request.param
    with spark_if(engine == "spark"):
        line = read_line(folder / "line.toml")
        yield line, open_portions(line, engine, 4)


def test_portions_make_the_map_of_the_whole_and_go_on_where_they_stopped(
    found: Made, folder: Path, tmp_path: Path
) -> None:
    line, portions = found
    # 6 rows and 5 rows, in fours.
    assert [(each.last - each.first + 1) for each in portions.portions] == [4, 2, 4, 1]
    told: list[tuple[int, int]] = []
    run = run_portions(line, portions, tmp_path / "map", progress=lambda *now: told.append(now))
    assert (run.run.cells, run.run.judged) == (8 * ROWS, 8 * ROWS)
    assert told[-1][1] == 8 * (ROWS + 1)
    assert [now for now, _ in told] == sorted(now for now, _ in told)
    # The row that stands twice is left out, and named; all counts are those of the whole.
    (broken,) = run.check.broken
    assert (broken.column, broken.rows, broken.examples[0].split(":")[0]) == (
        "catalogue.load", 1, "5"
    )  # fmt: skip
    assert (run.check.rows, run.check.loads, run.check.combinations) == (ROWS + 1, ROWS, 8 * ROWS)

    whole = folder / f"whole-{tmp_path.name}"
    whole.mkdir()
    write_small_line(whole, ROWS)
    alone = read_line(whole / "line.toml")
    catalogue = read_catalogue(alone)
    single = run_map(alone, catalogue, whole / "map")
    order = ["carriage", "machine_model", "film", "load"]
    ours, theirs = (pl.read_parquet(each.files.pattern()).sort(order) for each in (run.run, single))
    assert_frame_equal(ours, theirs)
    mine, other = line_map(run.check, run.run), line_map(check_line(alone, catalogue), single)
    assert (mine.cells, mine.limits, mine.works) == (other.cells, other.limits, other.works)
    assert run.check.loads_per_year == pytest.approx(check_line(alone, catalogue).loads_per_year)

    # What is there stays; what is gone is made anew.
    gone = sorted(tmp_path.glob("map/portion-00002/cells-*.parquet"))[0]
    gone.unlink()
    again = run_portions(line, portions, tmp_path / "map")
    assert (again.run.cells, again.run.judged) == (8 * ROWS, 4)
    assert gone.exists()


def test_too_much_that_cannot_be_used_is_refused_before_anything_is_judged(
    found: Made, tmp_path: Path
) -> None:
    line, portions = found
    strict = line.line.model_copy(
        update={"catalogue": line.line.catalogue.model_copy(update={"refuse_above": 0.05})}
    )
    with pytest.raises(InputError, match="1 of 11 rows"):
        run_portions(LineFile(strict, line.things, line.folder), portions, tmp_path / "map")
    assert not (tmp_path / "map").exists()


def test_the_command_says_what_an_engine_cannot_read(folder: Path, tmp_path: Path) -> None:
    def told(*words: str) -> str:
        run = CliRunner().invoke(terminal, ["map", *words, "--engine", "duckdb"])
        return f"{run.exit_code} {run.output} {run.exception!r}"

    path, _ = write_small_line(tmp_path)
    assert "leave --engine out" in told(str(path))
    large = str(folder / "line.toml")
    assert "--sample" in told(large, "--sample", "3")
    assert "1 to 1,000,000 rows" in told(large, "--portion", "0")
    (tmp_path / "other.txt").write_text("", encoding="utf-8")
    assert "something else" in told(large, "--map", str(tmp_path))
