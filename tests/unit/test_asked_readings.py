"""Every reading is asked about by one rule, wherever it is typed; limits worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from trial_tables import made_up
from woold.case.model import Case
from woold.errors import InputError, ManyCells, ManyQuestions, Problem, Question
from woold.prediction.predict import predict
from woold.store import Store
from woold.trial.alike import Against, Held, Manner, ReadingsAlike
from woold.trial.confirmed import Confirmed, grouped
from woold.trial.correcting import CellCorrection, correct_cell
from woold.trial.entry import Entry, take_entry
from woold.trial.hold_rows import rows_on_record
from woold.trial.importing import import_written
from woold.trial.odd_readings import quantities
from woold.trial.outlying import odd_readings_of_loads
from woold.trial.reading import read_written
from woold.trial.records import setup_of
from woold.trial.setup import TrialSetup
from woold.trial.starting import start_trial
from woold.trial.usual_readings import usual_readings
from woold.trial.written_readings import Context

MANNER = Manner(alike=1.3, largest=1.5, predicted=1.4, spread=0.03, looser=(2.0,), between=1.6)
KEY = "line-1"
HEAD = "load,treatment,load_type,film_mass [g]"


def alike(values: list[float], **more: Any) -> list[Held]:
    return [Held(value, None, ("jars", "all"), **more) for value in values]


# --- The rule -------------------------------------------------------------------------------------


def test_a_reading_is_held_against_the_middle_of_the_others() -> None:
    """Nine of 98 to 102: usual is 100/1.3 = 76.9 to 100*1.3 = 130."""
    readings = alike([98, 99, 99, 100, 100, 100, 101, 101, 102])
    usual = ReadingsAlike(readings, MANNER).usual(Held(140, None, ("jars", "all")), is_among=False)
    assert usual is not None
    assert (usual.middle, usual.low, usual.high) == pytest.approx((100, 76.923, 130), rel=1e-4)
    assert usual.against is Against.ALIKE


def test_a_wide_spread_widens_what_is_usual_up_to_a_limit() -> None:
    """ln deviations of 0.1: robust standard deviation 0.148, 4.5 of which are beyond ln 1.5."""
    wide = [100 * math.exp(each) for each in (-0.1, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1, 0.1, 0.0)]
    found = ReadingsAlike(alike(wide), MANNER)
    assert found.spread == pytest.approx(1.4826 * 0.1)
    assert found.reach == pytest.approx(math.log(1.5))
    # 0.06 of spread: 4.5 * 1.4826 * 0.045 = 0.300, between ln 1.3 = 0.262 and ln 1.5 = 0.405.
    less = [100 * math.exp(0.045 * (-1) ** n) for n in range(10)]
    assert ReadingsAlike(alike(less), MANNER).reach == pytest.approx(0.3002, abs=1e-3)


def test_one_that_is_far_off_does_not_hide_itself() -> None:
    """Among four, a tenfold one is held against the other three."""
    readings = alike([100, 101, 99, 1000])
    usual = ReadingsAlike(readings, MANNER).usual(readings[3])
    assert usual is not None
    assert usual.middle == pytest.approx(100)
    assert not usual.holds(1000)


def test_without_neighbours_the_prediction_counts_and_without_either_nothing_is_asked() -> None:
    lone = Held(139, 100.0, ("jars", "all"))
    usual = ReadingsAlike([lone], MANNER).usual(lone)
    assert usual is not None
    assert usual.against is Against.PREDICTED
    assert usual.holds(139)
    assert not usual.holds(141)
    nobody = Held(139, None, ("jars", "all"))
    assert ReadingsAlike([nobody], MANNER).usual(nobody) is None


def test_a_group_that_is_off_as_a_whole_is_none_to_hold_against() -> None:
    """Six readings of 150 where 100 is predicted: held against the prediction, unless confirmed."""
    six = [Held(150 + n, 100.0, ("jars", "all")) for n in range(6)]
    usual = ReadingsAlike(six, MANNER).usual(six[0])
    assert usual is not None
    assert usual.against is Against.PREDICTED
    assert not usual.holds(150)
    trusted = ReadingsAlike(six, MANNER, trusts_groups=True).usual(six[0])
    assert trusted is not None
    assert trusted.holds(150)


def test_what_is_on_record_outweighs_what_is_written_now() -> None:
    """Five on record at 100; nine new ones at 200 are all asked about."""
    kept = alike([99, 100, 100, 100, 101], is_new=False)
    new = alike([200.0] * 9)
    usual = ReadingsAlike([*kept, *new], MANNER).usual(new[0])
    assert usual is not None
    assert usual.against is Against.RECORD
    assert not usual.holds(200)


# --- Each quantity at its own limits --------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "alike_by", "predicted_by", "groups_by"),
    [
        ("film_mass", 1.3, 1.3, 1.6),
        ("turns", 1.3, 1.4, 1.8),
        ("cycle_time", 1.4, 2.5, 2.0),
        ("mark_after", 1.2, 1.4, 1.6),
        ("roll_length", 1.15, 1.3, 1.3),
        ("film_width", 1.2, 1.5, 1.5),
        ("force", 1.5, 2.5, 2.2),
        ("reading", 1.3, 2.0, 3.0),
    ],
)
def test_each_quantity_is_asked_about_from_its_own_factors(
    setup_with_cases: TrialSetup, name: str, alike_by: float, predicted_by: float, groups_by: float
) -> None:
    """From load to load, from the prediction, and of one load type from another.

    Nine alike that hardly differ: the least factor counts. Common practice, no source: some
    three times what the trade sees from load to load.
    """
    context = Context(setup_with_cases)
    manner = next(each.manner for each in quantities(context) if each.name == name)
    nine = alike([100.0 + 0.01 * n for n in range(9)])
    usual = ReadingsAlike(nine, manner).usual(Held(100, None, ("jars", "all")), is_among=False)
    assert usual is not None
    assert usual.high == pytest.approx(100.04 * alike_by, rel=1e-6)
    lone = Held(100.0, 100.0, ("jars", "all"))
    usual = ReadingsAlike([lone], manner).usual(lone)
    assert usual is not None
    assert (usual.low, usual.high) == pytest.approx((100 / predicted_by, 100 * predicted_by))
    for factor, is_asked in ((groups_by * 0.99, False), (groups_by * 1.01, True)):
        jars = [Held(100.0, None, ("jars", "all"))] * 6
        cans = [Held(100.0 * factor, None, ("cans", "all"))] * 6
        usual = ReadingsAlike([*jars, *cans], manner).usual(cans[0])
        assert usual is not None
        assert usual.holds(cans[0].value) is not is_asked


# --- Film mass from 1.3 times off -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("share", "is_asked"), [(1.28, False), (1.32, True), (0.79, False), (0.75, True)]
)
def test_film_mass_is_asked_about_from_1_3_times_the_mass_balance(
    store: Store, setup_with_cases: TrialSetup, case: Case, tmp_path: Path, share: float,
    is_asked: bool,
) -> None:  # fmt: skip
    start_trial(store, setup_with_cases, (), "AB")
    path = tmp_path / "loads.csv"
    mass = round(1000 * predict(case).film_mass_kg * share, 2)
    path.write_text(f"{HEAD}\n1,baseline,jars,{mass}\n")
    if not is_asked:
        assert import_written(store, read_written(path), "AB", KEY).added == {"load": 1}
        return
    with pytest.raises(InputError, match="times the film's mass balance; usual: about"):
        import_written(store, read_written(path), "AB", KEY)


@pytest.mark.parametrize(("loads", "are_many"), [(30, True), (50, False)])
def test_many_odd_readings_are_asked_about_as_one(
    store: Store, setup: TrialSetup, tmp_path: Path, loads: int, are_many: bool
) -> None:
    """Nine readings that are off by no unit's factor: a fifth of 30 is 6, of 50 it is 10."""
    start_trial(store, setup, (), "AB")
    odd = {3 * place + 2: factor for place, factor in enumerate((1.7, 2.3, 0.55, 1.9) * 3)}
    masses = [180 + load % 5 for load in range(1, loads + 1)]
    for load in list(odd)[:9]:
        masses[load - 1] *= odd[load]
    path = tmp_path / "loads.csv"
    lines = [f"{load},baseline,jars,{mass:.1f}" for load, mass in enumerate(masses, 1)]
    path.write_text("\n".join([HEAD, *lines]) + "\n")
    with pytest.raises(InputError) as raised:
        import_written(store, read_written(path), "AB", KEY)
    told = [str(each) for each in raised.value.problems]
    assert told
    assert all(("Is each in its own row and column" in each) == are_many for each in told)


