"""Cases that can hardly be, each with the question that it gets; and those that cannot, refused.

What is absurd is common practice, no source: a pallet load of 6 kg, film as thick as cardboard, an
arm of 250 m. A plant that is merely unusual is asked, and goes on once it says that it is right.
"""

from __future__ import annotations

import copy
from typing import Any

import pytest

from unusual import confirmed
from woold.case.file import case_from_table
from woold.errors import InputError, Question, WooldError
from woold.prediction.predict import predict

Table = dict[str, Any]

DANCER: Table = {
    "arm_length": "250 mm",
    "holes": ["140 mm", "170 mm"],
    "springs": [{"rate": "0.9 N/mm", "free_length": "180 mm", "preload": "10 N"}],
}

ASKED: list[tuple[str, Any]] = [
    ("load.length", "12 m"),
    ("load.length", "1.2 cm"),
    ("load.width", "40 mm"),
    ("load.height", "15 mm"),
    ("load.height", "6 m"),
    ("load.mass", "6 kg"),
    ("load.mass", "60 t"),
    ("load.mass", "600 g"),
    ("load.tiers", 150),
    ("load.offset", ["2 m", "0 m"]),
    ("load.hoop_stiffness", "1 N"),
    ("load.deck_height", "0.9 m"),
    ("load.pallet_length", "12 cm"),
    ("film.roll_width", "2.5 m"),
    ("film.roll_width", "20 mm"),
    ("film.thickness", "63 um"),
    ("film.thickness", "1 um"),
    ("film.thickness", "1 mm"),
    ("film.density", "1800 kg/m^3"),
    ("film.density", "600 kg/m^3"),
    ("film.rated_prestretch", "3 %"),
    ("film.yield_stress", "9 kPa"),
    ("film.yield_stress", "90 MPa"),
    ("film.hardening_modulus", "2.4 GPa"),
    ("film.extensibility", 5),
    ("film.elastic_modulus", "150 GPa"),
    ("film.reload_modulus", "4 MPa"),
    ("film.force_loss_per_decade", "0 %"),
    ("film.force_loss_per_decade", "29 %"),
    ("film.temperature", "59 degC"),
    ("film.softening", "2.9 %"),
    ("film.roll_mass", "0.5 kg"),
    ("film.roll_mass", "1.5 t"),
    ("film.price", "0 USD/kg"),
    ("film.price", "220 USD/kg"),
    ("film.price", "2.2 USD/t"),
    ("film.elongation_at_break", "20 %"),
    ("film.elongation_at_break", "150 %"),
    ("carriage.prestretch", "600 %"),
    ("carriage.gap", "1.9 m"),
    ("carriage.gap", "1 mm"),
    ("carriage.contact_angle_slow", "3 deg"),
    ("carriage.contact_angle_fast", "355 deg"),
    ("carriage.friction", 4),
    ("carriage.friction", 0.01),
    ("carriage.unwind_tension", "400 N"),
    ("carriage.slow_roller_diameter", "0.9 m"),
    ("carriage.nip_force_slow", "20 kN"),
    ("carriage.roughness", "1 mm"),
    ("carriage.film_width_on_load", "10 mm"),
    ("carriage.price", "1 USD"),
    ("machine.speed", "200 rpm"),
    ("machine.speed", "1 rpm"),
    ("machine.speed", "30 rpm"),
    ("machine.exit_distance", "9 m"),
    ("machine.exit_distance", "0.8 m"),
    ("machine.ramp_up", "10 min"),
    ("machine.end_time", "3 h"),
    ("machine.rethread_time", "5 h"),
    ("machine.carriage_speed_limit", "1 mm/s"),
    ("machine.carriage_speed_limit", "15 m/s"),
    ("program.force_to_load", "1 N"),
    ("program.force_to_load", "450 N"),
    ("program.force_to_load", "248 N"),
    ("program.start_height", "-900 mm"),
    ("program.start_height", "-200 mm"),
    ("program.start_height", "1.5 m"),
    ("program.start_height", "9 m"),
    ("program.bottom_wraps", 90),
    ("program.top_wraps", 50),
    ("program.closing_wraps", 99),
    ("program.rise_per_turn", "2 m"),
    ("program.rise_per_turn", "2 mm"),
    ("program.rise_per_turn", "16 mm"),
    ("program.fall_per_turn", "4 m"),
    ("program.top_overlap", "1.9 m"),
    ("program.start_tail", "50 m"),
    ("program.end_tail", "99 m"),
    ("program.bands", [{"height": "2.2 m", "wraps": 1}]),
    ("program.bands", [{"height": "1 m", "wraps": 49}]),
    ("program.ropes", [{"first_turn": 0, "last_turn": 900, "width": "60 mm"}]),
    ("program.pauses", [{"before": "top wraps", "time": "2 h"}]),
    ("hold.after", "20 year"),
    ("hold.temperature", "59 degC"),
    ("hold.edge_load_limit", "1 N/m"),
    ("hold.pull_distance", "1 m"),
    ("hold.pull_height", "2.7 m"),
    ("hold.targets", [{"force": "90 kN"}]),
    ("hold.targets", [{"low": "2 m", "force": "90 N"}]),
    ("plant.loads_per_shift", "90000"),
    ("plant.loads_per_shift", "900"),
    ("plant.shifts_per_year", "8000"),
    ("plant.standstill_price", "60000 USD/h"),
    ("plant.emission_factor", 40),
    ("dancer.arm_length", "1.9 m"),
    ("dancer.hole", "1.4 m"),
    ("dancer.holes", ["300 mm"]),
    ("dancer.inertia", "50 kg*m^2"),
    ("dancer.springs", [{"rate": "900 N/mm", "free_length": "180 mm"}]),
    ("dancer.drive", {"speed_limit": "0.5 m/s"}),
    ("dancer.drive", {"lag": "9 s"}),
    ("transport", {"profiles": ["EN 12195-1 road"], "friction": 1.9}),
    ("transport", {"profiles": ["EN 12195-1 road"], "pallet_mass": "400 kg"}),
    ("load.height", "1.5 in"),
    ("load.mass", "600 oz"),
    ("load.mass", "12 lb"),
    ("load.tiers", 60),
    ("load.offset", ["0.4 m", "0 m"]),
    ("film.elongation_at_break", "265 %"),
    ("film.thickness", "63 mil"),
    ("film.roll_width", "2 in"),
    ("film.yield_stress", "9 psi"),
    ("film.density", "63 lb/ft^3"),
    ("film.price", "2,200 USD/kg"),
    ("film.price", "22 EUR/kg"),
    ("film.roll_mass", "16 g"),
    ("carriage.gap", "0 mm"),
    ("carriage.friction", 0.05),
    ("carriage.unwind_tension", "120 N"),
    ("machine.exit_distance", "1.5 mm"),
    ("machine.speed", "12 rad/s"),
    ("machine.end_time", "15 min"),
    ("program.force_to_load", "60 lbf"),
    ("program.top_overlap", "-600 mm"),
    ("program.rise_per_turn", "600 mm"),
    ("program.fall_per_turn", "30 in"),
    ("program.pauses", [{"before": "top wraps", "time": "20 min"}]),
    ("hold.pull_height", "1.6 m"),
    ("hold.targets", [{"low": "-1 m", "force": "90 N"}]),
    ("plant.breaks_per_1000_loads", 900),
    ("dancer.hole", "260 mm"),
    ("dancer.springs", [{"rate": "0.9 N/m", "free_length": "180 mm"}]),
    ("transport", {"profiles": ["EN 12195-1 road"], "pressing_force": "90 kN"}),
    ("transport", {"profiles": ["EN 12195-1 road"], "package_give": "40 mm"}),
    ("transport", {"profiles": ["EN 12195-1 road"], "slip_margin": 1.9}),
    ("film.hardening_modulus", "2.4 kPa"),
    ("film.roll_mass", "700 kg"),
    ("film.thickness", "16 gauge"),
    ("film.rated_prestretch", {"value": "3.1 %", "origin": "label"}),
    ("carriage.prestretch", "2.6 %"),
    ("carriage.contact_angle_fast", "20 deg"),
    ("carriage.unwind_tension", "95 N"),
    ("carriage.nip_force_slow", "4 kN"),
    ("carriage.widest_roll", "100 mm"),
    ("carriage.price", "500000 USD"),
    ("carriage.film_width_on_load", "505 mm"),
    ("carriage.neck_down", "3 mm"),
    ("machine.rethread_time", "5 s"),
    ("program.ropes", [{"first_turn": 0, "last_turn": 1, "width": "700 mm"}]),
    ("program.force_to_load", "0 N"),
    ("hold.targets", [{"low": "1.4 m", "high": "1.4001 m", "force": "9 N"}]),
    ("hold.pull_height", "10 mm"),
    ("plant.standstill_price", "60 USD/min"),
    ("plant.packaging_tax", [{"since": "1926-04-01", "rate": "200 USD/t"}]),
    ("plant.packaging_tax", [{"since": "2126-04-01", "rate": "200 USD/t"}]),
    ("plant.packaging_tax", [{"since": "2026-04-01", "rate": "200 USD/kg"}]),
    ("plant.loads_per_shift", 0.5),
    ("plant.emission_factor", 0.02),
    ("load.mass", "7000 lb"),
    ("dancer.upper_stop", "-25 deg"),
    ("dancer.drive", {"set_angle": "35 deg"}),
    ("dancer.drive", {"gain": "0 m/s/rad", "integral_gain": "0 m/s/rad/s",
                      "feed_forward": "0 %"}),
    ("dancer.drive", {"acceleration_limit": "0.1 m/s^2"}),
    ("dancer.anchor", ["140 mm", "0 mm"]),
    ("dancer.springs", [{"rate": "0.9 N/mm", "free_length": "900 mm"}]),
    ("dancer.springs", [{"rate": "0.9 N/mm", "free_length": "180 mm", "preload": "2 kN"}]),
    ("dancer.springs", [{"rate": "0.01 N/mm", "free_length": "180 mm"}]),
    ("transport", {"profiles": ["EN 12195-1 road"], "pallet_grip": "199 mm"}),
    ("transport", {"profiles": ["EN 12195-1 road"], "slip_zone": "1.6 m"}),
    ("design.prestretches", ["390 %"]),
    ("design.speeds", ["70 rpm"]),
    ("design.film_speed_limit", "0.21 m/s"),
    ("design.cycle_time_limit", "11 s"),
]  # fmt: skip
"""Field and what is typed there; the question is at that field or in its table."""

