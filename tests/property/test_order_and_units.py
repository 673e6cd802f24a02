"""Order of loads, sites and columns, and the units that somebody writes in, change nothing.

An ounce is 28.349523125 g, an inch 25.4 mm, a pound-force 4.4482216152605 N, a foot .3048 m, all by
definition (NIST Special Publication 811, Appendix B).
"""

from __future__ import annotations

import csv
import dataclasses
import datetime
import math
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from small_trial import small_trial
from woold.sites.analysis import SitesAnalysis, SitesQuestions, analyse_sites
from woold.sites.read_sites import read_sites
from woold.store import Store
from woold.trial.analysis import Analysis, analyse
from woold.trial.importing import import_written
from woold.trial.plan import plan_trial
from woold.trial.reading import read_written
from woold.trial.records import trial_records
from woold.trial.setup import TrialSetup, trial_from_tables
from woold.trial.starting import start_trial
from woold.watch.machine import MachineWatch, watch_machine
from woold.watch.records import read_records
from woold.watch.settings import ChartSettings, WatchSettings

OUNCE, INCH, POUND_FORCE, FOOT = 28.349523125, 25.4, 4.4482216152605, 0.3048
FEW = settings(max_examples=6, deadline=None)
SOME = settings(max_examples=20, deadline=None)
seeds = st.integers(0, 2**32 - 1)
Row = dict[str, str]


def same(one: Any, other: Any, rel: float, at: str = "") -> None:
    """Two documents say the same: texts and counts exactly, numbers within a tolerance."""
    if isinstance(one, dict):
        assert one.keys() == other.keys(), at
        for key in one:
            same(one[key], other[key], rel, f"{at}.{key}")
    elif isinstance(one, list | tuple):
        assert len(one) == len(other), at
        for index, (left, right) in enumerate(zip(one, other, strict=True)):
            same(left, right, rel, f"{at}[{index}]")
    elif isinstance(one, float) and math.isfinite(one):
        assert other == pytest.approx(one, rel=rel, abs=1e-9), at
    else:
        assert str(one) == str(other), at


def shuffled(rows: Sequence[Row], rng: np.random.Generator) -> list[Row]:
    """Rows and columns in another order."""
    names = list(rows[0])
    columns = [names[each] for each in rng.permutation(len(names))]
    return [{name: rows[each][name] for name in columns} for each in rng.permutation(len(rows))]


def write(path: Path, rows: Sequence[Row]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        table = csv.DictWriter(stream, list(rows[0]))
        table.writeheader()
        table.writerows(rows)
    return path


# Trial ---------------------------------------------------------------------------------------


def trial() -> TrialSetup:
    return trial_from_tables(
        small_trial(),
        {},
    )


def wrapped_loads(setup: TrialSetup, seed: int) -> tuple[list[Row], list[Row]]:
    """Rows of loads and of pull readings as someone writes them down, in SI."""
    rng = np.random.default_rng(seed)
    effect, loads, pulls = rng.uniform(0.9, 1.02), [], []
    for each in plan_trial(setup.trial, loads_per_treatment=12).order:
        usual = 260.0 if each.load_type == "cans" else 180.0
        grams = usual * (effect if each.treatment == "candidate" else 1) * rng.normal(1, 0.02)
        before = rng.uniform(90, 110)
        loads.append(
            {
                "load": str(each.number),
                "treatment": each.treatment,
                "load_type": each.load_type,
                "block": each.block,
                "film_mass [g]": f"{grams:.1f}",
                "cycle_time [s]": f"{rng.normal(140, 2):.1f}",
                "mark_before [mm]": f"{before:.1f}",
                "mark_after [mm]": f"{3.4 * before * rng.normal(1, 0.01):.1f}",
            }
        )
        pulls += [
            {
                "load": str(each.number),
                "height [mm]": str(height),
                "side": side,
                "force [N]": f"{rng.normal(30, 2):.1f}",
                "age [min]": "30",
            }
            for height in (254, 762, 1270)  # 10, 30 and 50 inches
            for side in ("front", "left")
        ]
    return loads, pulls


def in_trade_units(rows: Sequence[Row]) -> list[Row]:
    sizes = {"g": ("oz", OUNCE), "mm": ("in", INCH), "N": ("lbf", POUND_FORCE), "min": ("h", 60.0)}

    def other(name: str, text: str) -> tuple[str, str]:
        head, _, unit = name.rstrip("]").partition(" [")
        if unit not in sizes:
            return name, text
        trade, size = sizes[unit]
        return f"{head} [{trade}]", repr(float(text) / size)

    return [dict(other(name, text) for name, text in row.items()) for row in rows]


def analysed(setup: TrialSetup, *tables: Sequence[Row]) -> Analysis:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = Store(str(folder / "trial.db"))
        try:
            start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=12).order, "AB")
            for index, rows in enumerate(tables):
                written = read_written(write(folder / f"{index}.csv", rows))
                import_written(store, written, "AB", trial="line-1")
            return analyse(trial_records(store, "line-1"), resamples=500)
        finally:
            store.close()


def told(found: Analysis) -> dict[str, Any]:
    document = found.to_json()
    del document["records_sha256"]  # of what was typed, unit and all
    return document


@FEW
@given(seeds)
def test_loads_of_a_trial_in_any_order_and_unit(seed: int) -> None:
    setup, rng = trial(), np.random.default_rng(seed)
    loads, pulls = wrapped_loads(setup, seed)
    plain = told(analysed(setup, loads, pulls))
    assert plain["film"]["ratio"] == pytest.approx(0.96, abs=0.09)  # it is these loads
    same(plain, told(analysed(setup, shuffled(loads, rng), shuffled(pulls, rng))), 1e-9)
    trade = [in_trade_units(rows) for rows in (loads, pulls)]
    # Floating point of one conversion, through a bootstrap that sorts.
    same(plain, told(analysed(setup, *trade)), 1e-6)


