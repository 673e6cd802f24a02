"""Lengths, times and shares inside of messages, captions and sheets, each by hand."""

from __future__ import annotations

import datetime
import io
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest
import python_calamine

from woold.case.file import case_from_table
from woold.errors import InputError, PhysicsError, WooldError
from woold.physics.dancer_tuning import SmoothLimits, steady_swing
from woold.physics.film_path import film_path
from woold.physics.pattern import Band, WrapProgram, wrap_path
from woold.physics.rollers import Roller
from woold.prediction.predict import predict
from woold.rows.blocks import block_texts
from woold.rows.wording import Wording
from woold.transport.rows import transport_blocks
from woold.transport.screen import screen_transport
from woold.trial.plan import plan_trial
from woold.trial.reading import read_written
from woold.trial.setup import trial_from_tables
from woold.trial.worksheet import worksheet_bytes
from woold.watch.machine import watch_machine
from woold.watch.rows import watch_blocks
from woold.watch.settings import WatchSettings


def told(error: WooldError) -> str:
    return " ".join(str(each) for each in error.problems)


@pytest.mark.parametrize(
    ("gap", "words"), [(0.15, "150.0 mm apart"), (-0.004, "4.0 mm into one another")]
)
def test_a_nip_that_does_not_touch(gap: float, words: str) -> None:
    # Radii of 60 and 25 mm: centres 85 mm apart touch.
    rollers = [
        Roller("roll", "roll", -1.0, 0.0, 0.12),
        Roller("slow", "slow", 0.0, 0.0, 0.12, "left"),
        Roller("nip", "nip", 0.0, -0.085 - gap, 0.05, presses_on="slow"),
        Roller("fast", "fast", 0.0, 0.3, 0.12, "right"),
        Roller("out", "load", 1.0, 0.3, 0.0),
    ]
    with pytest.raises(WooldError) as raised:
        film_path(rollers)
    assert words in told(raised.value)


def program(**changes: Any) -> WrapProgram:
    usual: dict[str, Any] = {
        "load_height": 1.5,
        "film_width": 0.5,
        "start_height": 0.0,
        "bottom_wraps": 2.0,
        "rise_per_turn": 0.25,
        "top_overlap": 0.1,
        "top_wraps": 2.0,
        "fall_per_turn": 0.25,
        "closing_wraps": 1.0,
    }
    return WrapProgram(**(usual | changes))


def test_a_program_that_stops_below_the_top() -> None:
    with pytest.raises(PhysicsError) as raised:
        wrap_path(program(top_overlap=-0.075))
    assert "-75 mm: the program never covers the top" in told(raised.value)


def test_a_band_at_either_end_of_the_way() -> None:
    # The lower edge goes from 0 to 1.5 + .1 - .5 = 1.1 m; both ends are passed, 1.101 m is not.
    for edge in (0.0, 1.1):
        legs = wrap_path(program(bands=(Band(edge, 1.5),)))
        assert sum(leg.turns for leg in legs) == pytest.approx(2 + 4.4 + 1.5 + 2 + 4.4 + 1)
    with pytest.raises(PhysicsError) as raised:
        wrap_path(program(bands=(Band(1.101, 1.5),)))
    assert "1101 mm" in told(raised.value)
    assert "0 to 1100 mm (film 500 mm wide)" in told(raised.value)


def test_a_sheet_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError) as raised:
        read_written(tmp_path / "none.xlsx")
    assert "No such file" in told(raised.value)


@pytest.mark.parametrize(
    ("units", "heights"), [("metric", [250, 750, 1250]), ("trade", [10, 30, 49])]
)
def test_heights_of_pull_readings_on_a_sheet(
    table: dict[str, Any], units: str, heights: list[int]
) -> None:
    """Middles of three zones of half a metre: .25, .75 and 1.25 m, or 9.84, 29.53 and 49.21 in."""
    tables = {
        "key": "line-1",
        "title": "A trial",
        "units": units,
        "aim": {"saving": "5 %", "margin": "10 %"},
        "zones": {"limits": ["0.5 m", "1.0 m"]},
        "load_types": [
            {"name": "jars", "loads_per_year": 3000, "baseline": "a.toml", "candidate": "a.toml"}
        ],
    }
    setup = trial_from_tables(tables, {"a.toml": table})
    order = plan_trial(setup.trial, loads_per_treatment=12).order
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(worksheet_bytes(setup, order)))
    rows = book.get_sheet_by_name("Pulls").to_python()
    found = [row[1] for row in rows if isinstance(row[1], int | float)]
    assert sorted(set(found)) == heights


def watched(film: np.ndarray, machines: int = 1, **columns: Any) -> list[str]:
    start = datetime.datetime(2026, 3, 2, 6, 0)
    frame = pl.DataFrame(
        {
            "time": [start + index * datetime.timedelta(minutes=2) for index in range(film.size)],
            "machine": ["table 1"] * film.size,
            "source_row": list(range(1, film.size + 1)),
            "film_mass_kg": film,
        }
        | columns
    )
    settings = WatchSettings()
    found = [watch_machine(frame, settings)] * machines
    blocks = watch_blocks(found, settings, (), Wording())
    return list(block_texts(blocks))


def test_a_watch_says_from_when_to_when() -> None:
    # 700 loads, two minutes from one to the next: the last 699 × 2 min = 23 h 18 min later.
    film = 0.32 * (1 + 0.02 * np.random.default_rng(1).standard_normal(700))
    shown = " ".join(watched(film, machines=2))
    assert "Loads from 2026-03-02 06:00 to 2026-03-03 05:18: 1,400" in shown


def test_a_cause_is_told_only_where_it_is_hardly_chance() -> None:
    rng = np.random.default_rng(2)
    film = 0.32 * (1 + 0.02 * rng.standard_normal(3000))
    film[1800:] *= 1.04
    setting = ["260 %"] * 1800 + ["240 %"] * 1200
    shown = " ".join(watched(film, setting=setting))
    assert "setting changed from 260 % to 240 % (by chance this near in" in shown
    # A column that changes at every other load is near any step.
    shown = " ".join(watched(film, setting=["260 %", "240 %"] * 1500))
    assert "setting changed" not in shown
    assert "nothing in the records beyond coincidence" in shown


def test_every_interface_that_slips_has_its_row(table: dict[str, Any]) -> None:
    # Six tiers at a friction of .2 and .5 g: all slip, at 0, .25, ... 1.25 m.
    table["transport"] = {
        "profiles": ["EUMOS 40509"],
        "acceleration": 0.5,
        "friction": "0.2",
        "deck_friction": "0.2",
    }
    case = case_from_table(table)
    shown = " ".join(
        block_texts(
            transport_blocks(screen_transport(case, predict(case)), Wording("si"), Wording("si"))
        )
    )
    for height in ("1.25 m", "1 m", "0.75 m", "0.5 m", "0.25 m", "0 m"):
        assert f" {height} " in shown


def test_how_far_tension_peaks(dancer_setup: Any) -> None:
    limits = SmoothLimits(peak_over_mean=1.0)
    found = steady_swing(dancer_setup, 20 * np.pi / 30, limits)
    # Its mean and peak are held against scipy's integrator; their ratio stands in the text. Set is
    # 45 N at rest: corners pull the mean away from it, by less than a fifth.
    assert found.tension_mean == pytest.approx(45.0, rel=0.2)
    ratio = found.tension_peak / found.tension_mean
    assert 1.0 < ratio < 3.0
    assert f"tension peaks at {ratio:.2f} times its mean" in " ".join(found.faults)
