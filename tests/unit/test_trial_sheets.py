"""Sheets out and in: what is printed, every bad cell named, all or nothing, no harm in repeats."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import python_calamine
import xlsxwriter

from woold.errors import InputError
from woold.store import Store
from woold.trial.correcting import CellCorrection, correct_cell
from woold.trial.export import export_trial
from woold.trial.importing import Imported, import_written
from woold.trial.plan import plan_trial
from woold.trial.reading import read_written
from woold.trial.records import planned_loads, trial_records
from woold.trial.setup import TrialSetup, trial_from_tables
from woold.trial.starting import start_trial
from woold.trial.table import load_table
from woold.trial.worksheet import TRIAL_SHEET, worksheet_bytes
from woold.words import speaking

Rows = list[list[Any]]
HEAD = "load,treatment,load_type,film_mass [g],turns"


@pytest.fixture
def started(store: Store, setup: TrialSetup) -> Store:
    """A store with the small trial, 12 loads of each treatment."""
    start_trial(store, setup, plan_trial(setup.trial, loads_per_treatment=12).order, "AB")
    return store


@pytest.fixture
def unplanned(store: Store, setup: TrialSetup) -> Store:
    """A store with the small trial, whose loads nobody planned."""
    start_trial(store, setup, (), "AB")
    return store


def changed(workbook: bytes, path: Path, change: Callable[[str, Rows], None]) -> Path:
    """The workbook with other cells, as someone would save it; "=..." becomes a formula."""
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(workbook))
    with xlsxwriter.Workbook(str(path)) as out:
        for title in book.sheet_names:
            rows = book.get_sheet_by_name(title).to_python(skip_empty_area=False)
            change(title, rows)
            page = out.add_worksheet(title)
            for row, line in enumerate(rows):
                for column, value in enumerate(line):
                    if isinstance(value, str) and value.startswith("="):
                        page.write_formula(row, column, value)
                    elif value != "":
                        page.write(row, column, value)
    return path


def filled(title: str, rows: Rows) -> None:
    """Plausible readings in the first 20 loads."""
    if title == "Loads":
        for index, row in enumerate(rows[2:22]):
            row[7], row[9], row[10] = 180 + index % 7 - 8 * (row[1] == "candidate"), 16, 140
    if title == "Pulls":
        for index, row in enumerate(rows[2:20]):
            row[1], row[3], row[4] = 250 + 500 * (index // 2 % 3), 30 + index % 5, 30


def sheet_of(store: Store, setup: TrialSetup) -> bytes:
    from woold.trial.records import planned_loads

    return worksheet_bytes(setup, planned_loads(store, setup.trial.key))


def take_in(store: Store, path: Path, **options: Any) -> Imported:
    return import_written(store, read_written(path), "AB", **options)


def problems_of(store: Store, path: Path, **options: Any) -> dict[str, str]:
    with pytest.raises(InputError) as caught:
        take_in(store, path, **options)
    assert store.current("line-1", "load") == []
    return {each.field: str(each) for each in caught.value.problems}


# --- Out ------------------------------------------------------------------------------------------


def test_workbook_holds_order_units_and_choices(started: Store, setup: TrialSetup) -> None:
    content = sheet_of(started, setup)
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
    assert book.sheet_names == ["Trial", "Loads", "Widths", "Pulls", "Gauges"]
    first = book.get_sheet_by_name("Trial").to_python(skip_empty_area=False)
    # The title, a line left free, and what the sheet is read by.
    assert [row[0] for row in first[:3]] == ["A trial", "", "trial"]
    loads = book.get_sheet_by_name("Loads").to_python()
    assert loads[0][:3] == ["load", "treatment", "load type"]
    assert loads[1][7] == "g"
    assert len(loads) == 2 + 24
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        text = archive.read("xl/worksheets/sheet2.xml").decode()
    assert '"g,kg,oz,lb"' in text
    assert '"baseline,candidate"' in text
    assert '"jars,cans"' in text
    assert "COUNTIF" in text


def test_a_sheet_colours_a_cell_as_far_off_as_the_reader_always_asks(setup: TrialSetup) -> None:
    """Two load types: 1.5 and 1.4 times its neighbours, times 2 and 1.6 for those less alike."""
    content = worksheet_bytes(setup, plan_trial(setup.trial, loads_per_treatment=4).order)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        loads, widths = (archive.read(f"xl/worksheets/sheet{n}.xml").decode() for n in (2, 3))
    assert "&gt;3*MEDIAN(" in loads
    assert "*3&lt;MEDIAN(" in loads
    assert "&gt;2.24*MEDIAN(" in widths


def test_text_of_the_trial_file_is_never_a_formula(trial_tables: dict[str, Any]) -> None:
    trial_tables["title"] = '=HYPERLINK("http://example.invalid","x")'
    setup = trial_from_tables(trial_tables, {})
    content = worksheet_bytes(setup, plan_trial(setup.trial, loads_per_treatment=4).order)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        cells = archive.read("xl/worksheets/sheet1.xml").decode()
    assert "<f>" not in cells


# --- In, as it should be --------------------------------------------------------------------------


def test_sheet_comes_back(started: Store, setup: TrialSetup, tmp_path: Path) -> None:
    path = changed(sheet_of(started, setup), tmp_path / "filled.xlsx", filled)
    done = take_in(started, path)
    assert done.added == {"load": 20, "pull": 18}
    assert done.unused > 0
    table = load_table(trial_records(started, "line-1"))
    assert table.film_mass[0] == pytest.approx(0.180, abs=0.01)
    first = started.current("line-1", "load")[0].cells["film_mass"]
    assert (first.unit, first.si) == ("g", pytest.approx(float(first.typed) / 1000))


def test_a_note_beside_the_facts_of_the_first_sheet_hides_none(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    """With one wider row every other of the sheet ends in an empty cell."""

    def noted(title: str, rows: Rows) -> None:
        filled(title, rows)
        if title == TRIAL_SHEET:
            rows[-1] += ["", "", "rain today"]

    path = changed(sheet_of(started, setup), tmp_path / "noted.xlsx", noted)
    assert read_written(path).trial == "line-1"
    assert take_in(started, path).added == {"load": 20, "pull": 18}


def test_the_same_sheet_again_changes_nothing(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    path = changed(sheet_of(started, setup), tmp_path / "filled.xlsx", filled)
    take_in(started, path)
    rows = len(list(started.history()))
    again = take_in(started, path)
    assert (again.file_known, again.added, again.known) == (True, {}, 38)
    # Saved anew, with another hash but the same cells.
    saved = changed(sheet_of(started, setup), tmp_path / "saved.xlsx", filled)
    saved.write_bytes(saved.read_bytes() + b"\0")
    assert take_in(started, saved).added == {}
    assert len(list(started.history())) == rows


def test_a_sheet_filled_in_further_completes_the_record(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    take_in(started, changed(sheet_of(started, setup), tmp_path / "a.xlsx", filled))

    def more(title: str, rows: Rows) -> None:
        filled(title, rows)
        if title == "Loads":
            rows[2][15] = "corner board"
            rows[22][7] = 181

    done = take_in(started, changed(sheet_of(started, setup), tmp_path / "b.xlsx", more))
    assert (done.completed, done.added) == (1, {"load": 1})


def test_a_changed_cell_is_asked_about_and_corrects_with_a_reason(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    take_in(started, changed(sheet_of(started, setup), tmp_path / "a.xlsx", filled))

    def other(title: str, rows: Rows) -> None:
        filled(title, rows)
        if title == "Loads":
            rows[2][7] = 190

    path = changed(sheet_of(started, setup), tmp_path / "b.xlsx", other)
    with pytest.raises(InputError, match=r"Loads!H3: 190 g; allowed: .* which is on record"):
        take_in(started, path)
    assert take_in(started, path, reason="scale read again").corrected == 1
    # The old sheet again: what it says was corrected since, so it changes nothing back.
    assert take_in(started, tmp_path / "a.xlsx").corrected == 0
    assert started.current("line-1", "load")[-1].cells["film_mass"].typed == "190"


def test_csv_with_units_in_its_head(unplanned: Store, tmp_path: Path) -> None:
    path = tmp_path / "loads.csv"
    path.write_text(f"{HEAD}\n101,Baseline,JARS,312,16\n102,candidate,cans,0.3 kg,16\n")
    assert take_in(unplanned, path, trial="line-1").added == {"load": 2}
    cells = [each.cells for each in unplanned.current("line-1", "load")]
    assert [c["film_mass"].si for c in cells] == pytest.approx([0.312, 0.3])
    assert [(c["treatment"].typed, c["load_type"].typed) for c in cells] == [
        ("baseline", "jars"),
        ("candidate", "cans"),
    ]
    semicolons = tmp_path / "more.csv"
    semicolons.write_text(f"\ufeff{HEAD.replace(',', ';')}\n103;baseline;jars;300;16\n")
    assert take_in(unplanned, semicolons, trial="line-1").added == {"load": 1}


# --- In, as it should not be ----------------------------------------------------------------------


def test_every_bad_cell_is_named_at_once_and_nothing_is_kept(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    def spoilt(title: str, rows: Rows) -> None:
        filled(title, rows)
        if title == "Loads":
            rows[2][7] = "1,312"
            rows[3][7] = "=A1*2"
            rows[4][7] = "heavy"
            rows[5][0] = rows[6][0]
            rows[7][1] = "basline"
            rows[8][2] = "tins"
            rows[9][13] = 1.5
            rows[10][7] = -5
            rows[11][11] = 100
            rows[12][9] = True
        if title == "Pulls":
            rows[2][3] = "x"
            rows[3][0] = 999
            rows[4][2] = "frnt"

    path = changed(sheet_of(started, setup), tmp_path / "bad.xlsx", spoilt)
    found = problems_of(started, path)
    for cell, words in {
        "Loads!H3": "whichever is meant",
        "Loads!H4": "a formula",
        "Loads!H5": "Start with a number",
        "Loads!A7": "it stands in Loads!A6",
        "Loads!B8": 'Did you mean "baseline"',
        "Loads!C9": "jars, cans",
        "Loads!N10": "a whole number",
        "Loads!H11": "Leave the cell empty",
        "Loads!M12": "both distances",
        "Loads!J13": "TRUE",
        "Pulls!D3": "'x'",
        "Pulls!A4": "load 999",
        "Pulls!C5": "front, right, back, left",
    }.items():
        assert words in found[cell], found[cell]


def test_swapped_treatments_are_asked_about(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    def swapped(title: str, rows: Rows) -> None:
        filled(title, rows)
        if title == "Loads":
            rows[2][1] = "candidate" if rows[2][1] == "baseline" else "baseline"

    path = changed(sheet_of(started, setup), tmp_path / "swapped.xlsx", swapped)
    found = problems_of(started, path)
    assert list(found) == ["Loads!B3"]
    assert "the plan says" in found["Loads!B3"]
    assert take_in(started, path, as_typed=["Loads!B3"]).added["load"] == 20


def test_grams_typed_as_kilograms_are_asked_about_by_the_mass_balance(
    store: Store, setup_with_cases: TrialSetup, tmp_path: Path
) -> None:
    """One load of 162 kg where the film's mass balance says 0.162 kg: asked about, not scaled."""
    start_trial(store, setup_with_cases, (), "AB")
    path = tmp_path / "loads.csv"
    path.write_text(f"{HEAD.replace('[g]', '[kg]')}\n1,baseline,jars,162,\n2,baseline,jars,0.16,\n")
    found = problems_of(store, path, trial="line-1")
    assert list(found) == ["loads.csv!D2"]
    assert "162 g would fit" in found["loads.csv!D2"]
    take_in(store, path, trial="line-1", as_typed=["loads.csv!D2"])
    assert store.current("line-1", "load")[0].cells["film_mass"].si == 162.0


