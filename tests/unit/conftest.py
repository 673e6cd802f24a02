"""The command line, run inside the test's process: a new process costs seconds each time."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from woold.cli.main import run


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    returncode: int
    stdout: str
    stderr: str


@pytest.fixture
def woold(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Done]:
    """Runs `woold` with words, 80 columns wide, in a folder."""

    def command(*words: str, cwd: Path | None = None) -> Done:
        monkeypatch.setenv("COLUMNS", "80")
        monkeypatch.setattr(sys, "argv", ["woold", *words])
        if cwd is not None:
            monkeypatch.chdir(cwd)
        capsys.readouterr()
        try:
            run()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1 if end.code else 0
        shown = capsys.readouterr()
        return Done(code, shown.out, shown.err)

    return command
