"""Film and money that a change kept saving, on paper, for one machine and for a fleet."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from woold.units import Money
from woold.watch.document import fleet_document
from woold.watch.fleet import FleetRow, FleetSummary
from woold.watch.savings import savings_kept
from woold.watch.settings import FilmSettings, Promise, WatchSettings
from woold.watch.text_labels import labels_of

PROMISES = (
    Promise(
        load_type="tall",
        baseline_film_per_load=0.32,
        baseline_standard_error=0.002,
        saving=0.06,
        saving_low=0.05,
        saving_high=0.07,
    ),
    Promise(
        load_type="short",
        baseline_film_per_load=0.16,
        baseline_standard_error=0.001,
        saving=0.05,
        saving_low=0.04,
        saving_high=0.06,
    ),
)


def test_film_and_money_kept() -> None:
    """100 tall loads of .30 kg and 50 short of .155 kg took 37.75 kg, before 32 + 8 = 40 kg.

    Saved 2.25 kg, 5.625 %. The baselines' errors of .2 and .05 kg are √.0425 = .206155 kg
    together, × 1.95996 = .404057 kg. Promised .06 × 32 + .05 × 8 = 2.32 kg, of 1.6 + .32 = 1.92 to
    2.24 + .48 = 2.72 kg: 96.98 % of it was kept. At 2.20 a kilogram 4.95 of 5.104.
    A machine that loses 120 kg a year loses 264.
    """
    film = np.concatenate([np.full(100, 0.30), np.full(50, 0.155), np.full(3, 0.2), [np.nan]])
    types = labels_of(["tall"] * 100 + ["short"] * 50 + ["odd"] * 3 + ["tall"])
    settings = WatchSettings(film=FilmSettings(price=Money(2.2, "EUR")), promise=PROMISES)
    kept = savings_kept(film, types, settings.promises)
    assert kept is not None
    row = FleetRow(
        machine="table 1",
        loads=153,
        days=20,
        film_per_load_kg=0.25,
        recent=1.02,
        changed=None,
        first_alarm=None,
        last_alarm=None,
        alarms=0,
        breaks_per_1000=None,
        lost_kg_per_year=120.0,
        savings=kept,
        charted=True,
    )
    (machine,) = fleet_document(FleetSummary((row,), ()), settings).machines
    assert machine.savings is not None
    expected = {
        "loads": 150,
        "loads_left_out": 4,
        "film_mass_kg": 37.75,
        "baseline_mass_kg": 40.0,
        "saved_mass_kg": 2.25,
        "saved_mass_low_kg": 1.845943,
        "saved_mass_high_kg": 2.654057,
        "promised_mass_kg": 2.32,
        "promised_mass_low_kg": 1.92,
        "promised_mass_high_kg": 2.72,
        "saving": 0.05625,
        "kept_share": 0.969828,
        "saved_money": 4.95,
        "promised_money": 5.104,
    }
    found = dataclasses.asdict(machine.savings)
    # Seven digits of each term.
    assert {name: found[name] for name in expected} == pytest.approx(expected, abs=1e-6)
    assert not machine.savings.falls_short
    assert machine.lost_money_per_year == pytest.approx(264.0)