@pytest.mark.parametrize(
    ("tare", "others", "is_asked"),
    [
        # Bags of 20 g: one of 200 g leaves 8 g of film where others leave 180 g to 184 g, and one
        # of 500 g leaves less than nothing.
        (200, 20, True),
        (500, 20, True),
        # 24 g, which leaves 4 g less of 180 g, is another bag.
        (24, 20, False),
        # Trays of 200 g, one taken for a bag.
        (20, 200, True),
    ],
)
def test_a_bag_unlike_the_others_is_asked_about(
    store: Store, setup: TrialSetup, tmp_path: Path, tare: int, others: int, is_asked: bool
) -> None:
    start_trial(store, setup, (), "AB")
    lines = [f"{load},baseline,jars,{180 + load % 5 + others},{others}" for load in range(1, 8)]
    # The last was weighed with a usual bag, but for the one that is right.
    lines.append(f"8,baseline,jars,{183 + (others if is_asked else tare)},{tare}")
    path = tmp_path / "loads.csv"
    path.write_text("\n".join([f"{HEAD},tare [g]", *lines]) + "\n")
    if not is_asked:
        assert import_written(store, read_written(path), "AB", KEY).added == {"load": 8}
        return
    with pytest.raises(InputError) as raised:
        import_written(store, read_written(path), "AB", KEY)
    (found,) = raised.value.problems
    assert found.field == "loads.csv!E9"
    assert f"about {others} g" in found.allowed
    # Ten times too much or too little is a slip that is known.
    assert (f"{others} g would fit" in found.todo) == (tare != 500)


