"""Carriages of a case: rollers in, findings and report out; bad input named."""

from __future__ import annotations

import math
from typing import Any

import pytest

from unusual import unusual_case
from woold.carriages.study import carriage_report
from woold.case.model import Case
from woold.errors import WooldError
from woold.prediction.film_on_load import film_on_load, lacing_of
from woold.prediction.predict import predict

ROLLERS: list[dict[str, Any]] = [
    {"name": "film roll", "role": "roll", "x": "0 mm", "y": "0 mm", "diameter": "250 mm"},
    {"name": "inlet", "role": "idler", "x": "200 mm", "y": "0 mm", "diameter": "50 mm"},
    {"name": "slow", "role": "slow", "x": "320 mm", "y": "120 mm", "diameter": "100 mm"},
    {"name": "fast", "role": "fast", "x": "438 mm", "y": "120 mm", "diameter": "100 mm"},
    {"name": "outlet", "role": "idler", "x": "500 mm", "y": "300 mm", "diameter": "50 mm"},
    {"name": "way out", "role": "load", "x": "500 mm", "y": "600 mm"},
]
for _roller, _side in zip(ROLLERS, ("right", "left", "right", "left", "left"), strict=False):
    _roller["side"] = _side


def rollers(**changes: dict[str, Any]) -> list[dict[str, Any]]:
    """The plain carriage's rollers, some of them changed by name."""
    return [each | changes.get(each["name"].replace(" ", "_"), {}) for each in ROLLERS]


def laced(table: dict[str, Any], entries: list[dict[str, Any]], **carriage: Any) -> Case:
    table["carriage"] = {"prestretch": "260 %", "rollers": entries, **carriage}
    return unusual_case(table)


def codes(case: Case) -> set[str]:
    return {finding.code for finding in carriage_report(case).findings}


def test_rollers_give_gap_and_angles_to_the_prediction(table: dict[str, Any]) -> None:
    case = laced(table, rollers())
    path = lacing_of(case).path
    assert path is not None
    prediction = predict(case)
    assert prediction.gap_m == path.gap == pytest.approx(math.sqrt(0.118**2 - 0.1**2))
    assert prediction.contact_angle_slow_rad == path.contact("slow").contact_angle
    # The rollers decide, so the numbers that they replace are no inputs any more.
    fields = {each.field for each in case.inputs()}
    assert "carriage.gap" not in fields
    assert "carriage.contact_angle_slow" not in fields
    assert "carriage.rollers[2].diameter" in fields
    assert not next(e for e in case.inputs() if e.field == "carriage.rollers[2].x").is_amount


def test_report_without_rollers(case: Case) -> None:
    report = carriage_report(case)
    assert report.rollers == ()
    assert report.film_inside_m is None
    assert report.drive[0].torque_slow_n_m is None
    assert report.drive[0].power_drive_w > 0


def test_report_holds_together(table: dict[str, Any]) -> None:
    report = carriage_report(laced(table, rollers(), friction=0.6, unwind_tension="25 N"))
    assert [row.name for row in report.rollers] == ["inlet", "slow", "fast", "outlet"]
    slow, fast = report.rollers[1], report.rollers[2]
    assert slow.tension_after_n == fast.tension_before_n == report.drawing_force_n
    assert fast.tension_after_n == report.force_to_load_n == 45.0
    for row, speed, power, torque in (
        (slow, "speed_slow_m_per_s", "power_slow_w", "torque_slow_n_m"),
        (fast, "speed_fast_m_per_s", "power_fast_w", "torque_fast_n_m"),
    ):
        drive = report.drive[1]
        assert getattr(drive, power) == pytest.approx(
            getattr(drive, torque) * getattr(drive, speed) / (row.diameter_m / 2)
        )
    # The film spun by the load runs faster behind the fast roller, where it is longer.
    assert (
        report.drive[0].film_speed_m_per_s
        > predict(laced(table, rollers())).film_speed_mean_m_per_s
    )
    # At the least tensions both rollers just hold the geared stretch.
    held = laced(
        table,
        rollers(),
        friction=0.6,
        unwind_tension=f"{report.unwind_tension_min_n * (1 + 1e-9)} N",
    ).with_values({"program.force_to_load": report.force_to_load_min_n * (1 + 1e-9)})
    assert film_on_load(held).governs == "gears"
    assert film_on_load(held).margin_slow == pytest.approx(1.0)
    assert film_on_load(held).margin_fast == pytest.approx(1.0)


