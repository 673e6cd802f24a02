"""Trials in files, trial file and filled sheets, learnt from without a store of their own."""

from __future__ import annotations

import tempfile
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from woold.case.toml_text import read_toml
from woold.errors import InputError, Problem, WooldError, errors_in
from woold.store import Store
from woold.trial.importing import import_written
from woold.trial.reading import WrittenTrial, read_written
from woold.trial.setup import TrialSetup, read_trial
from woold.trial.starting import start_trial
from woold.words import say

__all__ = ["store_of_files"]

_BY = "woold learn"


@contextmanager
def store_of_files(paths: Sequence[Path | str], as_typed: Collection[str] = ()) -> Iterator[Store]:
    """A store of trials in files, gone afterwards: each sheet is judged as at an import.

    A sheet goes to the trial that it names; one that names none, such as a CSV file, to the only
    trial file, or, of several, to the one before it.

    Args:
        paths: trial files (TOML), each with its filled sheets (workbooks or CSV files); case files
            may stand among them, and are found by the trial files.
        as_typed: cells that were asked about and are right, such as "Loads!F12"; where there are
            several sheets with the file's name before it, "north.xlsx: Loads!F12".

    Raises:
        InputError: a file that cannot be used, a sheet without its trial, or a trial twice.
    """
    setups, sheets = _sorted(paths)
    with tempfile.TemporaryDirectory(prefix="woold-learn-") as folder:
        store = Store(str(Path(folder) / "trials.sqlite"))
        try:
            for setup in setups.values():
                start_trial(store, setup, (), _BY)
            for path, key, written in sheets:
                with _cells_of(path, len(sheets) > 1):
                    right = _right(path, as_typed, len(sheets) > 1)
                    import_written(store, written, _BY, key, right)
            yield store
        finally:
            store.close()


def _right(path: Path, as_typed: Collection[str], is_one_of_many: bool) -> list[str]:
    """Cells of a sheet that are right, as its import calls them."""
    mark = f"{path.name}: "
    found = [each for each in as_typed if not is_one_of_many or each.startswith(mark)]
    return [each.removeprefix(mark) for each in found]


@contextmanager
def _cells_of(path: Path, is_one_of_many: bool) -> Iterator[None]:
    """Errors raised inside name the file; its cells too where another sheet has the same."""
    try:
        with errors_in(path):
            yield
    except WooldError as error:
        mark = f"{path.name}: " if is_one_of_many else ""
        named = (
            replace(each, field=f"{mark}{each.field}") if "!" in each.field else each
            for each in error.problems
        )
        raise type(error).many(named) from None


def _sorted(
    paths: Sequence[Path | str],
) -> tuple[dict[str, TrialSetup], list[tuple[Path, str, WrittenTrial]]]:
    """Trials by key, and each sheet with the key of its trial."""
    setups: dict[str, TrialSetup] = {}
    sheets: list[tuple[Path, str, WrittenTrial]] = []
    key = ""
    for path in map(Path, paths):
        if path.suffix.casefold() == ".toml":
            if "load" in read_toml(path, "woold trial new"):
                continue
            setup = read_trial(path)
            key = setup.trial.key
            if key in setups:
                raise InputError.one(
                    str(path), say("trial {key} again", key=key), say("each trial once"),
                    say("Take one of the two files out, or give one of the trials another key."),
                )  # fmt: skip
            setups[key] = setup
        else:
            written = read_written(path)
            sheets.append((path, written.trial or key, written))
    if len(setups) == 1:
        sheets = [(path, named or key, written) for path, named, written in sheets]
    _refuse_sheets_alone(setups, sheets)
    return setups, sheets


def _refuse_sheets_alone(
    setups: Collection[str], sheets: Sequence[tuple[Path, str, WrittenTrial]]
) -> None:
    problems = [
        Problem(
            str(path),
            say("a sheet of trial {key}", key=key) if key else say("a sheet that names no trial"),
            say("a sheet whose trial file is there too"),
            say("Name the trial file before it; it names the case files."),
        )
        for path, key, _ in sheets
        if key not in setups
    ]
    if problems:
        raise InputError.many(problems)
    if not sheets:
        raise InputError.one(
            say("files"), say("no filled sheet"), say("a trial file and its filled sheets"),
            say("Name the workbooks or CSV files too that the loads were written down in."),
        )  # fmt: skip