TOGETHER: list[tuple[dict[str, Any], str]] = [
    ({"film.test_elongations": ["0 %", "40 %", "300 %", "2000 %"],
      "film.test_stresses": ["0 MPa", "9 MPa", "14 MPa", "20 MPa"]}, "film.test_elongations"),
    ({"dancer.arm_length": "100 mm"}, "dancer.holes"),
    ({"load.mass": "12 kg", "load.height": "2.5 m"}, "load.mass"),
    ({"load.mass": "2400 kg", "load.height": "0.3 m", "load.tiers": 2, "load.length": "0.4 m",
      "load.width": "0.4 m"}, "load.mass"),
    ({"load.height": "2.7 m", "load.length": "0.5 m", "load.width": "0.5 m"}, "load.height"),
    ({"load.height": "0.6 m", "load.tiers": 40}, "load.tiers"),
    ({"load.pallet_length": "1 m", "load.pallet_width": "1.2 m"}, "load.pallet_length"),
    ({"load.pallet_length": "0.9 m", "load.pallet_width": "0.8 m"}, "load.pallet_length"),
    ({"film.thickness": "30 gauge", "program.force_to_load": "130 N"}, "program.force_to_load"),
    ({"film.roll_width": "250 mm", "program.rise_per_turn": "300 mm"}, "program.rise_per_turn"),
    ({"film.elongation_at_break": "300 %", "carriage.prestretch": "290 %"},
     "film.elongation_at_break"),
    ({"film.roll_width": "750 mm", "carriage.widest_roll": "500 mm"}, "film.roll_width"),
    ({"film.roll_width": "120 mm", "carriage.gap": "200 mm"}, "carriage.gap"),
    ({"machine.kind": "ring", "machine.speed": "4 rpm"}, "machine.speed"),
    ({"machine.kind": "rotary arm", "machine.speed": "45 rpm"}, "machine.speed"),
    ({"machine.kind": "rotary arm", "machine.exit_distance": "0.82 m"}, "machine.exit_distance"),
    ({"load.deck_height": "100 mm", "program.start_height": "-140 mm"}, "program.start_height"),
    ({"load.height": "0.4 m", "program.start_height": "0.5 m"}, "program.start_height"),
    ({"program.rise_per_turn": "18 mm", "program.fall_per_turn": "18 mm"},
     "program.rise_per_turn"),
    ({"plant.loads_per_shift": "300", "plant.shifts_per_year": "1100"}, "plant.loads_per_shift"),
    ({"plant.loads_per_shift": "450"}, "plant.loads_per_shift"),
    ({"hold.targets": [{"low": "1 m", "high": "2.7 m", "force": "90 N"}]}, "hold.targets[0].high"),
    ({"load.height": "2 m", "machine.carriage_speed_limit": "2 mm/s"},
     "machine.carriage_speed_limit"),
    ({"film.rated_prestretch": "300 %", "film.elongation_at_break": "290 %"},
     "film.rated_prestretch"),
    ({"load.mass": "2400 kg", "load.height": "0.35 m"}, "load.mass"),
    ({"dancer.lower_stop": "10 deg"}, "dancer.drive.set_angle"),
    ({"load.deck_height": "0 mm", "program.start_height": "-50 mm"}, "program.start_height"),
    ({"load.pallet_length": "2.9 m", "load.pallet_width": "2.9 m"}, "load.pallet_length"),
    ({"program.bands": [{"height": "700 mm", "wraps": 12}] * 6}, "program.rise_per_turn"),
    ({"hold.pull_height": "1.4 m", "hold.pull_plate_width": "450 mm"}, "hold.pull_height"),
    ({"design.rise_least": "390 mm", "design.rise_most": "400 mm", "design.rise_step": "20 mm"},
     "design.rise_step"),
    ({"machine.ramp_up": "1 s", "dancer.drive": {"acceleration_limit": "0.3 m/s^2"}},
     "dancer.drive.acceleration_limit"),
]  # fmt: skip
"""Fields that are each usual, or nearly, but not together; and the field that is asked about."""