def test_drive_of_a_carriage_by_hand(table: dict[str, Any]) -> None:
    """Film of 99.453 N at 260 %, that springs back to 3.38296 times (test_whole_case_by_hand).

    A load of 4.4 m takes .88 m/s on average at 12 rpm, and 2π/5 × √(.6² + .5²) = .98147 m/s at a
    corner; × 3.6/3.38296 at the fast roller: .93646 and 1.04443 m/s, a 3.6th at the slow one,
    .26013 and .29012 m/s. Rollers of 50 mm radius: the slow one holds back 99.453 - 25 = 74.453 N,
    3.72265 N m, and is turned by 19.367 W of film; the fast one pulls with 99.453 - 45 = 54.453 N,
    2.72265 N m and 50.993 W. The gears carry the one to the other: 31.626 W are to be driven.
    """
    report = carriage_report(laced(table, rollers(), friction=0.9, unwind_tension="25 N"))
    mean, fastest = report.drive
    speeds = [mean.film_speed_m_per_s, fastest.film_speed_m_per_s]
    assert speeds == pytest.approx([0.93646, 1.04443], abs=1e-5)
    assert mean.speed_fast_m_per_s == pytest.approx(0.93646, abs=1e-5)
    slow = [mean.speed_slow_m_per_s, fastest.speed_slow_m_per_s]
    assert slow == pytest.approx([0.26013, 0.29012], abs=1e-5)
    assert mean.torque_slow_n_m is not None
    assert mean.torque_fast_n_m is not None
    torques = [abs(mean.torque_slow_n_m), abs(mean.torque_fast_n_m)]
    assert torques == pytest.approx([3.72265, 2.72265], abs=5e-5)
    powers = [abs(mean.power_slow_w), abs(mean.power_fast_w), mean.power_drive_w]
    # Three decimals of a force, times speeds.
    assert powers == pytest.approx([19.367, 50.993, 31.626], abs=2e-3)
    tensions = [(each.tension_before_n, each.tension_after_n) for each in report.rollers[1:3]]
    assert tensions == [
        pytest.approx((25.0, 99.453), abs=1e-3),
        pytest.approx((99.453, 45.0), abs=1e-3),
    ]


