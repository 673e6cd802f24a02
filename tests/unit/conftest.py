"""The command line, run inside the test's process: a new process costs seconds each time."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from demo_run import DemoRun
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


@pytest.fixture(scope="session")
def demo_run(tmp_path_factory: pytest.TempPathFactory) -> DemoRun:
    """The demo's story, told once in a process of its own."""
    folder = tmp_path_factory.mktemp("demo") / "demo-out"
    done = subprocess.run(
        [sys.executable, "-m", "woold", "demo", "--out", str(folder)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "COLUMNS": "80"},
    )
    return DemoRun(done.returncode, done.stdout + done.stderr, folder)
