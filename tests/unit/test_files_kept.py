"""No command writes over a file unless it is told to, and none leaves half of one."""

from __future__ import annotations

import itertools
import os
import stat
from pathlib import Path

import pytest

from pseudo_words import captured, commands
from woold.case.file import starter_text
from woold.cli.files import new_file, write_file
from woold.demo.scenario import STEPS
from woold.errors import InputError

MINE = b"somebody's own work"
_OPTIONS = ("--plot", "--page", "--out", "--form")
_OWNS_ITS_FOLDER = {("demo",)}
_WRITES = {
    " ".join(step.arguments[:2]) + f" {name}": (step.arguments, name)
    for step in STEPS
    for option, name in itertools.pairwise(step.arguments)
    if option in (*_OPTIONS, "new")
}
_BY_DEFAULT = {
    "report prediction": "today-report.pdf",
    "report sheet": "today-sheet.html",
    "report carriages": "today-candidate-report.html",
    "report trial": "invented-line-1-report.pdf",
}


def _names(folder: Path) -> set[str]:
    return {each.name for each in folder.iterdir()}


@pytest.mark.parametrize("what", _WRITES)
def test_a_file_that_exists_is_kept(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Refused before anything is read, so that nobody waits for a refusal."""
    words, name = _WRITES[what]
    monkeypatch.chdir(tmp_path)
    (tmp_path / name).write_bytes(MINE)
    status, out, errors = captured(*words)
    assert status == 2, errors
    assert out == ""
    assert name in errors
    assert "--force" in errors
    assert len(errors.splitlines()) == 1
    assert (tmp_path / name).read_bytes() == MINE
    assert _names(tmp_path) == {name}


@pytest.mark.parametrize("what", _BY_DEFAULT)
def test_a_report_of_the_usual_name_is_kept(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = next(step.arguments for step in STEPS if " ".join(step.arguments[:2]) == what)
    monkeypatch.chdir(tmp_path)
    for name in ("today.toml", "candidate.toml"):
        (tmp_path / name).write_text(starter_text(), encoding="utf-8")
    (tmp_path / _BY_DEFAULT[what]).write_bytes(MINE)
    before = _names(tmp_path)
    status, _, errors = captured(*words)
    assert status == 2
    assert _BY_DEFAULT[what] in errors
    assert (tmp_path / _BY_DEFAULT[what]).read_bytes() == MINE
    assert _names(tmp_path) == before


def test_every_command_that_writes_a_file_can_be_told_to_replace_it() -> None:
    every = commands()
    groups = {words[:-1] for words in every if words}
    found = set()
    for words in set(every) - groups - _OWNS_ITS_FOLDER:
        options = captured(*words, "--help")[1]
        if words[-1] == "new" or any(f"{option} " in options for option in _OPTIONS):
            assert "--force" in options, words
            found.add(words)
    assert {("predict",), ("report", "sheet"), ("trial", "export"), ("watch", "loads")} <= found


def test_forced_it_is_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("case.toml", "plot.svg", "case.schema.json"):
        (tmp_path / name).write_bytes(MINE)
    assert captured("case", "new", "case.toml")[0] == 2
    assert captured("case", "new", "case.toml", "--force")[0] == 0
    assert (tmp_path / "case.toml").read_bytes() != MINE
    assert (tmp_path / "case.schema.json").read_bytes().startswith(b"{")
    assert captured("carriage", "show", "case.toml", "--plot", "plot.svg", "--force")[0] == 0
    assert b"<svg" in (tmp_path / "plot.svg").read_bytes()
    assert _names(tmp_path) == {"case.toml", "plot.svg", "case.schema.json"}


def test_a_schema_of_another_version_or_language_is_made_anew(tmp_path: Path) -> None:
    assert captured("case", "new", str(tmp_path / "a.toml"))[0] == 0
    schema = tmp_path / "case.schema.json"
    now = schema.read_bytes()
    schema.write_bytes(now.replace(b"one line", b"eine Zeile"))
    assert captured("case", "new", str(tmp_path / "b.toml"))[0] == 0
    assert schema.read_bytes() == now


def test_somebodys_schema_beside_a_new_file_is_kept(tmp_path: Path) -> None:
    (tmp_path / "case.schema.json").write_bytes(MINE)
    assert captured("case", "new", str(tmp_path / "new.toml"))[0] == 2
    assert _names(tmp_path) == {"case.schema.json"}
    assert (tmp_path / "case.schema.json").read_bytes() == MINE


def test_one_name_for_two_results_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.toml").write_text(starter_text(), encoding="utf-8")
    status, _, errors = captured(
        *("report", "sheet", "case.toml", "--out", "a.pdf", "--out", "./a.pdf", "--force")
    )
    assert status == 2
    assert "a.pdf" in errors
    assert _names(tmp_path) == {"case.toml"}


@pytest.mark.parametrize("force", [False, True])
def test_what_fails_half_way_leaves_nothing(tmp_path: Path, force: bool) -> None:
    old = tmp_path / "old.zip"
    if force:
        old.write_bytes(MINE)

    def fails() -> None:
        with new_file(old, force) as stream:
            stream.write(b"half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fails()
    assert _names(tmp_path) == ({"old.zip"} if force else set())
    assert not force or old.read_bytes() == MINE


def test_of_two_who_write_one_name_the_first_stays(tmp_path: Path) -> None:
    target = tmp_path / "result.pdf"

    def writes_later() -> None:
        with new_file(target, force=False) as stream:
            stream.write(b"second")
            target.write_bytes(MINE)

    with pytest.raises(InputError, match="--force"):
        writes_later()
    assert target.read_bytes() == MINE
    assert _names(tmp_path) == {"result.pdf"}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs POSIX files")
def test_links_rights_and_folders(tmp_path: Path) -> None:
    real, link = tmp_path / "real.svg", tmp_path / "link.svg"
    real.write_bytes(MINE)
    real.chmod(0o640)
    link.symlink_to(real)
    with pytest.raises(InputError, match="exists"):
        write_file(link, b"new", force=False)
    write_file(link, b"new", force=True)
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    with pytest.raises(InputError, match="folder"):
        write_file(tmp_path, b"new", force=True)
    with pytest.raises(InputError, match="can be written"):
        write_file(tmp_path / "none" / "a.svg", b"new", force=False)