def test_a_wrong_unit_of_a_column_is_one_question(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    def kilograms(title: str, rows: Rows) -> None:
        filled(title, rows)
        if title == "Loads":
            rows[1][7] = "kg"

    path = changed(sheet_of(started, setup), tmp_path / "kg.xlsx", kilograms)
    found = problems_of(started, path)
    assert list(found) == ["Loads!H2"]
    assert "20 of 20 values" in found["Loads!H2"]


def test_one_load_out_of_line_with_the_others_is_asked_about(
    unplanned: Store, tmp_path: Path
) -> None:
    path = tmp_path / "loads.csv"
    lines = [f"{100 + n},baseline,jars,{180 + n}," for n in range(6)] + ["110,baseline,jars,1810,"]
    path.write_text("\n".join([HEAD, *lines]) + "\n")
    found = problems_of(unplanned, path, trial="line-1")
    assert list(found) == ["loads.csv!D8"]
    assert "times the other loads" in found["loads.csv!D8"]


def test_missing_unit_unknown_unit_unknown_column(started: Store, tmp_path: Path) -> None:
    path = tmp_path / "loads.csv"
    path.write_text(
        "load,treatment,load_type,film_mass,wieght,tare [stone-age]\n1,baseline,jars,180,1,2\n"
    )
    found = problems_of(started, path, trial="line-1")
    assert "numbers without a unit: 1" in found["loads.csv!D1"]
    assert 'unknown column "wieght"' in found["loads.csv!E1"]
    assert "g, kg, oz, lb" in found["loads.csv!F1"]
    # One column without its unit is told at the column, where no other has one either.
    path.write_text("load,treatment,load_type,film_mass\n1,baseline,jars,180\n")
    assert list(problems_of(started, path, trial="line-1")) == ["loads.csv!D1"]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no sheet with known columns"),
        (b"a,b\n1,2\n", "no sheet with known columns"),
        (b"PK\x03\x04 no zip at all", "a damaged workbook"),
        (b"\x00\x01\x02", "no text"),
        (b"\xd0\xcf\x11\xe0 no workbook", "not readable"),
    ],
)
def test_files_that_are_something_else(
    started: Store, tmp_path: Path, content: bytes, words: str
) -> None:
    path = tmp_path / "file.xlsx"
    path.write_bytes(content)
    with pytest.raises(InputError, match=words):
        take_in(started, path, trial="line-1")