REFUSED: list[tuple[str, Any]] = [
    ("load.mass", "0 kg"),
    ("load.height", "-1.5 m"),
    ("load.length", "1.2 km"),
    ("load.offset", ["200 m", "0 m"]),
    ("film.price", "-2.2 USD/kg"),
    ("film.thickness", "63 in"),
    ("carriage.price", "-1 USD"),
    ("plant.standstill_price", "-60 USD/h"),
    ("machine.speed", "12 Hz"),
    ("machine.exit_distance", "0.5 m"),
    ("program.end_tail", "1e308 m"),
    ("program.force_to_load", "45 kN"),
    ("hold.after", "1e9 h"),
    ("dancer.hole", "140 m"),
    ("dancer.holes", ["140 m"]),
    ("film.thickness", {"value": "63 gauge", "origin": "x", "low": "-63 gauge"}),
    ("film.thickness", {"value": "63 gauge", "origin": "x", "low": "80 gauge"}),
    ("film.price", {"value": "2 USD/kg", "origin": "x", "high": "3 EUR/kg"}),
    ("load.offset", ["0 m"]),
    ("load.tiers", 6.5),
    ("load.tiers", True),
    ("title", "jars\x1b[2J"),
    ("load.mass", True),
    ("load.mass", "1,800 kg"),
    ("load.height", "1500"),
    ("film.density", "9.18 g/cm3"),
    ("film.temperature", "-5 F"),
    ("film.thickness", "16 mm"),
    ("carriage.prestretch", "26000 %"),
    ("carriage.film_width_on_load", "600 mm"),
    ("carriage.contact_angle_slow", "400 deg"),
    ("machine.exit_distance", "0.7 m"),
    ("program.ropes", [{"first_turn": 5, "last_turn": 3, "width": "60 mm"}]),
    ("program.bands", [{"height": "1.5 m", "wraps": 2}]),
    ("transport", {"profiles": ["Mars"]}),
    ("plant.emission_factor", -1),
    ("carriage.prestretch", "0 %"),
    ("carriage.prestretch", 2.6),
    ("carriage.prestretch", "3.6:1"),
    ("carriage.neck_down", "90 %"),
    ("carriage.price", "18.000 EUR"),
    ("film.price", "2.2 UDS/kg"),
    ("film.temperature", "-25 degC"),
    ("load.height", "4ft11"),
    ("machine.end_time", "1:30"),
    ("dancer.springs", [{"rate": "0.9 N/mm", "free_length": "180 mm", "longest_length": "100 mm"}]),
    ("transport", {"profiles": ["EN 12195-1 road"], "lean_limit": "1 %", "kept_limit": "14 %"}),
    ("design", {"force_least": "150 N"}),
    ("design", {"force_step": "0.1 N"}),
    ("design", {"bottom_wraps_least": 9}),
]


