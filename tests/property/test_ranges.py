"""Ranges hold the error of the law of neck-down, unless a width was measured."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woold.case.file import case_from_table
from woold.case.model import Case, Origin
from woold.errors import WooldError
from woold.physics.neck_down import (
    film_width_after_gap,
    width_loss_factor,
    width_loss_factor_drawn,
    width_loss_uncertainty,
)
from woold.prediction.predict import predict
from woold.uncertainty.spread import LAW, prediction_spread

FEW = settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
QUANTITIES = {
    "width": lambda _, p: p.film_width_on_load_m,
    "mass": lambda _, p: p.film_mass_kg,
    "length": lambda _, p: p.film_length_m,
    "turns": lambda _, p: p.turns,
    "yearly": lambda _, p: p.film_mass_per_year_kg,
}


def case_of(gap: float, prestretch: float, overlap: float, **carriage: Any) -> Case:
    return case_from_table(
        {
            "load": {"length": "1.2 m", "width": "1 m", "height": "1.5 m", "mass": "600 kg"},
            "film": {"roll_width": "20 in", "thickness": "63 gauge"},
            "carriage": {
                "prestretch": f"{prestretch:.1f} %",
                # Measured: a gap that may only be shorter would make the law's part smaller too.
                "gap": {"value": f"{gap:.1f} mm", "origin": "measured"},
                "contact_angle_slow": "190 deg",
                "contact_angle_fast": "190 deg",
                "friction": "0.8",
                **carriage,
            },
            "machine": {"speed": "12 rpm", "exit_distance": "1.6 m"},
            "program": {"force_to_load": "45 N", "overlap": f"{overlap:.1f} %"},
        }
    )


def exact(case: Case, but: str = LAW) -> Case:
    """The case as if everything but one number had been measured exactly."""
    known = {each.field: Origin("measured", False) for each in case.inputs() if each.field != but}
    return case.with_origins(known)


def width_of(spread: Any, name: str) -> float:
    found = spread.estimates[name]
    return float(found.high - found.low)


@FEW
@given(st.floats(10, 120), st.floats(150, 300), st.floats(10, 60))
def test_no_range_is_narrower_than_the_law(gap: float, prestretch: float, overlap: float) -> None:
    case = case_of(gap, prestretch, overlap)
    try:
        predict(case)
    except WooldError:
        return
    alone = prediction_spread(exact(case), QUANTITIES, draws=120)
    together = prediction_spread(case, QUANTITIES, draws=120)
    assert alone.varied == (LAW,)
    for name in QUANTITIES:
        assert width_of(alone, name) > 0.0
        # 120 draws: an end of a range is off by some of its width.
        assert width_of(together, name) > 0.8 * width_of(alone, name)


def test_range_of_the_width_is_the_law_alone_where_all_else_is_known() -> None:
    case = exact(case_of(60.0, 260.0, 50.0).with_values({"carriage.slow_roller_diameter": 0.0}))
    found = prediction_spread(case, QUANTITIES, draws=500)
    ends = [
        film_width_after_gap(
            0.508,
            0.06,
            3.6,
            width_loss_factor_drawn(
                width_loss_factor(3.6, 3.75, 80.0), width_loss_uncertainty(3.6), deviate
            ),
        )
        for deviate in (1.645, -1.645)
    ]
    width = found.estimates["width"]
    assert (width.low, width.high) == pytest.approx(tuple(ends), abs=5e-4)
    assert found.law_shares["width"] > 0.99
    assert found.law_shares["mass"] > 0.95


def test_a_measured_width_takes_the_law_away() -> None:
    case = case_of(60.0, 260.0, 50.0, neck_down="40 mm")
    assert LAW not in {each.field for each in case.inputs()}
    found = prediction_spread(case, QUANTITIES, draws=60)
    assert not found.law_shares
    assert found.estimates["width"].low == found.estimates["width"].high


def test_a_width_measured_elsewhere_leaves_little_of_the_law() -> None:
    case = exact(case_of(60.0, 260.0, 50.0))
    told = case.with_values({"film.width_loss": 0.3, "film.width_loss_prestretch": 3.6})
    ranges = [width_of(prediction_spread(each, QUANTITIES, draws=60), "width") for each in
              (case, told, told.with_values({"film.width_loss_prestretch": 3.2}))]  # fmt: skip
    assert ranges[1] < 1e-9
    # Away from the stretch of the measurement the law's error comes back.
    assert 1e-3 < ranges[2] < ranges[0]


def test_another_input_moves_no_bound() -> None:
    """Draws of an input are its own: bounds stay where an unrelated one becomes known."""
    case = case_of(60.0, 260.0, 50.0)
    first = prediction_spread(case, QUANTITIES, draws=200).estimates
    measured = {"carriage.gap": Origin("measured", False)}
    known = case.with_origins({**measured, "film.roll_mass": Origin("weighed", False)})
    second = prediction_spread(known, QUANTITIES, draws=200).estimates
    assert first == second