def test_a_file_that_is_not_there_and_a_trial_that_is_not_kept(
    store: Store, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=r"none\.xlsx"):
        read_written(tmp_path / "none.xlsx")
    path = tmp_path / "loads.csv"
    path.write_text(f"{HEAD}\n1,baseline,jars,180,\n")
    with pytest.raises(InputError, match="woold trial plan"):
        take_in(store, path, trial="other")


def test_a_workbook_that_unpacks_without_end_is_not_read(tmp_path: Path) -> None:
    """A declared size beyond any sheet is refused before anything is unpacked."""
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * 1000)
    raw = bytearray(path.read_bytes())
    place = raw.rfind(b"PK\x01\x02")
    raw[place + 24 : place + 28] = (4_000_000_000).to_bytes(4, "little")
    path.write_bytes(raw)
    with pytest.raises(InputError, match="unpacks to"):
        read_written(path)


_IMPORTER = """
import sys
from woold.errors import InputError
from woold.store import Store
from woold.trial.importing import import_written
from woold.trial.reading import read_written
try:
    done = import_written(Store(sys.argv[1]), read_written(sys.argv[2]), sys.argv[3], "line-1")
    print("added", sum(done.added.values()))
except InputError as error:
    print("refused", len(error.problems))
"""


def test_two_people_import_at_once(unplanned: Store, tmp_path: Path) -> None:
    """The same loads with other values from two desks: one is taken in, the other is refused."""
    for name, mass in (("AB", 180), ("CD", 190)):
        rows = [f"{n},baseline,jars,{mass + n % 5}," for n in range(101, 401)]
        (tmp_path / f"{name}.csv").write_text("\n".join([HEAD, *rows]) + "\n")
    url = str(tmp_path / "records.sqlite")
    people = [
        subprocess.Popen(
            [sys.executable, "-c", _IMPORTER, url, str(tmp_path / f"{name}.csv"), name],
            stdout=subprocess.PIPE,
            text=True,
        )
        for name in ("AB", "CD")
    ]
    said = sorted(person.communicate()[0].strip() for person in people)
    assert said == ["added 300", "refused 1"]
    loads = unplanned.current("line-1", "load")
    assert len(loads) == 300
    assert len({each.by for each in loads}) == 1


