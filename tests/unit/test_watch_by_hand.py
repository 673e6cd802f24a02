"""What a watch tells of one machine, worked on paper, through its document.

A hundred set-up loads that take 310 and 330 g in turn, then twenty of 400 g; a film break at loads
20, 40, 60, 80, 100 and 102.
"""

from __future__ import annotations

import datetime
import json
from typing import Any

import numpy as np
import polars as pl
import pytest

from woold.units import Money
from woold.watch.document import watch_document
from woold.watch.machine import watch_machine
from woold.watch.settings import ChartSettings, FilmSettings, Promise, WatchSettings


@pytest.fixture(scope="module")
def machine() -> dict[str, Any]:
    film = np.append(np.tile([0.310, 0.330], 50), np.full(20, 0.400))
    start, step = datetime.datetime(2026, 1, 31, 22, 0), datetime.timedelta(minutes=2)
    frame = pl.DataFrame(
        {
            "time": [start + index * step for index in range(120)],
            "machine": ["table 1"] * 120,
            "source_row": list(range(1, 121)),
            "film_mass_kg": film,
            "breaks": [float(load in (20, 40, 60, 80, 100, 102)) for load in range(1, 121)],
        }
    )
    settings = WatchSettings(
        charts=ChartSettings(setup_loads=100),
        film=FilmSettings(price=Money(2.5, "EUR")),
        promise=(
            Promise(
                load_type="",
                baseline_film_per_load=0.350,
                baseline_standard_error=0.001,
                saving=0.06,
                saving_low=0.05,
                saving_high=0.07,
            ),
        ),
    )
    document = watch_document([watch_machine(frame, settings)], settings, ())
    (found,) = json.loads(json.dumps(document.to_json(), default=str))["machines"]
    assert isinstance(found, dict)
    return found


def test_set_up_phase(machine: dict[str, Any]) -> None:
    """Each is 10/320 = .03125 off, × √(100/99) = .0314074 as one of those that the mean is of.

    Ranges of .0628148 over 1.128379 are .0556682. Two values in turn: no skew, a kurtosis of 1.
    """
    (chart,) = machine["quantities"]
    assert chart["set_up_values"] == 100
    assert chart["set_up_mean"] == pytest.approx(0.320)
    assert chart["set_up_sigma_share"] == pytest.approx(0.0556682, abs=1e-7)
    assert chart["skewness"] == pytest.approx(0.0, abs=1e-9)
    assert chart["excess_kurtosis"] == pytest.approx(-2.0)
    assert not chart["is_normal"]
    # They alternate: -99/100, held to the most that is believed, .8.
    assert chart["autocorrelation"] == pytest.approx(-0.8)


def test_level_after_it(machine: dict[str, Any]) -> None:
    """400 g are 1.25 of the mean: 1 + .25 × √(100/101) = 1.248759 by the error of that mean.

    Weighted, from 1 + .0314074 × .1/1.9 = 1.0016530: 1.248759 - .2471057 × .9^20 = 1.218717.
    """
    (chart,) = machine["quantities"]
    assert chart["recent_share"] == pytest.approx(1.248759, abs=1e-6)
    assert chart["weighted_mean_share"] == pytest.approx(1.218717, abs=1e-6)
    (step,) = chart["steps"]
    assert (step["load"], step["load_low"], step["load_high"]) == (101, 101, 101)
    assert step["before"] == pytest.approx(1.0, abs=1e-9)
    assert step["after"] == pytest.approx(1.248759, abs=1e-6)
    assert step["time"] == "2026-02-01T01:20:00"  # 200 min after ten in the evening


def test_scores_and_alarm(machine: dict[str, Any]) -> None:
    """400 g stand above all: 100.5 of 101 places, 2.57927 in a table of the normal distribution.

    The load before is among the upper half, at .75: .67449. Freed from it with -.8:
    (2.57927 + .8 × .67449)/.6 = 5.1981; of the next ones 1.8 × 2.57927/.6 = 7.7378. Half of one
    sigma is 3 × .5 = 1.5 in freed scores: 3.6981 at load 101, 9.9359 at 102, 122.216 at 120.
    """
    (chart,) = machine["quantities"]
    assert chart["upper_score"] == pytest.approx(122.216, abs=1e-3)
    assert chart["lower_score"] == 0.0
    (event,) = [each for each in machine["events"] if each["alarms"][0]["quantity"] == "film"]
    (alarm,) = event["alarms"]
    passed = 101 if chart["score_limit"] < 3.6981 else 102
    assert chart["score_limit"] < 9.9359
    assert (alarm["direction"], alarm["alarm_load"], alarm["last_load"]) == ("up", passed, 120)
    assert alarm["load"] == 101
    assert alarm["is_open"]
    assert (event["alarm_load"], event["last_load"]) == (passed, 120)


def test_film_breaks(machine: dict[str, Any]) -> None:
    """Six in 120 loads are 50 in 1000; five of them in the set-up phase of 100.

    The sixth comes 2 loads after 5 in 100: 5 ln 1.02 = .099013 of the gap that is expected. Set
    for twice the breaks, ln 2 = .693147 is taken for each: .594134 on the side of more breaks.
    """
    found = machine["breaks"]
    assert (found["breaks"], found["set_up_breaks"], found["set_up_loads"]) == (6, 5, 100)
    assert found["per_1000_loads"] == pytest.approx(50.0)
    assert found["quicker"] == pytest.approx(0.594134, abs=1e-6)
    assert found["slower"] == 0.0
    assert found["limit_quicker"] > found["quicker"]


def test_savings_of_months(machine: dict[str, Any]) -> None:
    """60 loads before midnight and 60 after it, of 350 g before the change: 21 kg each month.

    January takes 60 × 320 g = 19.2 kg: saved 1.8 kg, at 2.50 a kilogram 4.50. February takes
    40 × 320 g + 20 × 400 g = 20.8 kg: .2 kg, .50. Promised were 6 %: 1.26 kg a month, 3.15.
    """
    first, second = machine["months"]
    assert (first["month"], second["month"]) == ("2026-01", "2026-02")
    assert (first["loads"], second["loads"]) == (60, 60)
    for month, film, saved in ((first, 19.2, 1.8), (second, 20.8, 0.2)):
        assert month["film_mass_kg"] == pytest.approx(film)
        assert month["baseline_mass_kg"] == pytest.approx(21.0)
        assert month["saved_mass_kg"] == pytest.approx(saved)
        assert month["saved_money"] == pytest.approx(2.5 * saved)
        assert month["promised_mass_kg"] == pytest.approx(1.26)
        assert month["promised_money"] == pytest.approx(3.15)
    assert machine["loads"] == machine["savings"]["loads"] == 120
    assert machine["savings"]["saved_mass_kg"] == pytest.approx(2.0)
