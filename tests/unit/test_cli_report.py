"""`woold report` as a user meets it: files, JSON, exit status, the same bytes again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pseudo_words import Done, captured
from woold.case.file import starter_text


def woold(*words: str, cwd: Path) -> Done:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(cwd)
        patch.setenv("COLUMNS", "80")
        patch.setenv("SOURCE_DATE_EPOCH", "1767225600")
        return captured("report", *words)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "case.toml").write_text(starter_text(), encoding="utf-8")
    return tmp_path


def test_sheet_writes_page_and_paper_and_says_so_in_json(folder: Path) -> None:
    done = woold("sheet", "case.toml", "--json", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert document["files"] == ["case-sheet.html", "case-sheet.pdf"]
    assert document["made_at"] == "2026-01-01T00:00:00+00:00"
    assert document["inputs"][0]["name"] == "case.toml"
    assert len(document["inputs"][0]["sha256"]) == 64
    assert "svg" not in json.dumps(document)
    paper = (folder / "case-sheet.pdf").read_bytes()
    page = (folder / "case-sheet.html").read_bytes()
    assert paper.startswith(b"%PDF-")
    assert page.startswith(b"<!doctype html>")
    again = woold("sheet", "case.toml", "--time", "2026-01-01T00:00Z", "--force", cwd=folder)
    assert again.returncode == 0
    assert (folder / "case-sheet.pdf").read_bytes() == paper
    assert (folder / "case-sheet.html").read_bytes() == page


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("sheet", "case.toml", "--out", "a.docx"), "--out: a.docx"),
        (("sheet", "case.toml", "--time", "noon"), "--time: 'noon'"),
        (("sheet", "case.toml", "--language", "xx"), "--language: xx"),
        (("sheet", "none.toml"), "none.toml"),
        (("trial", "no-such-trial", "--store", "none.db"), "no-such-trial"),
    ],
)
def test_bad_asks_end_with_2_and_write_nothing(
    folder: Path, words: tuple[str, ...], said: str
) -> None:
    done = woold(*words, cwd=folder)
    assert done.returncode == 2
    assert done.stdout == ""
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert not [*folder.glob("*.html"), *folder.glob("*.pdf"), *folder.glob("*.docx")]


def test_folder_that_is_not_there(folder: Path) -> None:
    done = woold("sheet", "case.toml", "--out", "missing/a.html", cwd=folder)
    assert done.returncode == 2
    assert "missing/a.html" in done.stderr