# --- After it is in -------------------------------------------------------------------------------


def test_corrections_and_loads_taken_out_show_in_the_analysis(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    from woold.trial.analysis import analyse

    take_in(started, changed(sheet_of(started, setup), tmp_path / "a.xlsx", filled))
    before = analyse(trial_records(started, "line-1"), resamples=1000)
    correct_cell(
        started, "line-1", CellCorrection("load", "1", "film mass", "0.2 kg", "misread"), "CD"
    )
    correct_cell(started, "line-1", CellCorrection("load", "2", None, "", "pallet broke"), "CD")
    after = analyse(trial_records(started, "line-1"), resamples=1000)
    assert (after.corrected_records, len(after.taken_out)) == (2, 1)
    assert after.taken_out[0].reason == "pallet broke"
    total = after.loads_baseline + after.loads_candidate
    assert total == before.loads_baseline + before.loads_candidate - 1
    assert after.records_sha256 != before.records_sha256


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("film_mass", "1,200 kg", "whichever is meant"),
        ("film_mass", "2 m", "length"),
        ("load", "7", "Choose one of them"),
        ("weight", "7", "Choose one of them"),
        ("treatment", "basline", "baseline, candidate"),
    ],
)
def test_corrections_that_cannot_be(
    started: Store, tmp_path: Path, field: str, value: str, words: str
) -> None:
    path = tmp_path / "loads.csv"
    path.write_text(f"{HEAD}\n1,baseline,jars,180,\n")
    started_trial = take_in(
        started, path, trial="line-1", as_typed=["loads.csv!B2", "loads.csv!C2"]
    )
    assert started_trial.added
    with pytest.raises(InputError, match=words):
        correct_cell(started, "line-1", CellCorrection("load", "1", field, value, "reason"), "AB")


