"""Speed of trials, and how often their intervals hold the truth. Run with `make bench`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xlsxwriter

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from trial_tables import Truth, made_up
from woold.store import Store
from woold.trial.analysis import analyse_table
from woold.trial.bootstrap import bootstrap_interval
from woold.trial.importing import Imported, import_written
from woold.trial.reading import read_written
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial
from woold.trial.treatment_means import treatment_means

TRIALS = 2000
SETUP = trial_from_tables(
    {
        "key": "line-1",
        "zones": {"limits": ["0.5 m", "1.0 m"]},
        "load_types": [
            {"name": "jars", "loads_per_year": 3000},
            {"name": "cans", "loads_per_year": 1000},
        ],
    },
    {},
)


def test_analysis_of_1000_loads_with_10000_bootstraps(benchmark: Any) -> None:
    """Promised: under 1 s."""
    table = made_up(np.random.default_rng(1), Truth(pairs=500))
    found = benchmark(analyse_table, table, SETUP, None, 10_000)
    assert found.film.bootstrap is not None
    assert benchmark.stats.stats.min < 1.0


@pytest.mark.parametrize("skewness", [0, 1, 2], ids=["normal", "skewed", "exponential"])
@pytest.mark.parametrize("pairs", [10, 20, 40])
def test_coverage_of_95_percent_intervals(benchmark: Any, pairs: int, skewness: int) -> None:
    """Promised: 93 to 97 % in 2,000 seeded trials, for each of the three intervals."""

    def shares() -> np.ndarray:
        hits = np.zeros(3)
        for seed in range(TRIALS):
            rng = np.random.default_rng([9, seed, pairs, skewness])
            table = made_up(rng, Truth(pairs, spread=0.05, skewness=skewness))
            means = treatment_means(
                table.film_mass, table.treatment, table.load_type, table.block, table.mix
            )
            found = (
                means.fieller(),
                means.log_interval(),
                bootstrap_interval(means, resamples=1000, seed=seed),
            )
            hits += [each.low <= 0.93 <= each.high for each in found]
        return hits / TRIALS

    covered = benchmark.pedantic(shares, rounds=1)
    benchmark.extra_info["fieller, log ratio, bootstrap-t"] = covered.tolist()
    print(f"\n{pairs} pairs, skewness {skewness}: {covered}")
    assert np.all((covered >= 0.93) & (covered <= 0.97)), covered


def test_sheet_of_300000_rows(benchmark: Any, tmp_path: Path) -> None:
    """A whole year's loads in one workbook: read, judged and kept."""
    path = tmp_path / "year.xlsx"
    rng = np.random.default_rng(3)
    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as book:
        page = book.add_worksheet("Loads")
        page.write_row(0, 0, ["load", "treatment", "load type", "film on the scale", "turns"])
        page.write_row(1, 0, ["unit", "", "", "g", ""])
        masses = np.round(rng.normal(180, 5, 300_000), 1).tolist()
        for row, mass in enumerate(masses, start=1):
            treatment = "candidate" if row % 2 else "baseline"
            page.write_row(row + 1, 0, [row, treatment, "jars", mass, 16])
    store = Store(str(tmp_path / "records.sqlite"))
    start_trial(store, SETUP, (), "AB")

    def take_in() -> Imported:
        return import_written(store, read_written(path), "AB", "line-1")

    done = benchmark.pedantic(take_in, rounds=1)
    assert done.added == {"load": 300_000}
