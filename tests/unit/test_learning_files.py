"""Trials in files, learnt from without a store of their own."""

from __future__ import annotations

from pathlib import Path

import pytest

from trial_makers import demo_setup, wrapped
from woold.cli.main import run
from woold.errors import InputError
from woold.learning.in_store import wrapped_in_store
from woold.learning.trial_files import store_of_files
from woold.learning.wrapped import Wrapped, wrapped_in_trial
from woold.trial.records import TrialRecords

RIGHT = ("Loads!H3:H999",)
"""The invented people's odd load is asked about; it is right."""


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, TrialRecords]:
    """The demo's files with a filled workbook, and the same loads imported into a store."""
    folder = tmp_path_factory.mktemp("files")
    return folder, wrapped(demo_setup(folder), folder, 8)


def test_files_teach_what_a_store_of_them_does(trial: tuple[Path, TrialRecords]) -> None:
    """The same averages, to the last digit, and case files may stand among the others."""
    folder, records = trial
    wanted = wrapped_in_trial(records)
    for names in (("trial.toml", "filled.xlsx"), ("today.toml", "filled.xlsx", "trial.toml")):
        with store_of_files([folder / name for name in names], RIGHT) as store:
            found, findings = wrapped_in_store(store)
        assert not findings
        assert [each.averages for each in found] == [each.averages for each in wanted]
        assert [each.case for each in found] == [each.case for each in wanted]


def test_what_cannot_be_used_is_said(trial: tuple[Path, TrialRecords], tmp_path: Path) -> None:
    folder, _ = trial
    sheet, file = folder / "filled.xlsx", folder / "trial.toml"
    (tmp_path / "wrong.csv").write_text(
        "load;treatment;load type;film mass [g]\n1;sideways;jars;200\n", encoding="utf-8"
    )
    for paths, right, words in (
        ([file, tmp_path / "wrong.csv"], (), "sideways"),
        ([sheet], RIGHT, "whose trial file is there too"),
        ([tmp_path / "wrong.csv", file], RIGHT, "sideways"),
        ([tmp_path / "wrong.csv"], RIGHT, "a sheet that names no trial"),
        ([file], (), "no filled sheet"),
        ([file, sheet, file], RIGHT, "each trial once"),
        ([file, folder / "nowhere.xlsx"], (), "Check the name"),
    ):
        with pytest.raises(InputError, match=words), store_of_files(paths, right):
            pytest.fail(f"{paths} were taken")


def test_the_terminal_learns_from_files(
    trial: tuple[Path, TrialRecords],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """What it learns from are the averages of both files; a cell needs its table."""
    folder, records = trial
    taught: list[object] = []

    def learnt(wrapped_here: tuple[Wrapped, ...], *_: object) -> None:
        taught.extend(each.averages for each in wrapped_here)
        raise InputError.one("stopped", "here", "", "")

    monkeypatch.setattr("woold.learning.kept.learn_again", learnt)
    monkeypatch.delenv("WOOLD_STORE", raising=False)
    monkeypatch.chdir(folder)
    tables = ["--table", "trial.toml", "--table", "filled.xlsx"]
    for asked, words in (
        (["--as-typed", RIGHT[0], *tables], "stopped"),
        (["--as-typed", RIGHT[0]], "needs --table"),
        ([*tables, "--store", "other.db"], "together with --store"),
        ([*tables, "--trial", "nowhere"], "nowhere"),
    ):
        monkeypatch.setattr("sys.argv", ["woold", "learn", *asked])
        with pytest.raises(SystemExit) as ended:
            run()
        assert ended.value.code == 2
        assert words in " ".join(capsys.readouterr().err.split())
    assert taught == [each.averages for each in wrapped_in_trial(records)]