@pytest.mark.parametrize(
    ("again", "is_asked"),
    [
        # Load 3 was kept for a day and read again as a whole.
        ((("250", "1440"), ("750", "1440")), False),
        # One of its readings is ten times as old as any.
        ((("1250", "300"),), True),
    ],
)
def test_a_load_that_was_kept_may_be_read_again(
    store: Store,
    setup: TrialSetup,
    tmp_path: Path,
    again: tuple[tuple[str, str], ...],
    is_asked: bool,
) -> None:
    start_trial(store, setup, (), "AB")
    loads = tmp_path / "loads.csv"
    loads.write_text("\n".join([HEAD, *(f"{load},baseline,jars,18{load}" for load in range(1, 7))]))
    import_written(store, read_written(loads), "AB", KEY)
    lines = [f"{load},{at},front,30,30" for load in range(1, 7) for at in (250, 750)]
    lines += [f"3,{at},right,30,{age}" for at, age in again]
    pulls = tmp_path / "pulls.csv"
    pulls.write_text("\n".join(["load,height [mm],side,force [N],age [min]", *lines]) + "\n")
    if not is_asked:
        assert import_written(store, read_written(pulls), "AB", KEY).added == {"pull": 14}
        return
    with pytest.raises(InputError) as raised:
        import_written(store, read_written(pulls), "AB", KEY)
    assert "pulls.csv!E14" in {each.field for each in raised.value.problems}


# --- One rule for file, terminal, page and phone --------------------------------------------------


def record_of(store: Store, tmp_path: Path) -> None:
    """Eight loads with pulls on record."""
    loads = tmp_path / "loads.csv"
    lines = [f"{n},baseline,jars,{180 + n % 5}" for n in range(1, 9)]
    loads.write_text("\n".join([HEAD, *lines]) + "\n")
    import_written(store, read_written(loads), "AB", KEY)
    pulls = tmp_path / "pulls.csv"
    lines = [f"{n},250,{side},{29 + n % 3},30" for n in range(1, 9) for side in ("front", "right")]
    head = "load,height [mm],side,force [N],age [min]"
    pulls.write_text("\n".join([head, *lines]) + "\n")
    import_written(store, read_written(pulls), "AB", KEY)