def test_curve_passes_through_the_case(table: dict[str, Any]) -> None:
    case = laced(table, rollers(), friction=0.6)
    report = carriage_report(case)
    for point in report.curve[:: len(report.curve) // 7]:
        alone = film_on_load(case.with_values({"program.force_to_load": point.force_to_load_n}))
        assert alone.delivered == pytest.approx(point.prestretch_delivered, rel=1e-9)
        assert alone.governs == point.governed_by


def test_teeth_are_believed_and_a_difference_is_said(table: dict[str, Any]) -> None:
    case = laced(table, rollers(slow={"teeth": 30}, fast={"teeth": 10}), unwind_tension="40 N")
    report = carriage_report(case)
    assert report.prestretch_geared == pytest.approx(3.0)
    assert report.prestretch_set == pytest.approx(3.6)
    assert "prestretch_disagrees" in {finding.code for finding in report.findings}
    same = laced(table, rollers(slow={"teeth": 36}, fast={"teeth": 10}), unwind_tension="40 N")
    assert "prestretch_disagrees" not in codes(same)


def test_numbers_typed_beside_rollers_must_agree(table: dict[str, Any]) -> None:
    assert "lacing_disagrees" in codes(laced(table, rollers(), gap="40 mm"))
    assert "lacing_disagrees" not in codes(laced(table, rollers(), gap="63 mm"))


def test_slip_is_said_and_no_hold_is_said_harder(table: dict[str, Any]) -> None:
    slipping = laced(table, rollers(), friction=0.6, unwind_tension="25 N")
    assert "prestretch_slips" in codes(slipping)
    loose = laced(table, rollers(), friction=0.3, unwind_tension="25 N")
    assert "prestretch_not_held" in codes(loose)
    prediction = predict(loose)
    assert prediction.prestretch_delivered < 1.1
    assert "prestretch_not_held" in {finding.code for finding in prediction.findings}
    close = laced(table, rollers(), friction=0.65, unwind_tension="25 N")
    assert "grip_close" in codes(close)
    strong = laced(table, rollers(), friction=1.0, unwind_tension="25 N")
    assert codes(strong) == set()


def test_nip_and_own_friction_count(table: dict[str, Any]) -> None:
    plain = laced(table, rollers(), friction=0.5)
    own = laced(table, rollers(slow={"friction": 0.8}), friction=0.5)
    assert film_on_load(own).margin_slow > film_on_load(plain).margin_slow
    assert film_on_load(own).margin_fast == film_on_load(plain).margin_fast
    nip = {"name": "nip", "role": "nip", "x": "320 mm", "y": "190 mm", "diameter": "40 mm"}
    nip |= {"presses_on": "slow", "nip_force": "30 N"}
    nipped = laced(table, [*rollers(), nip], friction=0.5)
    assert film_on_load(nipped).margin_slow - film_on_load(plain).margin_slow == pytest.approx(
        2 * 0.5 * 30.0 / film_on_load(plain).geared_force
    )


def test_load_that_pulls_the_film_through(case: Case) -> None:
    # Contact of a tenth of a turn holds back little.
    loose = case.with_values({"carriage.contact_angle_fast": 0.6, "program.force_to_load": 190.0})
    assert "load_pulls_through" in codes(loose)


def test_air_at_high_speed(table: dict[str, Any]) -> None:
    case = laced(table, rollers(), friction=0.8)
    assert "air_film" not in codes(case)
    assert "air_film" in codes(case.with_values({"carriage.roughness": 1e-6}))


def test_roller_in_the_gap(table: dict[str, Any]) -> None:
    between = {
        "name": "between", "role": "idler", "x": "400 mm", "y": "50 mm", "diameter": "30 mm",
        "side": "left",
    }  # fmt: skip
    entries = rollers(fast={"x": "520 mm"}, outlet={"x": "560 mm"})
    case = laced(table, [*entries[:3], between, *entries[3:]], friction=1.0)
    assert "roller_in_gap" in codes(case)


@pytest.mark.parametrize(
    ("changes", "carriage", "words"),
    [
        ({"slow": {"side": None}}, {}, ["carriage.rollers[2]", "side"]),
        ({"slow": {"role": "idler"}}, {}, ["0 of role 'slow'"]),
        ({"slow": {"role": "fast"}, "fast": {"role": "slow"}}, {}, ["fast roller before the slow"]),
        ({"fast": {"x": "410 mm"}}, {}, ["rollers.slow, carriage.rollers.fast", "overlap by"]),
        ({"outlet": {"x": "380 mm", "y": "60 mm"}}, {}, ["crosses the film"]),
        ({"slow": {"teeth": 36}}, {}, ["teeth for both"]),
        ({"inlet": {"teeth": 36}}, {}, ["teeth only for the slow and the fast"]),
        ({"inlet": {"role": "nip"}}, {}, ["presses_on and nip_force for a nip"]),
        ({"inlet": {"nip_force": "3 N"}}, {}, ["only for a nip"]),
        ({"inlet": {"role": "idlr"}}, {}, ["carriage.rollers[1].role", "idler"]),
        ({"inlet": {"daimeter": "3 mm"}}, {}, ['Did you mean "diameter"?']),
        ({"inlet": {"diameter": "0 mm"}}, {}, ["carriage.rollers.inlet", "above 0"]),
        ({"way_out": {"name": "slow"}}, {}, ["2 rollers named 'slow'"]),
        ({}, {"friction": 0}, ["carriage.friction", "more than"]),
        ({}, {"prestretch": "-20 %"}, ["carriage.prestretch"]),
        ({}, {"prestretch": "0 %"}, ["carriage.prestretch", "more than 0 %"]),
        ({}, {"prestretch": "590 %", "friction": 3}, []),
        # Nobody measured where the film breaks: a placeholder of 600 % is taken for it.
        (
            {},
            {"prestretch": "690 %", "friction": 3},
            ["carriage.prestretch", "600 %", "film.elongation_at_break"],
        ),
    ],
)
def test_bad_carriages_are_refused_with_names(
    table: dict[str, Any],
    changes: dict[str, dict[str, Any]],
    carriage: dict[str, Any],
    words: list[str],
) -> None:
    entries = [{k: v for k, v in each.items() if v is not None} for each in rollers(**changes)]
    if not words:  # strange, but it can be
        assert predict(laced(table, entries, **carriage)).film_mass_kg > 0
        return
    with pytest.raises(WooldError) as raised:
        predict(laced(table, entries, **carriage))
    for word in words:
        assert word in str(raised.value)


@pytest.mark.parametrize(
    ("film", "words"),
    [
        ({"test_elongations": ["0 %", "10 %"]}, "together, or neither"),
        (
            {
                "test_elongations": ["0 %", "10 %", "100 %", "300 %"],
                "test_stresses": ["0 MPa", "9 MPa", "8 MPa", "7 MPa"],
            },
            "rises to its end",
        ),
        (
            {
                "test_elongations": ["0 %", "10 %", "100 %", "200 %"],
                "test_stresses": ["0 MPa", "9 MPa", "10 MPa", "12 MPa"],
            },
            "less than 200 %, where this film's curve ends",
        ),
        ({"elastic_modulus": "30 MPa"}, "elastic_modulus 30 MPa"),
        ({"extensibility": 5, "elastic_modulus": "150 MPa"}, "where this film's curve ends"),
    ],
)
def test_films_that_cannot_be(table: dict[str, Any], film: dict[str, Any], words: str) -> None:
    table["film"] |= film
    with pytest.raises(WooldError, match=r"film|prestretch") as raised:
        predict(unusual_case(table))
    assert words in str(raised.value)


def test_film_known_by_points(table: dict[str, Any]) -> None:
    table["film"] |= {
        "test_elongations": ["5 %", "10 %", "40 %", "100 %", "200 %", "260 %", "350 %"],
        "test_stresses": [f"{each} MPa" for each in (7, 8.8, 8.5, 9.1, 10.8, 12.2, 15.1)],
    }
    case = unusual_case(table)
    # 260 % is one of the points, so the force there is the point's.
    assert film_on_load(case).geared_force == pytest.approx(12.2e6 * 0.508 * 63 * 0.254e-6)
    assert film_on_load(case).natural_draw == pytest.approx(1.4)
    assert "film.yield_stress" not in {each.field for each in case.inputs()}