def typed(table: Table, path: str, value: Any) -> Table:
    """The small full case with one other value."""
    made = copy.deepcopy(table)
    *tables, name = path.split(".")
    inner = made
    if path.startswith("dancer"):
        made["dancer"] = copy.deepcopy(DANCER)
    if path.startswith("load.pallet"):
        made["load"]["pallet_width"] = "1 m"
    for each in tables:
        inner = inner.setdefault(each, {})
    inner[name] = value
    return made


def test_there_are_many() -> None:
    assert len(ASKED) >= 90


@pytest.mark.parametrize(("path", "value"), ASKED)
def test_absurd_case_is_asked_about_at_its_field(table: Table, path: str, value: Any) -> None:
    made = typed(table, path, value)
    with pytest.raises(InputError) as caught:
        case_from_table(made)
    problems = caught.value.problems
    assert all(isinstance(each, Question) for each in problems), str(caught.value)
    assert any(each.field.startswith(path) for each in problems), str(caught.value)
    for each in problems:
        assert each.given
        assert "no source" in each.allowed
        assert f"--as-typed '{each.field}'" in str(each)
    # Said to be right, it is read, or refused for what cannot be; and a result says so.
    right = confirmed(made)
    case = case_from_table(made, right)
    try:
        found = {each.field for each in predict(case).findings if each.code == "as_typed"}
    except WooldError:
        return
    assert found == set(right)