# Sites ---------------------------------------------------------------------------------------


def site_rows(seed: int) -> list[Row]:
    rng = np.random.default_rng(seed)
    savings = rng.normal(5, 2, int(rng.integers(4, 9)))
    return [
        {
            "site": f"hall {index}",
            "saving": f"{saving:.2f} %",
            "standard_error": f"{rng.uniform(0.4, 2):.2f} %",
            "loads": str(rng.integers(20, 80)),
            "load_height": f"{rng.integers(800, 2000)} mm",
            "force_to_load": f"{rng.uniform(30, 60):.1f} N",
        }
        for index, saving in enumerate(savings)
    ]


def sites_in_trade_units(rows: Sequence[Row]) -> list[Row]:
    return [
        row
        | {
            "saving": repr(float(row["saving"].split()[0]) / 100),
            "standard_error": repr(float(row["standard_error"].split()[0]) / 100),
            "load_height": f"{float(row['load_height'].split()[0]) / 1000 / FOOT!r} ft",
            "force_to_load": f"{float(row['force_to_load'].split()[0]) / POUND_FORCE!r} lbf",
        }
        for row in rows
    ]


def pooled(rows: Sequence[Row]) -> SitesAnalysis:
    with tempfile.TemporaryDirectory() as name:
        table = read_sites(write(Path(name) / "sites.csv", rows))
    asked = SitesQuestions(claim="at least 3 % on average", at_least=(0.03,))
    return analyse_sites(table, asked)


def numbers_of(found: SitesAnalysis) -> dict[str, Any]:
    """What is said of the sites, with what belongs to one site or covariate by its name."""
    return {
        "pooled": dataclasses.asdict(found.pooled),
        "influence": {
            site.name: dataclasses.asdict(each)
            for site, each in zip(found.table.sites, found.influence, strict=True)
        },
        "small": dataclasses.asdict(found.small_trials) if found.small_trials else None,
        "slopes": {
            slope.covariate: (slope.slope, slope.low, slope.high, each.tau2, each.explained)
            for each in found.explanations
            for slope in each.slopes
        },
        "shares": [dataclasses.asdict(share) for _, share in found.shares],
        "strongest": dataclasses.asdict(found.strongest),
        "verdicts": [each.verdict for each in found.verdicts],
    }


@SOME
@given(seeds)
def test_sites_of_a_table_in_any_order_and_unit(seed: int) -> None:
    rows, rng = site_rows(seed), np.random.default_rng(seed)
    plain = numbers_of(pooled(rows))
    # The spread between sites is searched for to a tolerance of its own.
    same(plain, numbers_of(pooled(shuffled(rows, rng))), 1e-6)
    same(plain, numbers_of(pooled(sites_in_trade_units(rows))), 1e-6)


# Watch ---------------------------------------------------------------------------------------


def cycle_rows(seed: int, machine: str) -> list[Row]:
    """Five hundred loads of a machine, of which film changes by some per cent somewhere."""
    rng = np.random.default_rng(seed)
    change, place = rng.uniform(0.95, 1.05), int(rng.integers(350, 450))
    start, step = datetime.datetime(2026, 3, 2, 6, 0), datetime.timedelta(minutes=3)
    return [
        {
            "time": (start + index * step).isoformat(),
            "machine": machine,
            "film_mass_g": f"{320 * (change if index >= place else 1) * rng.normal(1, 0.02):.2f}",
            "cycle_time_s": f"{rng.normal(140, 2):.2f}",
            "load_type": "jars" if rng.random() < 0.7 else "cans",
        }
        for index in range(500)
    ]


def cycles_in_trade_units(rows: Sequence[Row]) -> list[Row]:
    return [
        {
            "time": row["time"],
            "machine": row["machine"],
            "film_mass_oz": repr(float(row["film_mass_g"]) / OUNCE),
            "cycle_time_min": repr(float(row["cycle_time_s"]) / 60),
            "load_type": row["load_type"],
        }
        for row in rows
    ]


def watched(rows: Sequence[Row]) -> dict[str, MachineWatch]:
    chosen = WatchSettings(charts=ChartSettings(setup_loads=200, false_alarm_every=2000.0))
    with tempfile.TemporaryDirectory() as name:
        frame = read_records([write(Path(name) / "cycles.csv", rows)]).frame
    return {
        machine: watch_machine(frame.filter(frame["machine"] == machine), chosen)
        for machine in frame["machine"].unique().to_list()
    }


def seen(found: dict[str, MachineWatch]) -> dict[str, Any]:
    return {
        name: {
            "loads": each.loads,
            "charted": {
                chart.quantity: (chart.mean, chart.chart.set_up.centre, chart.chart.set_up.sigma)
                for chart in each.charted
            },
            "events": [(event.alarm, event.last, event.since.index) for event in each.events],
        }
        for name, each in sorted(found.items())
    }


def interleaved(one: Sequence[Row], other: Sequence[Row]) -> list[Row]:
    return [row for pair in zip(one, other, strict=True) for row in pair]


@FEW
@given(seeds)
def test_machines_of_a_record_in_any_order_and_unit(seed: int) -> None:
    one, other = cycle_rows(seed, "table 1"), cycle_rows(seed + 1, "table 2")
    plain = seen(watched([*one, *other]))
    same(plain, seen(watched([*other, *one])), 1e-9)
    mixed = interleaved(one, other)
    same(plain, seen(watched(mixed)), 1e-9)
    same(plain, seen(watched([dict(reversed(row.items())) for row in mixed])), 1e-9)
    same(plain, seen(watched(cycles_in_trade_units(mixed))), 1e-6)
