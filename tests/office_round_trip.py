"""Sheets through a real office program and back; `make office` runs it, `make test` does not.

LibreOffice opens what the program wrote, saves it as each kind of file that is read, and what comes
back must be the same sheet; and what it saves of formulas, errors and merged cells must be told.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from filled_sheets import filled_book, save
from trial_makers import demo_setup
from woold.demo.wrapped_trial import written_worksheet
from woold.trial.plan import plan_trial
from woold.trial.reading import WrittenTrial, read_written

OFFICE = shutil.which("soffice") or shutil.which("libreoffice") or "soffice"
GERMAN = "csv:Text - txt - csv (StarCalc):59,34,76,1,,1031,false,true,false,false,false,{sheet}"
"""Semicolons, UTF-8, German numbers, one sheet: the program's own names of such a filter."""


_IN_GERMANY = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">
<value>de-DE</value></prop></item></oor:items>
"""


@pytest.fixture(scope="session")
def profile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A profile of its own, so that nobody's settings count."""
    return tmp_path_factory.mktemp("profile")


@pytest.fixture(scope="session")
def german(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The profile of somebody in Germany."""
    folder = tmp_path_factory.mktemp("german")
    (folder / "user").mkdir()
    (folder / "user" / "registrymodifications.xcu").write_text(_IN_GERMANY, encoding="utf-8")
    return folder


def converted(path: Path, kind: str, profile: Path, to: Path) -> Path:
    """The file as the office program saves it."""
    subprocess.run(
        [OFFICE, f"-env:UserInstallation=file://{profile}", "--headless", "--convert-to", kind,
         "--outdir", str(to), str(path)],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    suffix = kind.partition(":")[0]
    found = sorted(to.glob(f"{path.stem}*.{suffix}"))
    assert found, list(to.iterdir())
    return found[0]


def cells_of(written: WrittenTrial) -> dict[str, list[dict[str, Any]]]:
    """Everything that was read, without where it stood."""
    return {
        each.sheet.kind: [
            {name: cell.si if cell.si is not None else cell.typed
             for name, cell in row.cells.items()}
            for row in each.rows
        ]
        for each in written.sheets
    }  # fmt: skip


@pytest.mark.parametrize("way", [("ods",), ("xls",), ("xlsx",), ("ods", "xls", "xlsx")])
def test_a_filled_worksheet_comes_back_the_same(
    tmp_path: Path, profile: Path, way: tuple[str, ...]
) -> None:
    setup = demo_setup(tmp_path)
    path = tmp_path / "sheet.xlsx"
    path.write_bytes(written_worksheet(setup, plan_trial(setup.trial).order))
    before = read_written(path)
    for step, kind in enumerate(way):
        folder = tmp_path / str(step)
        folder.mkdir()
        path = converted(path, kind, profile, folder)
    after = read_written(path)
    assert after.problems == []
    assert after.trial == before.trial
    one, other = cells_of(before), cells_of(after)
    assert one.keys() == other.keys()
    for kind, rows in one.items():
        assert len(rows) == len(other[kind])
        for row, same in zip(rows, other[kind], strict=True):
            assert row.keys() == same.keys()
            for name, value in row.items():
                wanted = pytest.approx(value) if isinstance(value, float) else value
                assert same[name] == wanted


@pytest.mark.parametrize(("sheet", "kind"), [(2, "load"), (4, "pull")])
def test_a_sheet_saved_as_german_text_comes_back(
    tmp_path: Path, german: Path, sheet: int, kind: str
) -> None:
    """Decimal commas and semicolons as that program writes them."""
    book = filled_book()
    path = save(book, tmp_path / "sheet.xlsx")
    before = cells_of(read_written(path))[kind]
    text = converted(path, GERMAN.format(sheet=sheet), german, tmp_path)
    content = text.read_text(encoding="utf-8-sig")
    assert ";" in content
    assert "," in content
    after = read_written(text)
    assert after.problems == []
    assert "decimal mark" in after.read_as
    for row, same in zip(before, cells_of(after)[kind], strict=True):
        assert {name: pytest.approx(value) if isinstance(value, float) else value
                for name, value in row.items()} == same  # fmt: skip


@pytest.mark.parametrize("kind", ["ods", "xls", "xlsx"])
def test_what_it_saves_of_formulas_errors_and_merged_cells_is_told(
    tmp_path: Path, profile: Path, kind: str
) -> None:
    path = save(filled_book(), tmp_path / "plain.xlsx")
    book = openpyxl.load_workbook(path)
    page = book["Loads"]
    page["H4"], page["H5"], page["H6"] = "=180+12", "=NA()", "=1/0"
    page.merge_cells("B7:B8")
    page.row_dimensions[9].hidden = True
    book.save(tmp_path / "odd.xlsx")
    (tmp_path / "out").mkdir()
    written = read_written(converted(tmp_path / "odd.xlsx", kind, profile, tmp_path / "out"))
    told = {each.field: each.given for each in written.problems}
    assert set(told) >= {"Loads!H4", "Loads!H5", "Loads!H6", "Loads!B7:B8"}
    assert told["Loads!H4"] == "a formula"
    assert "#N/A" in told["Loads!H5"]
    assert "#DIV/0!" in told["Loads!H6"]
    assert any("hidden" in each for each in written.said)