def test_file_phone_and_correction_ask_the_same(
    store: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    """A pull of 298 N for 29.8: the same words, whoever is asked."""
    start_trial(store, setup, (), "AB")
    record_of(store, tmp_path)
    loads, pulls = tmp_path / "more.csv", tmp_path / "more-pulls.csv"
    loads.write_text(f"{HEAD}\n9,baseline,jars,181\n")
    import_written(store, read_written(loads), "AB", KEY)
    pulls.write_text("load,height [mm],side,force [N],age [min]\n9,250,front,298,30\n")
    told = []
    with pytest.raises(InputError) as by_file:
        import_written(store, read_written(pulls), "AB", KEY)
    told.append(by_file.value.problems[0])
    row = {"load": ("9", ""), "height": ("250", "mm"), "side": ("front", ""), "force": ("298", "N"),
           "age": ("30", "min")}  # fmt: skip
    load = {"load": ("9", ""), "treatment": ("baseline", ""), "load_type": ("jars", "")}
    entry = Entry("entry-0001", {"load": [load], "pull": [row]}, as_typed=["load.load"])
    with pytest.raises(InputError) as by_phone:
        take_entry(store, KEY, entry, "AB")
    told.append(by_phone.value.problems[0])
    with pytest.raises(InputError) as by_correction:
        correct_cell(
            store, KEY, CellCorrection("pull", "1|250|front|1800", "force", "298 N", "x"), "AB"
        )
    told.append(by_correction.value.problems[0])
    assert [each.field for each in told] == ["more-pulls.csv!D2", "pull[0].force", "force"]
    assert {(each.given, each.allowed, each.todo) for each in told} == {
        (
            "298 N, 9.93 times those on record",
            "about 30 N (6.74 lbf)",
            "29.8 N would fit. Is it right, and in the right unit?",
        )
    }
    assert all(type(each) is Question for each in told)
    confirmed = CellCorrection("pull", "1|250|front|1800", "force", "298 N", "x", ("force",))
    correct_cell(store, KEY, confirmed, "AB")


def test_a_correction_is_held_against_the_plan(
    store: Store, tmp_path: Path, setup: TrialSetup
) -> None:
    from woold.trial.plan import plan_trial

    order = plan_trial(setup.trial, loads_per_treatment=4).order
    start_trial(store, setup, order, "AB")
    first = order[0]
    path = tmp_path / "a.csv"
    path.write_text(f"{HEAD}\n1,{first.treatment},{first.load_type},181\n")
    import_written(store, read_written(path), "AB", KEY)
    other = "candidate" if first.treatment == "baseline" else "baseline"
    with pytest.raises(InputError, match="where the plan says"):
        correct_cell(store, KEY, CellCorrection("load", "01", "treatment", other, "slip"), "AB")


def test_what_is_on_record_with_the_same_value_is_not_asked_again(
    store: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    start_trial(store, setup, (), "AB")
    lines = [f"{n},baseline,jars,{180 + n % 5}" for n in range(1, 7)] + ["7,baseline,jars,260"]
    path = tmp_path / "a.csv"
    path.write_text("\n".join([HEAD, *lines]) + "\n")
    with pytest.raises(InputError, match="times the other loads"):
        import_written(store, read_written(path), "AB", KEY)
    import_written(store, read_written(path), "AB", KEY, as_typed=["a.csv!D8"])
    path.write_text("\n".join([HEAD, *lines, "8,baseline,jars,182"]) + "\n")
    assert import_written(store, read_written(path), "AB", KEY).added == {"load": 1}


def test_a_confirmed_column_still_asks_about_a_single_slip(
    store: Store, setup_with_cases: TrialSetup, tmp_path: Path
) -> None:
    """All masses are half as large again as the case says; one is ten times the others besides."""
    start_trial(store, setup_with_cases, (), "AB")
    path = tmp_path / "a.csv"
    lines = [f"{n},baseline,jars,{240 + n}" for n in range(1, 8)] + ["8,baseline,jars,2440"]
    path.write_text("\n".join([HEAD, *lines]) + "\n")
    with pytest.raises(InputError, match=r"a\.csv!D1: g: 8 of 8 values"):
        import_written(store, read_written(path), "AB", KEY)
    with pytest.raises(InputError) as caught:
        import_written(store, read_written(path), "AB", KEY, as_typed=["a.csv!D1"])
    (problem,) = caught.value.problems
    assert problem.field == "a.csv!D9"
    assert "244 g would fit" in problem.todo


def test_the_form_shows_beforehand_what_is_usual(
    store: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    """Film of 180 to 184 g, middle 182: asked about outside of 182/1.3 = 140 to 182*1.3 = 237 g."""
    start_trial(store, setup, (), "AB")
    record_of(store, tmp_path)
    found = usual_readings(setup_of(store, KEY), rows_on_record(store, KEY))
    low, high = found["jars"]["baseline"]["load.film_mass"]
    assert (low, high) == pytest.approx((0.140, 0.2366), rel=0.005)
    assert found["jars"]["baseline"]["pull.force.0"][0] < 25.0
    assert "load.film_mass" not in found["cans"]["baseline"]


# --- Confirmed cells, and problems of one cause ---------------------------------------------------


@pytest.mark.parametrize(
    ("names", "inside", "outside"),
    [
        (["Loads!F12"], "Loads!F12", "Loads!F13"),
        (["Pulls!D3:D14, D20"], "Pulls!D20", "Pulls!D15"),
        (["Loads!B2:C3"], "Loads!C2", "Loads!D2"),
        (["Tabelle 1!A1!B2"], "Tabelle 1!A1!B2", "A1!B2"),
        (["load.film_mass"], "load.film_mass", "load.tare"),
        (["Loads!A1:XFD9999999"], "Loads!A1:XFD9999999", "Loads!A1"),
    ],
)
def test_confirmed_cells(names: list[str], inside: str, outside: str) -> None:
    confirmed = Confirmed(names)
    assert inside in confirmed
    assert outside not in confirmed


def test_one_cause_is_one_message_and_the_sheet_comes_before_its_cells() -> None:
    cells = [Problem(f"Loads!H{row}", "'x'", "a number", "Type it.") for row in (5, 3, 4, 9)]
    asked = [Question(f"Loads!J{row}", f"{row} s", "usual", "Right?") for row in (3, 4, 5)]
    sheet = Problem("Loads", "no column", "a column")
    first, second, third = grouped([*cells, *asked, sheet])
    assert first is sheet
    assert isinstance(second, ManyCells)
    assert (second.field, second.count) == ("Loads!H3:H5, H9", 4)
    assert str(second) == "'x'; allowed: a number. Type it. Cells (4): Loads!H3:H5, H9."
    assert isinstance(third, ManyQuestions)
    assert "--as-typed 'Loads!J3:J5'" in str(third)
    # Scattered over a column: the area that holds them, which confirms them as well.
    (wide,) = grouped(replace(cells[0], field=f"Loads!H{row}") for row in range(3, 99, 2))
    assert (wide.field, wide.count) == ("Loads!H3:H97", 48)
    # Two are told apart: each may be another slip.
    assert len(grouped(cells[:2])) == 2


# --- Loads whose readings stand apart -------------------------------------------------------------


@pytest.mark.parametrize(("quantity", "zone"), [("pull", "middle"), ("time", "")])
def test_a_load_with_an_odd_reading_is_named(quantity: str, zone: str) -> None:
    """Load 8 reads half as much again as the others, whose spread is 6 % of pulls, 2 % of time."""
    table = made_up(np.random.default_rng(5))
    values = table.zones[:, 1] if quantity == "pull" else table.cycle_time
    expected = float(np.median(values))
    values[7] *= 1.5
    found = odd_readings_of_loads(table)[0]
    assert (found.load, found.quantity, found.zone) == ("8", quantity, zone)
    assert found.value == values[7]
    # The load itself is one of the four of its block, from which it is expected.
    assert expected < found.expected < 1.25 * expected
    assert found.p < 0.01


def test_clean_trials_are_rarely_accused() -> None:
    """At most 5 % of clean trials; 200 of them: more than 18 would have a chance below 1 in 100
    (binomial)."""
    accused = sum(
        bool(odd_readings_of_loads(made_up(np.random.default_rng(seed)))) for seed in range(200)
    )
    assert accused <= 18


# --- Rolls and gauges -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "cell", "value", "fits"),
    [
        ("roll_mass", "D", "161", "16.1 kg would fit"),
        ("roll_length", "E", "200", "2000 m would fit"),
        ("roll_mass", "D", "35.5", "35.5 lb would fit"),
    ],
)
def test_a_roll_is_held_against_the_others(
    store: Store, setup: TrialSetup, tmp_path: Path, name: str, cell: str, value: str, fits: str
) -> None:
    """Eight rolls of about 16.1 kg and 2000 m; 16.1 kg is 35.5 lb."""
    start_trial(store, setup, (), "AB")
    path = tmp_path / "loads.csv"
    rows = [[str(n), "baseline", "jars", f"{16.0 + 0.05 * (n % 4)}", "2000", "181"]
            for n in range(1, 9)]  # fmt: skip
    rows[4][3 if name == "roll_mass" else 4] = value
    head = "load,treatment,load_type,roll_mass [kg],roll_length [m],film_mass [g]"
    path.write_text("\n".join([head, *(",".join(row) for row in rows)]) + "\n")
    with pytest.raises(InputError) as caught:
        import_written(store, read_written(path), "AB", KEY)
    (problem,) = caught.value.problems
    assert problem.field == f"loads.csv!{cell}6"
    assert fits in problem.todo


def test_a_reading_of_a_gauge_study_is_held_against_its_part(
    store: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    start_trial(store, setup, (), "AB")
    path = tmp_path / "gauges.csv"
    rows = [f"pull gauge,{part},{who},{n},{20 * part + n}" for part in (1, 2, 3)
            for who in ("AB", "CD") for n in (1, 2, 3)]  # fmt: skip
    rows[7] = rows[7].replace(",42", ",420")
    path.write_text("\n".join(["gauge,part,person,repeat,reading", *rows]) + "\n")
    with pytest.raises(InputError) as caught:
        import_written(store, read_written(path), "AB", KEY)
    (problem,) = caught.value.problems
    assert (problem.field, "42 would fit" in problem.todo) == ("gauges.csv!E9", True)
