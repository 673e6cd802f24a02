"""What many tests share: a small full case, as a table and as a checked case."""

from __future__ import annotations

import copy
import gc
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from dear_results import dear_results_once
from small_trial import small_trial
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.store import Store
from woold.trial.setup import TrialSetup, trial_from_tables

# Tests are never timed, and draw the same examples on every machine.
settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")


def pytest_collection_finish() -> None:
    """Thousands of collected tests need not be looked through for garbage again and again."""
    gc.collect()
    gc.freeze()


_TABLE: dict[str, Any] = {
    "title": "Jars on a 1.2 x 1.0 m pallet",
    "load": {
        "length": "1.2 m",
        "width": "1.0 m",
        "height": "1.5 m",
        "mass": "600 kg",
        "tiers": 6,
        "offset": ["0 m", "0 m"],
    },
    "film": {
        "roll_width": "20 in",
        "thickness": "63 gauge",
        "density": "918 kg/m^3",
        "rated_prestretch": "300 %",
        "yield_stress": "9 MPa",
        "hardening_modulus": "2.4 MPa",
        "extensibility": 80,
        "reload_modulus": "400 MPa",
        "price": "2.2 USD/kg",
    },
    "carriage": {
        "prestretch": "260 %",
        "gap": "40 mm",
        "contact_angle_slow": "180 deg",
        "contact_angle_fast": "180 deg",
        "friction": 0.6,
        "unwind_tension": "25 N",
    },
    "machine": {"kind": "turntable", "speed": "12 rpm", "exit_distance": "1.5 m"},
    "program": {
        "force_to_load": "45 N",
        "start_height": "-50 mm",
        "bottom_wraps": 2,
        "rise_per_turn": "200 mm",
        "top_overlap": "75 mm",
        "top_wraps": 2,
        "fall_per_turn": "200 mm",
        "closing_wraps": 1,
    },
}


@pytest.fixture
def table() -> dict[str, Any]:
    """The smallest full case as nested tables, free to be changed."""
    return copy.deepcopy(_TABLE)


@pytest.fixture
def case(table: dict[str, Any]) -> Case:
    """The smallest full case, checked."""
    return case_from_table(table)


@pytest.fixture
def trial_tables() -> dict[str, Any]:
    """A small trial file as nested tables: two load types, no cases."""
    return small_trial()


@pytest.fixture
def setup(trial_tables: dict[str, Any]) -> TrialSetup:
    """The same, checked."""
    return trial_from_tables(trial_tables, {})


@pytest.fixture
def setup_with_cases(trial_tables: dict[str, Any], table: dict[str, Any]) -> TrialSetup:
    """The same, with the small full case for both treatments of both load types."""
    for each in trial_tables["load_types"]:
        each |= {"baseline": "a.toml", "candidate": "b.toml"}
    return trial_from_tables(trial_tables, {"a.toml": table, "b.toml": table})


@pytest.fixture(scope="module")
def dear_once() -> Iterator[None]:
    """Results that take long are computed once."""
    with dear_results_once():
        yield


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty store."""
    opened = Store(str(tmp_path / "records.sqlite"))
    yield opened
    opened.close()


@pytest.fixture
def dancer_setup() -> Any:
    """A made-up dancer with a proportional drive and feed-forward, feeding a 1.2 m x 1.0 m load."""
    # Imported here: the compiler that stands behind it takes its time.
    from woold.physics.dancer import DancerArm, Spring
    from woold.physics.dancer_setup import DancerSetup, Drive, FilmSpan
    from woold.physics.outlines import rectangle_outline

    return DancerSetup(
        arm=DancerArm(
            arm_length=0.25,
            inertia=0.05,
            damping=0.4,
            friction_torque=0.2,
            lower_stop=-0.5,
            upper_stop=0.5,
            film_lines=2,
            anchor=(0.10, 0.35),
            stop_stiffness=2000.0,
            stop_damping=5.0,
        ),
        spring=Spring(rate=900.0, free_length=0.18, preload=10.0),
        hole_radius=0.14,
        span=FilmSpan(film_stiffness=900.0, roller_strain=0.11, fixed_length=1.0),
        drive=Drive(
            set_angle=0.0,
            gain=1.2,
            integral_gain=0.8,
            feed_forward=1.0,
            lag=0.1,
            acceleration_limit=3.0,
            speed_limit=2.0,
        ),
        outline=rectangle_outline(1.2, 1.0),
        exit_distance=1.5,
    )