def test_order_cannot_change_once_loads_are_wrapped(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    other = plan_trial(setup.trial, loads_per_treatment=16).order
    start_trial(started, setup, other, "AB", reason="more loads")
    take_in(started, changed(sheet_of(started, setup), tmp_path / "a.xlsx", filled))
    with pytest.raises(InputError, match="loads were wrapped"):
        start_trial(started, setup, plan_trial(setup.trial).order, "AB", reason="more loads")


def test_export_holds_everything_and_comes_back(
    started: Store, setup: TrialSetup, tmp_path: Path
) -> None:
    take_in(started, changed(sheet_of(started, setup), tmp_path / "a.xlsx", filled))
    correct_cell(
        started, "line-1", CellCorrection("load", "1", "film_mass", "7 oz", "misread"), "CD"
    )
    with (tmp_path / "all.zip").open("wb") as stream:
        counts = export_trial(started, "line-1", stream)
    assert counts["history"] == len(list(started.history("line-1")))
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        history = [json.loads(line) for line in archive.read("history.jsonl").splitlines()]
        loads = list(csv.DictReader(io.StringIO(archive.read("loads.csv").decode())))
        archive.extractall(tmp_path / "all")
    assert history[-1]["reason"] == "misread"
    assert history[-1]["cells"]["film_mass"][:2] == ["7", "oz"]
    assert len(loads) == 20
    other = Store(str(tmp_path / "other.sqlite"))
    start_trial(other, setup, plan_trial(setup.trial, loads_per_treatment=12).order, "AB")
    for name in ("loads", "pulls"):
        take_in(other, tmp_path / "all" / f"{name}.csv", trial="line-1")
    before, after = (load_table(trial_records(each, "line-1")) for each in (started, other))
    assert list(before.film_mass) == pytest.approx(list(after.film_mass))
    np.testing.assert_allclose(before.zones, after.zones)
    assert np.isfinite(before.zones).any()
    other.close()


def test_a_sheet_of_another_language_is_read(
    started: Store, setup: TrialSetup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Heads, sheet names and choices in German, written by hand in a catalogue of three words."""
    folder = tmp_path / "words"
    folder.mkdir()
    pairs = {"treatment": "Verfahren", "baseline": "bisher", "Loads": "Ladungen"}
    text = "".join(f'msgid "{key}"\nmsgstr "{said}"\n\n' for key, said in pairs.items())
    (folder / "xx.po").write_text(f'msgid ""\nmsgstr ""\n\n{text}', encoding="utf-8")
    monkeypatch.setenv("WOOLD_WORDS", str(folder))
    with speaking("xx"):
        content = worksheet_bytes(setup, planned_loads(started, "line-1"))
    path = tmp_path / "sheet.xlsx"
    path.write_bytes(content)
    written = read_written(path)
    assert not written.problems
    loads = next(each for each in written.sheets if each.sheet.kind == "load")
    assert loads.title == "Ladungen"
    assert {row.cells["treatment"].typed for row in loads.rows} == {"baseline", "candidate"}


def test_a_sheet_of_old_is_read(tmp_path: Path) -> None:
    """Treatments were called arms once."""
    path = tmp_path / "old.csv"
    path.write_text("load,arm,load_type,film_mass [g]\n1,candidate,jars,180\n", encoding="utf-8")
    written = read_written(path)
    assert not written.problems
    assert written.sheets[0].rows[0].cells["treatment"].typed == "candidate"
