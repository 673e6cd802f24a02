"""Speed and truth of a whole line's map. Run with `make bench`; never timed in tests.

WOOLD_BENCH_LOADS takes fewer kinds of load than the line's 5,000.
"""

from __future__ import annotations

import importlib.resources
import os
import resource
import time
from pathlib import Path

import numpy as np
import polars
import pytest

from woold.demo.line_loads import write_line_loads
from woold.errors import WooldError
from woold.line.catalogue import Catalogue, read_catalogue
from woold.line.catalogue_portions import open_portions
from woold.line.line_file import LineFile, read_line
from woold.line.map import run_map
from woold.line.portioned_map import run_portions
from woold.line.things import LineChoice, LineLoad, case_of, recipe_for
from woold.physics.outlines import largest_radius
from woold.prediction.predict import load_outline, predict
from woold.watch.fleet_sources import Engine

ASKED_SECONDS = 60.0
"""For a million combinations on two cores."""
ASKED_BYTES = 2 * 2**30
CELLS = 2000
LOADS = int(os.environ.get("WOOLD_BENCH_LOADS", 5000))

Cell = tuple[LineChoice, LineLoad]


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> tuple[LineFile, Catalogue, Path]:
    folder = tmp_path_factory.mktemp("line")
    source = importlib.resources.files("woold.demo").joinpath("files/line.toml")
    (folder / "line.toml").write_text(source.read_text(encoding="utf-8"), encoding="utf-8")
    write_line_loads(folder / "line-loads.csv", LOADS)
    read = read_line(folder / "line.toml")
    return read, read_catalogue(read), folder


def random_cells(line: LineFile, catalogue: Catalogue, count: int) -> list[Cell]:
    things, draw = line.things, np.random.default_rng(1)
    cells = []
    for _ in range(count):
        carriage, model, film, load = (
            each[int(draw.integers(len(each)))]
            for each in (things.candidates, things.models, things.films, catalogue.loads)
        )
        recipe = recipe_for(things, model, film, load)
        cells.append((LineChoice(carriage, model, film, recipe), load))
    return cells


def test_million_combinations_beside_single_predictions(
    line: tuple[LineFile, Catalogue, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Asked for: a million under 60 s on two cores and in 2 GiB, with the numbers of `predict`."""
    read, catalogue, folder = line
    run_map(read, catalogue.sample(20), folder / "warm")
    begun = time.process_time()
    run = run_map(read, catalogue, folder / "map")
    spent = time.process_time() - begun
    cells = random_cells(read, catalogue, CELLS)
    rows = polars.read_parquet(run.files.pattern()).rows_by_key(
        ["carriage", "machine_model", "film", "load"], named=True, unique=True
    )
    farthest, refused = 0.0, 0
    single = time.process_time()
    for choice, load in cells:
        case = case_of(read.things, choice, load)
        row = rows[choice.carriage.name, choice.model.name, choice.film.name, load.name]
        try:
            p = predict(case)
        except WooldError:
            refused += 1
            is_in_the_way = largest_radius(load_outline(case)) >= case.machine.exit_distance
            assert row["status"] == "does_not" or is_in_the_way
            continue
        pairs = (
            (row["film_mass_kg"], p.film_mass_kg),
            (row["film_length_m"], p.film_length_m),
            (row["cycle_time_s"], p.cycle_time_s),
            (row["layers_min"], p.layers_min),
            (row["containment_later_low_n"], p.containment_later_low_n),
        )
        for block, one in pairs:
            farthest = max(farthest, abs(block - one) / max(abs(one), 1e-12))
    single = (time.process_time() - single) / len(cells)
    million = 1e6 * run.seconds / run.cells
    memory = 1024 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    times = single * run.cells / spent
    with capsys.disabled():
        print(
            f"\n{run.cells} combinations in {run.seconds:.1f} s on {os.cpu_count()} cores"
            f" ({spent:.1f} s of processor time; {million:.1f} s for a million, asked"
            f" {ASKED_SECONDS:.0f} s), {memory / 2**30:.2f} GiB; by predict, one core,"
            f" {1e6 * single / 3600:.2f} h for a million, {times:.0f} times as much"
            f" processor time; {CELLS} cells at most {farthest:.1e} apart, {refused} refused"
        )
    assert farthest < 1e-9
    assert memory < ASKED_BYTES
    assert 1e6 * spent / run.cells < 2.0 * ASKED_SECONDS


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("engine", ["duckdb", "spark"])
def test_million_combinations_from_parquet_by_an_engine(
    engine: Engine,
    line: tuple[LineFile, Catalogue, Path],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Asked for: the same from Parquet, under 60 s for a million; the engine's start apart."""
    _, _, folder = line
    polars.read_csv(folder / "line-loads.csv").write_parquet(tmp_path / "line-loads.parquet")
    text = (folder / "line.toml").read_text(encoding="utf-8")
    path = tmp_path / "line.toml"
    path.write_text(text.replace("line-loads.csv", "line-loads.parquet"), encoding="utf-8")
    read = read_line(path)
    begun, spent = time.perf_counter(), time.process_time()
    portions = open_portions(read, engine)
    started = time.perf_counter() - begun
    run = run_portions(read, portions, tmp_path / "map")
    seconds, spent = time.perf_counter() - begun - started, time.process_time() - spent
    memory = 1024 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    scale = 1e6 / run.run.cells
    with capsys.disabled():
        print(
            f"\n{engine}: {run.run.cells} combinations in {seconds:.1f} s ({spent:.1f} s of this"
            f" process; {scale * seconds:.1f} s for a million), opened in {started:.1f} s,"
            f" {memory / 2**30:.2f} GiB of this process"
        )
    assert memory < ASKED_BYTES
    assert scale * spent < 2.0 * ASKED_SECONDS