@pytest.mark.parametrize(("changes", "field"), TOGETHER)
def test_fields_that_disagree_are_asked_about(
    table: Table, changes: dict[str, Any], field: str
) -> None:
    made = table
    for path, value in changes.items():
        made = typed(made, path, value)
    with pytest.raises(InputError) as caught:
        case_from_table(made)
    assert all(isinstance(each, Question) for each in caught.value.problems)
    assert field in [each.field for each in caught.value.problems], str(caught.value)


@pytest.mark.parametrize(("path", "value"), REFUSED)
def test_impossible_case_is_refused(table: Table, path: str, value: Any) -> None:
    with pytest.raises(WooldError) as caught:
        predict(case_from_table(typed(table, path, value), ("load.offset",)))
    assert any(not isinstance(each, Question) for each in caught.value.problems)
    assert any(path in each.field for each in caught.value.problems)


def test_an_outline_without_an_area_is_asked_about_and_then_refused(table: Table) -> None:
    del table["load"]["length"], table["load"]["width"]
    table["load"]["footprint"] = [["0 m", "0 m"], ["0.6 m", "0 m"], ["1.2 m", "0 m"]]
    assert "load.footprint" in confirmed(table)
    with pytest.raises(InputError, match=r"footprint") as caught:
        predict(case_from_table(table, confirmed(table)))
    assert not any(isinstance(each, Question) for each in caught.value.problems)


