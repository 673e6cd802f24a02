"""Loads wrapped twice, abandoned, or outside of the plan: nothing counts twice, nothing is lost."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

from woold.errors import InputError
from woold.store import Store
from woold.trial.compare import break_rates
from woold.trial.entry import Entry, take_entry
from woold.trial.export import export_trial
from woold.trial.importing import Imported, import_written
from woold.trial.load_names import load_key
from woold.trial.load_order import PlannedLoad
from woold.trial.plan_findings import plan_findings
from woold.trial.reading import read_written
from woold.trial.records import trial_records
from woold.trial.setup import TrialSetup
from woold.trial.starting import start_trial
from woold.trial.table import load_table
from woold.trial.unsent import take_unsent

HEAD = "load,treatment,load_type,film_mass [g],breaks,attempt,reason"
KEY = "line-1"


@pytest.fixture
def planned(store: Store, setup: TrialSetup) -> Store:
    """A store with a trial of 24 planned loads, jars, in turn baseline and candidate."""
    order = tuple(
        PlannedLoad(n, str((n + 3) // 4), "day", "", ("baseline", "candidate")[n % 2], "jars")
        for n in range(1, 25)
    )
    start_trial(store, setup, order, "AB")
    return store


def of(number: int) -> str:
    return ("baseline", "candidate")[number % 2]


def take(store: Store, path: Path, lines: list[str], **options: Any) -> Imported:
    path.write_text("\n".join([HEAD, *lines]) + "\n")
    return import_written(store, read_written(path), "AB", KEY, **options)


@pytest.mark.parametrize("typed", ["7", "7.0", "07", " 7", "7.", "７", "+7"])
def test_a_number_is_one_load_however_it_is_written(typed: str) -> None:
    assert load_key(typed) == "7"


@pytest.mark.parametrize("typed", ["7a", "7.5", "spare 7", "-7", "7/2"])
def test_other_names_are_other_loads(typed: str) -> None:
    assert load_key(typed) != "7"
    assert load_key(typed.upper()) == load_key(typed)


def test_the_same_load_by_another_spelling_is_on_record_already(
    planned: Store, tmp_path: Path
) -> None:
    take(planned, tmp_path / "a.csv", ["1,candidate,jars,180,0,,"])
    done = take(planned, tmp_path / "b.csv", ["01.0,candidate,jars,180,0,,"])
    assert (done.added, done.known) == ({}, 1)
    with pytest.raises(InputError, match=r"load 01 again.*it stands in c\.csv!A2"):
        take(planned, tmp_path / "c.csv", ["1,candidate,jars,180,0,,", "01,candidate,jars,181,0,,"])


def test_a_load_that_is_not_planned_is_asked_about_and_then_said(
    planned: Store, tmp_path: Path
) -> None:
    line = ["99,baseline,jars,180,0,,"]
    with pytest.raises(InputError, match="load 99, which is not planned") as caught:
        take(planned, tmp_path / "a.csv", line)
    assert "--as-typed 'a.csv!A2'" in str(caught.value)
    take(planned, tmp_path / "a.csv", line, as_typed=["a.csv!A2"])
    (finding,) = plan_findings(trial_records(planned, KEY))
    assert (finding.code, "99" in finding.message) == ("loads_not_planned", True)
    # It is on record now: nobody asks again.
    assert take(planned, tmp_path / "b.csv", [*line, ",,,,,,"]).known == 1


def test_another_treatment_than_planned_is_asked_about_and_then_said(
    planned: Store, tmp_path: Path
) -> None:
    line = ["2,candidate,cans,180,0,,"]
    with pytest.raises(InputError) as caught:
        take(planned, tmp_path / "a.csv", line)
    assert [each.field for each in caught.value.problems] == ["a.csv!B2", "a.csv!C2"]
    take(planned, tmp_path / "a.csv", line, as_typed=["a.csv!B2:C2"])
    (finding,) = plan_findings(trial_records(planned, KEY))
    assert finding.code == "loads_not_as_planned"


def test_the_repeat_counts_and_the_first_wrap_is_kept(planned: Store, tmp_path: Path) -> None:
    """Two rows of load 3 in one sheet: film 1 break, torn; wrapped again with 181 g."""
    lines = [f"{n},{of(n)},jars,{180 + n},0,," for n in range(1, 7) if n != 3]
    lines += ["3,candidate,jars,120,1,,", "3,candidate,jars,181,0,repeat,film tore"]
    done = take(planned, tmp_path / "a.csv", lines, as_typed=["a.csv!D7"])
    assert done.added == {"load": 6, "attempt": 1}
    records = trial_records(planned, KEY)
    (aside,) = records.attempts
    assert (aside.cells["film_mass"].typed, aside.cells["reason"].typed) == ("120", "film tore")
    table = load_table(records)
    assert table.film_mass[list(table.numbers).index("3")] == pytest.approx(0.181)
    found = break_rates(table)
    assert found is not None
    # Seven wraps, one break, of a load whose first wrap does not count for film.
    assert (found.baseline_loads + found.candidate_loads, found.candidate_breaks) == (7, 1)
    again = take(planned, tmp_path / "b.csv", [*lines, "7,candidate,jars,182,0,,"],
                 as_typed=["b.csv!D7"])  # fmt: skip
    assert again.added == {"load": 1}


def test_wraps_that_do_not_count_are_exported_and_come_back(
    planned: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    lines = ["3,candidate,jars,150,1,,", "3,candidate,jars,181,0,repeat,film tore",
             "4,baseline,jars,,2,abandoned,fell over", "5,candidate,jars,182,0,,"]  # fmt: skip
    take(planned, tmp_path / "a.csv", lines)
    with (tmp_path / "all.zip").open("wb") as stream:
        export_trial(planned, KEY, stream)
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        archive.extract("loads.csv", tmp_path)
    other = Store(str(tmp_path / "other.sqlite"))
    start_trial(other, setup, trial_records(planned, KEY).planned, "AB")
    import_written(other, read_written(tmp_path / "loads.csv"), "AB", KEY)
    one, two = (trial_records(each, KEY) for each in (planned, other))
    other.close()
    assert [each.key for each in two.attempts] == ["3|1", "4|1"]
    assert {each.key for each in two.loads} == {each.key for each in one.loads} == {"3", "5"}
    assert break_rates(load_table(one)) == break_rates(load_table(two))


def test_a_repeat_takes_what_is_on_record_of_the_first_wrap_aside(
    planned: Store, tmp_path: Path
) -> None:
    take(planned, tmp_path / "a.csv", ["4,baseline,jars,150,2,,"])
    pulls = tmp_path / "pulls.csv"
    pulls.write_text("load,height [mm],side,force [N],age [min]\n"
                     "4,250,front,30,30\n4,750,front,28,30\n")  # fmt: skip
    import_written(planned, read_written(pulls), "AB", KEY)
    done = take(planned, tmp_path / "b.csv", ["4,baseline,jars,182,0,repeat,wrong recipe"])
    assert done.set_aside == 2
    records = trial_records(planned, KEY)
    assert [each.cells["film_mass"].typed for each in records.loads] == ["182"]
    assert [each.cells["film_mass"].typed for each in records.attempts] == ["150"]
    assert records.pulls == ()
    assert all("wrong recipe" in each.reason for each in records.void)
    # The same sheet again, and saved anew with an empty line, changes nothing.
    rows = len(list(planned.history(KEY)))
    assert take(planned, tmp_path / "b.csv", ["4,baseline,jars,182,0,repeat,wrong recipe"]).known
    take(planned, tmp_path / "d.csv", ["4,baseline,jars,182,0,repeat,wrong recipe", ",,,,,,"])
    assert len(list(planned.history(KEY))) == rows
    # Pulls of the repeat, at the same places, count.
    pulls.write_text("load,height [mm],side,force [N],age [min]\n4,250,front,33,30\n")
    import_written(planned, read_written(pulls), "AB", KEY, reason="of the repeat")
    assert [each.cells["force"].typed for each in trial_records(planned, KEY).pulls] == ["33"]


def test_a_sheet_with_both_wraps_writes_the_first_aside_once(
    planned: Store, tmp_path: Path
) -> None:
    """The same sheet, filled in further: its first wrap is on record, and stands there again."""
    take(planned, tmp_path / "a.csv", ["4,baseline,jars,150,2,,"])
    lines = ["4,baseline,jars,150,2,,", "4,baseline,jars,182,0,repeat,wrong recipe"]
    for _ in range(2):
        take(planned, tmp_path / "b.csv", lines)
        records = trial_records(planned, KEY)
        assert [each.cells["film_mass"].typed for each in records.loads] == ["182"]
        assert [each.cells["film_mass"].typed for each in records.attempts] == ["150"]


def test_an_abandoned_load_does_not_count_and_its_breaks_do(planned: Store, tmp_path: Path) -> None:
    lines = [f"{n},{of(n)},jars,{180 + n},0,," for n in range(1, 5)]
    lines.append("5,candidate,jars,,1,abandoned,film broke at the corner")
    done = take(planned, tmp_path / "a.csv", lines)
    assert done.added == {"load": 4, "attempt": 1}
    table = load_table(trial_records(planned, KEY))
    assert "5" not in table.numbers
    found = break_rates(table)
    assert found is not None
    assert (found.candidate_breaks, found.candidate_loads) == (1, 3)
    # Wrapped after all, a day later.
    take(planned, tmp_path / "b.csv", ["5,candidate,jars,185,0,repeat,film broke at the corner"])
    assert "5" in load_table(trial_records(planned, KEY)).numbers


def test_a_load_on_record_that_is_said_to_be_abandoned_is_taken_out(
    planned: Store, tmp_path: Path
) -> None:
    take(planned, tmp_path / "a.csv", ["1,candidate,jars,180,0,,", "2,baseline,jars,190,1,,"])
    take(planned, tmp_path / "b.csv", ["2,baseline,jars,190,1,abandoned,tipped over"])
    records = trial_records(planned, KEY)
    assert [each.key for each in records.loads] == ["1"]
    assert "tipped over" in records.void[0].reason
    assert len(records.attempts) == 1
    assert take(planned, tmp_path / "c.csv", ["2,baseline,jars,190,1,abandoned,tipped over", ""])
    assert len(trial_records(planned, KEY).attempts) == 1


@pytest.mark.parametrize("attempt", ["repeat", "abandoned"])
def test_neither_goes_without_a_reason(planned: Store, tmp_path: Path, attempt: str) -> None:
    with pytest.raises(InputError, match=f"{attempt}, without a reason"):
        take(planned, tmp_path / "a.csv", [f"1,candidate,jars,180,0,{attempt},"])


def test_rows_with_a_bag_or_breaks_filled_down_are_no_loads(planned: Store, tmp_path: Path) -> None:
    """They halved a break rate: 6 loads with 2 breaks, and 6 more rows with 0 filled down."""
    path = tmp_path / "a.csv"
    head = "load,treatment,load_type,film_mass [g],tare [g],breaks,cycle_time [s]"
    lines = [f"{n},{of(n)},jars,{192 + n},12,{int(n in (1, 2))},140" for n in range(1, 7)]
    lines += [f"{n},{of(n)},jars,,12,0,140" for n in range(7, 13)]
    path.write_text("\n".join([head, *lines]) + "\n")
    done = import_written(planned, read_written(path), "AB", KEY)
    assert (done.added, done.unused) == ({"load": 6}, 6)
    assert any("filled down" in each for each in done.said)
    found = break_rates(load_table(trial_records(planned, KEY)))
    assert found is not None
    assert found.baseline_per_100 == pytest.approx(100 / 3)


def test_a_phone_writes_a_repeat_down(planned: Store) -> None:
    def send(number: int, mass: str, **more: str) -> Imported:
        load = {"load": ("3", ""), "treatment": ("candidate", ""), "load_type": ("jars", "")}
        load |= {"film_mass": (mass, "g")} | {name: (text, "") for name, text in more.items()}
        return take_entry(planned, KEY, Entry(f"entry-{number:04d}", {"load": [load]}), "AB")

    send(1, "150")
    with pytest.raises(InputError, match="which is on record"):
        send(2, "181")
    assert send(3, "181", attempt="repeat", reason="film tore").corrected == 1
    records = trial_records(planned, KEY)
    assert [each.cells["film_mass"].typed for each in records.loads] == ["181"]
    assert [each.cells["film_mass"].typed for each in records.attempts] == ["150"]


@pytest.mark.parametrize(("letters", "is_a_file"), [(32, True), (33, False)])
def test_what_a_phone_could_not_send_names_units_of_32_letters_at_most(
    planned: Store, letters: int, is_a_file: bool
) -> None:
    """Of 32 letters it is judged with its cell; with more the file is none of a phone's."""
    cell = {"film_mass": {"typed": "200", "unit": "g" * letters}}
    entry = {"id": "entry-0003", "trial": KEY, "body": {"load": cell}}
    content = json.dumps({"schema": "entries-not-sent", "entries": [entry]}).encode()
    if is_a_file:
        done = take_unsent(planned, content, "AB")
        assert (done.taken, len(done.refused) > 0) == (0, True)
    else:
        with pytest.raises(InputError):
            take_unsent(planned, content, "AB")
