"""Over random cases: never a NaN, and film, layers and mass move the way they must."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st

from woold.case.file import case_from_table
from woold.errors import WooldError
from woold.physics import layer_count, pattern
from woold.prediction.predict import predict

FAST = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda value: round(value, 4))


@st.composite
def tables(draw: st.DrawFn) -> dict[str, Any]:
    shape = draw(st.sampled_from(["rectangle", "round", "polygon"]))
    load: dict[str, Any] = {
        "height": f"{draw(number(0.2, 2.6))} m",
        "mass": f"{draw(number(20, 1500))} kg",
        "offset": [f"{draw(number(-0.1, 0.1))} m", f"{draw(number(-0.1, 0.1))} m"],
    }
    if shape == "rectangle":
        load |= {"length": f"{draw(number(0.3, 1.4))} m", "width": f"{draw(number(0.3, 1.4))} m"}
    elif shape == "round":
        load |= {"diameter": f"{draw(number(0.3, 1.4))} m"}
    else:
        count = draw(st.integers(3, 8))
        load["footprint"] = [
            [
                f"{0.6 * math.cos(2 * math.pi * i / count):.4f} m",
                f"{draw(number(0.3, 0.6)) * math.sin(2 * math.pi * i / count):.4f} m",
            ]
            for i in range(count)
        ]
    return {
        "load": load,
        "film": {
            "roll_width": f"{draw(number(250, 800))} mm",
            "thickness": f"{draw(number(6, 40))} um",
            "price": "2 EUR/kg",
        },
        "carriage": {
            "prestretch": f"{draw(number(0, 350))} %",
            "gap": f"{draw(number(0, 300))} mm",
        },
        "machine": {"speed": f"{draw(number(2, 60))} rpm", "exit_distance": "1.6 m"},
        "program": {
            "force_to_load": f"{draw(number(0, 200))} N",
            "start_height": f"{draw(number(-100, 100))} mm",
            "bottom_wraps": draw(number(0, 5)),
            "overlap": f"{draw(number(0, 85))} %",
            "top_overlap": f"{draw(number(0, 200))} mm",
            "top_wraps": draw(number(0, 5)),
            "closing_wraps": draw(number(0, 3)),
            "ends_at": draw(st.sampled_from(["bottom", "top"])),
        },
    }


@FAST
@given(tables())
def test_a_case_is_predicted_or_refused_in_words(table: dict[str, Any]) -> None:
    try:
        prediction = predict(case_from_table(table))
    except WooldError as refused:
        note(f"refused: {refused}")
        return
    document = json.dumps(prediction.to_json(), allow_nan=False)
    assert json.loads(document)["film_mass_kg"] > 0
    assert 0 <= prediction.layers_min <= prediction.layers_mean + 1e-6
    assert prediction.containment_later_min_n <= prediction.containment_min_n + 1e-9
    assert prediction.stretch_on_load >= 1
    assert 0 < prediction.film_width_on_load_m <= prediction_roll(table) + 1e-12


def prediction_roll(table: dict[str, Any]) -> float:
    return float(table["film"]["roll_width"].split()[0]) / 1000


@FAST
@given(tables(), number(0.05, 1.5))
def test_more_wraps_take_more_film_and_never_fewer_layers(
    table: dict[str, Any], extra: float
) -> None:
    try:
        before = predict(case_from_table(table))
        table["program"]["closing_wraps"] += extra
        after = predict(case_from_table(table))
    except WooldError:
        return
    assert after.film_mass_kg > before.film_mass_kg
    assert after.turns > before.turns
    assert after.layers_min >= before.layers_min - 1e-9
    assert after.cycle_time_s > before.cycle_time_s


@FAST
@given(tables(), number(1.01, 2))
def test_thicker_film_weighs_more_and_is_as_long(table: dict[str, Any], factor: float) -> None:
    """At a measured width; the length does not know the film's thickness.

    But not where thin film is drawn before the rollers or behind them, which thick film is not.
    """
    table["carriage"]["neck_down"] = "10 mm"
    try:
        case = case_from_table(table)
        before = predict(case)
        after = predict(case.with_values({"film.thickness": case.film.thickness * factor}))
    except WooldError:
        return
    assert math.isclose(after.film_length_m, before.film_length_m, rel_tol=1e-12)
    codes = {each.code for p in (before, after) for each in p.findings}
    if not codes & {"unwind_draws_film", "force_above_drawing"}:
        assert after.film_mass_kg > before.film_mass_kg


@FAST
@given(
    width=number(0.2, 0.7),
    more=number(0.0, 0.3),
    rise=number(0.05, 0.5),
    wraps=number(0, 3),
    height=number(0, 1),
)
def test_wider_film_on_one_path_never_covers_less(
    width: float, more: float, rise: float, wraps: float, height: float
) -> None:
    legs = pattern.wrap_path(pattern.WrapProgram(
        load_height=1.2, film_width=width, start_height=0, bottom_wraps=wraps, rise_per_turn=rise,
        top_overlap=0.05, top_wraps=wraps, fall_per_turn=rise, closing_wraps=0.5,
    ))  # fmt: skip
    wide = tuple(replace(leg, width=leg.width + more) for leg in legs)
    ones = [[1.0] * len(legs)]
    thin, thick = (
        layer_count.weighted_layers(each, ones, np.array([height])) for each in (legs, wide)
    )
    assert thick[0] >= thin[0]
    assert thick[1] >= thin[1] - 1e-9