@pytest.mark.parametrize("place", ["file", "argument", "change"])
def test_what_is_right_goes_on_and_is_said(table: Table, place: str) -> None:
    plain = copy.deepcopy(table)
    table["load"]["mass"] = "4000 kg"
    if place == "file":
        case = case_from_table(table | {"as_typed": ["load.mass"]})
    elif place == "argument":
        case = case_from_table(table, ["load.mass"])
    else:
        case = case_from_table(plain).change({"load.mass": "4000 kg"}, ["load.mass"])
    (finding,) = (each for each in predict(case).findings if each.code == "as_typed")
    assert finding.field == "load.mass"
    assert "4000 kg" in finding.message
    assert case.as_typed == ("load.mass",)


def test_another_value_is_asked_about_again(table: Table) -> None:
    table["load"]["mass"] = "4000 kg"
    case = case_from_table(table, ["load.mass"])
    with pytest.raises(InputError, match=r"load\.mass: 5000 kg"):
        case.change({"load.mass": "5000 kg"})
    assert case.change({"load.mass": "700 kg"}).as_typed == ()


def test_a_name_that_is_no_field_is_refused(table: Table) -> None:
    with pytest.raises(InputError, match=r'Did you mean "load\.mass"'):
        case_from_table(table, ["load.masss"])


def test_defaults_and_their_ranges_are_usual() -> None:
    """No placeholder is asked about, nor either end of its range."""
    from woold.case.fields import facts_of, field_names, inner_section
    from woold.case.model import Case

    def look(model: Any) -> None:
        for name in field_names(model):
            inner = inner_section(model, name)
            if inner is not None:
                look(inner)
                continue
            facts, default = facts_of(model, name), model.model_fields[name].default
            if facts.usual is None:
                continue
            low, high = facts.usual
            for value in (facts.low, facts.high, default):
                if isinstance(value, float | int) and not isinstance(value, bool):
                    assert low - 1e-9 <= value <= high + 1e-9, f"{model.__name__}.{name}"

    look(Case)


@pytest.mark.parametrize(
    ("kind", "speed", "is_asked"),
    [
        ("turntable", "12 rpm", False),
        ("turntable", "30 rpm", True),
        ("rotary arm", "30 rpm", False),
        ("rotary arm", "60 rpm", True),
        ("ring", "60 rpm", False),
        ("ring", "4 rpm", True),
    ],
)
def test_how_fast_is_usual_depends_on_the_kind(
    table: Table, kind: str, speed: str, is_asked: bool
) -> None:
    table["machine"] |= {"kind": kind, "speed": speed}
    asked = [each == "machine.speed" for each in confirmed(table)]
    assert asked == [True] * is_asked


@pytest.mark.parametrize(("kind", "is_told"), [("turntable", True), ("ring", False)])
def test_only_a_load_that_turns_is_pushed(table: Table, kind: str, is_told: bool) -> None:
    """At 20 rpm the corner 0.781 m from the axis takes 3.43 m/s^2, 0.35 g: omega^2 r by hand."""
    table["machine"] |= {"kind": kind, "speed": "20 rpm"}
    codes = {each.code for each in predict(case_from_table(table)).findings}
    assert ("load_may_shift_turning" in codes) == is_told


UNIT_MEANT = [
    # A load is 1.5 m high and no roll 20 mm wide, whichever unit was typed last.
    ("load.height", "1500", "1500 mm"),
    ("load.height", 59, "59 in"),
    ("film.roll_width", "20", "20 in"),
    ("film.thickness", 63, "63 gauge"),
    ("film.thickness", "16", "16 um"),
]


