"""Width, strength, softness and patches as a whole case has them; numbers worked by hand."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import numpy as np
import pytest

from unusual import unusual_case
from woold.carriages.compare import compare_carriages, with_shared_width_loss
from woold.carriages.study import carriage_report
from woold.case.model import Case
from woold.errors import PhysicsError
from woold.prediction.film_on_load import films_at_forces
from woold.prediction.placeholder_rows import placeholder_rows
from woold.prediction.predict import predict
from woold.rows.blocks import Paragraph
from woold.rows.wording import Wording


def case_of(table: dict[str, Any], **sections: dict[str, Any]) -> Case:
    return unusual_case({**table, **{name: table[name] | s for name, s in sections.items()}})


def codes(case: Case) -> set[str]:
    return {each.code for each in predict(case).findings}


def test_width_by_the_law(table: dict[str, Any]) -> None:
    """40 mm of gap and 12.38 mm of a 70 mm roller at friction .6 (ln 1.2365 = .2123; 35/.6 × it).

    2 × .2508 × 52.38 = 26.27 mm off 508.
    """
    p = predict(case_of(table, carriage={"slow_roller_diameter": "70 mm"}))
    assert p.slip_arc_m == pytest.approx(0.01238, abs=1e-5)
    assert p.neck_down_m == pytest.approx(0.02627, abs=2e-5)
    assert not p.width_is_measured


def test_force_that_draws_on_and_force_that_tears(table: dict[str, Any]) -> None:
    plain = case_of(table)
    drawn = plain.with_values({"program.force_to_load": 205.0})
    p = predict(drawn)
    # 205 N is less than the 211.9 N at 500 %: the film is drawn on to nearly that.
    assert 5.8 < p.stretch_on_load < 6.0
    assert p.film_mass_kg < predict(plain).film_mass_kg
    assert "force_above_drawing" in codes(drawn)
    torn = drawn.with_values({"film.elongation_at_break": 5.5})
    with pytest.raises(PhysicsError, match=r"program.force_to_load: 205 N.*breaks, at 450 %"):
        predict(torn)
    # Nobody tested this film: P(7) = 288.0 MPa/7 = 41.1 MPa by hand, times 8.129 mm², 334 N.
    with pytest.raises(PhysicsError, match=r"400 N.*less than the 334 N.*600 %.*elongation_at_br"):
        predict(plain.with_values({"program.force_to_load": 400.0}))
    # Among many forces the one that tears is only marked.
    sheets = films_at_forces(torn, [45.0, 205.0])
    assert [each.breaks for each in sheets] == [False, True]


def test_unwind_tension_that_draws_is_said(table: dict[str, Any]) -> None:
    case = case_of(
        table,
        carriage={"unwind_tension": "80 N", "prestretch": "120 %"},
        film={"thickness": "60 gauge"},
    )
    assert "unwind_draws_film" in codes(case)


def test_film_outside_of_the_law(table: dict[str, Any]) -> None:
    assert "neck_down_extrapolated" in codes(case_of(table, carriage={"gap": "250 mm"}))
    stiff = {"yield_stress": "14 MPa", "hardening_modulus": "1.5 MPa", "elastic_modulus": "250 MPa"}
    case = case_of(table, film=stiff, carriage={"prestretch": "170 %"})
    assert "no_steady_drawing" in codes(case)


def test_cold_film_pulls_harder(table: dict[str, Any]) -> None:
    """10 K colder at 1 % for each: 10 % more force for the same stretch, and the same width."""
    carriage = {"unwind_tension": "40 N", "friction": "0.8"}
    warm, cold = (
        predict(case_of(table, carriage=carriage, film={"temperature": at, "softening": "1 %"}))
        for at in ("23 degC", "13 degC")
    )
    assert cold.drawing_force_n / warm.drawing_force_n == pytest.approx(1.10, rel=1e-9)
    assert cold.film_width_on_load_m == pytest.approx(warm.film_width_on_load_m, abs=1e-9)


def test_points_are_warmed_as_moduli_are(table: dict[str, Any]) -> None:
    points = {
        "test_elongations": ["0 %", "5 %", "20 %", "60 %", "150 %", "260 %", "400 %"],
        "test_stresses": [f"{x} MPa" for x in (0, 7.2, 8.4, 8.6, 9.6, 12.2, 18.0)],
    }
    carriage = {"unwind_tension": "40 N", "friction": "0.8"}
    at = [
        predict(
            case_of(table, carriage=carriage, film=points | {"temperature": t, "softening": "1 %"})
        ).drawing_force_n
        for t in ("23 degC", "33 degC")
    ]
    assert at[1] / at[0] == pytest.approx(0.9, rel=1e-6)


def test_soft_load_by_hand(table: dict[str, Any]) -> None:
    """Two layers at the least: T (1/(1 + a) + 1/(1 + 2 a)) with a = K_1/k, K_1 = E_r t w."""
    rigid = predict(case_of(table))
    stiffness = 400e6 * rigid.film_thickness_on_load_m * rigid.film_width_on_load_m
    soft = predict(case_of(table, load={"hoop_stiffness": f"{10 * stiffness:.6f} N"}))
    assert rigid.layers_min == 2
    # 1/1.1 + 1/1.2 = 1.74242 of 2.
    share = soft.containment_later_point_min_n / rigid.containment_later_point_min_n
    assert share == pytest.approx(1.742424 / 2, rel=1e-6)
    assert soft.containment_later_min_n < rigid.containment_later_min_n
    assert soft.pull_plate_reading_n < rigid.pull_plate_reading_n
    assert 0.0 < soft.first_layer_force_n < 45.0
    very_soft = case_of(table, load={"hoop_stiffness": f"{0.2 * stiffness:.6f} N"})
    assert "soft_load_slack" in codes(very_soft)


def test_least_patch_is_no_less_than_the_least_point(case: Case) -> None:
    for rise in np.linspace(0.12, 0.6, 9):
        p = predict(case.with_values({"program.rise_per_turn": float(rise)}))
        assert p.containment_later_min_n >= p.containment_later_point_min_n * (1 - 1e-9)
        assert p.containment_min_n >= p.containment_point_min_n * (1 - 1e-9)
        low, high = p.containment_later_low_n, p.containment_later_high_n
        assert low <= p.containment_later_min_n <= high
        profile = [each.force_later_patch_n for each in p.containment_profile if each.height_m >= 0]
        assert min(profile) == pytest.approx(p.containment_later_min_n, rel=0.02)


def test_width_of_one_carriage_tells_the_film_of_another(table: dict[str, Any]) -> None:
    """60 mm lost in 80 mm of gap, by hand f = .375: 30 mm in 40 mm."""
    no_arc = {"slow_roller_diameter": "0 mm"}
    base = case_of(table, carriage=no_arc | {"gap": "80 mm", "neck_down": "60 mm"})
    other = case_of(table, carriage=no_arc | {"gap": "40 mm"})
    _, told = with_shared_width_loss(base, other)
    assert told.film.width_loss == pytest.approx(0.375, rel=2e-3)
    assert predict(told).neck_down_m == pytest.approx(0.030, rel=5e-3)
    found = compare_carriages(base, other, draws=100)
    assert found.candidate.neck_down_m == pytest.approx(0.030, rel=5e-3)
    assert found.law_share is None or found.law_share < 0.05
    # The other way round as well.
    back = compare_carriages(other, base, draws=100)
    assert back.base.neck_down_m == pytest.approx(0.030, rel=5e-3)


def test_measured_width_is_handed_over_for_the_film(table: dict[str, Any]) -> None:
    no_arc = {"slow_roller_diameter": "0 mm"}
    report = carriage_report(
        case_of(table, carriage=no_arc | {"gap": "80 mm", "neck_down": "60 mm"})
    )
    assert report.width_is_measured
    text = " ".join(str(row) for block in report.blocks() for row in getattr(block, "rows", ()))
    pasted = re.search(r"(width_loss = \{.*?\}), (width_loss_prestretch = \"[\d.]+ %\")", text)
    assert pasted is not None
    film = tomllib.loads(f"{pasted[1]}\n{pasted[2]}")
    again = case_of(table, carriage=no_arc | {"gap": "80 mm"}, film=film)
    # Three digits of the factor.
    assert predict(again).neck_down_m == pytest.approx(0.060, rel=2e-3)
    told = next(each for each in again.inputs() if each.field == "film.width_loss")
    assert "measured on the load" in told.origin.text
    far = again.with_values({"carriage.prestretch": 3.0})
    assert "width_loss_at_another_stretch" in codes(far)


def test_a_typed_value_is_asked_for_its_origin(table: dict[str, Any]) -> None:
    say = Wording(units="si")

    def asked(case: Case) -> str:
        blocks = placeholder_rows(predict(case).rests_on, say)
        texts = [each.text for each in blocks if isinstance(each, Paragraph)]
        return next((each for each in texts if each.startswith("Typed without")), "")

    first = asked(case_of(table))
    assert "film.yield_stress" in first
    assert "carriage.friction" in first
    assert "film.elastic_modulus" not in first  # a default, not typed
    known = {"value": "0.6", "origin": "incline, 10 tries", "low": "0.52", "high": "0.68"}
    case = case_of(table, carriage={"friction": known})
    assert "carriage.friction" not in asked(case)
    # Its own range is drawn, though it is no placeholder.
    assert case.range_of("carriage.friction") == (0.52, 0.68)