@pytest.mark.parametrize(("field", "typed", "meant"), UNIT_MEANT)
def test_the_unit_that_is_offered_is_one_that_can_be_meant(
    table: Table, field: str, typed: object, meant: str
) -> None:
    section, name = field.split(".")
    table[section][name] = typed
    with pytest.raises(InputError) as caught:
        case_from_table(table)
    assert caught.value.problems[0].field == field
    assert f'"{meant}"' in caught.value.problems[0].todo


MORE_THAN_ONE = ["1.4-1.6 m", "1.4 to 1.6 m", "1.5 m ± 2 cm", "1.5 +/- 0.02 m", "1.2 m x 1.0 m"]


@pytest.mark.parametrize("typed", MORE_THAN_ONE)
def test_more_than_one_number_is_refused_as_such(table: Table, typed: str) -> None:
    table["load"]["height"] = typed
    with pytest.raises(InputError, match="more than one number: write one"):
        case_from_table(table)


def test_choices_are_read_however_they_are_cased_and_spaced(table: Table) -> None:
    table["machine"]["kind"] = "Rotary-Arm"
    table["transport"] = {"profiles": ["en12195-1 Road"], "supported": ["Forward"]}
    case = case_from_table(table)
    assert case.machine.kind == "rotary arm"
    assert case.transport is not None
    assert case.transport.profiles == ("EN 12195-1 road",)
    assert case.transport.supported == ("forward",)


def test_a_missing_entry_of_a_list_is_told_with_all_of_it(table: Table) -> None:
    table["load"]["offset"] = ["10 mm"]
    with pytest.raises(InputError) as caught:
        case_from_table(table)
    assert caught.value.problems[0].todo == 'Write all of them: offset = ["0 m", "0 m"].'


def test_a_word_that_is_no_choice_is_told_as_it_was_typed(table: Table) -> None:
    table["transport"] = {"profiles": ["EN 12195-1 road"], "supported": ["left"]}
    with pytest.raises(InputError) as caught:
        case_from_table(table)
    assert caught.value.problems[0].given == "left"


def test_an_acceleration_is_called_one(table: Table) -> None:
    table["transport"] = {"profiles": ["EUMOS 40509"], "acceleration": "0.5 m/s2"}
    with pytest.raises(InputError, match=r"That is an acceleration\. Write the number alone\."):
        case_from_table(table)


def test_a_hole_that_is_drilled_twice_is_refused(table: Table) -> None:
    table["dancer"] = DANCER | {"holes": ["140 mm", "140 mm"]}
    with pytest.raises(InputError, match="each of the holes once"):
        case_from_table(table)


def test_film_that_leaves_the_lower_half_bare_is_asked_about(table: Table) -> None:
    table["program"]["start_height"] = "0.9 m"
    with pytest.raises(InputError) as caught:
        case_from_table(table)
    assert isinstance(caught.value.problems[0], Question)
    assert "leaves all below it bare" in str(caught.value.problems[0])


def test_film_that_gives_before_it_flows_is_refused_with_units(table: Table) -> None:
    """Five times 9 and 2.4 MPa together are 57 MPa."""
    with pytest.raises(InputError, match=r"elastic_modulus 30 MPa; allowed: .* here 57 MPa"):
        case_from_table(typed(table, "film.elastic_modulus", "30 MPa"))


def test_film_that_is_drawn_before_the_rollers_and_tears_there_names_the_brake(
    table: Table,
) -> None:
    """10.16 um by 508 mm are 5.16 mm2; at a yield stress of 9 MPa no more than 46.4 N draw it."""
    table["film"]["thickness"] = "40 gauge"
    table["carriage"]["unwind_tension"] = "70 N"
    with pytest.raises(WooldError, match=r"carriage.unwind_tension: 70 N .*; allowed: at most the"):
        predict(case_from_table(table))
