"""What the README and the demo show runs as it stands, from where the demo leaves its files."""

from __future__ import annotations

import itertools
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from demo_run import DemoRun
from pseudo_words import captured
from woold.demo.story import STORY, TO_OPEN

pytestmark = pytest.mark.xdist_group("demo")

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")

SHOWN = [line.partition("  #")[0].strip() for line in re.findall(r"^    \$ (.+)$", README, re.M)]
ENDS_WITH_ALARM = ("woold sites pool", "woold watch loads")
"""Commands whose status says that a claim does not stand, or that there is an alarm."""

Run = Callable[[str], tuple[int, str, str]]


@pytest.fixture(scope="session")
def demo_run(tmp_path_factory: pytest.TempPathFactory) -> DemoRun:
    """The demo's story, told once in a process of its own for all workers together."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo-told"
    told, folder = shared / "told.json", shared / "demo-out"
    try:
        shared.mkdir()
    except FileExistsError:  # another worker tells it
        until = time.monotonic() + 600.0
        while not told.exists():
            assert time.monotonic() < until, "the demo did not end"
            time.sleep(0.1)
    else:
        done = subprocess.run(
            [sys.executable, "-m", "woold", "demo", "--out", str(folder)],
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "COLUMNS": "80"},
        )
        half = shared / "half.json"
        half.write_text(json.dumps([done.returncode, done.stdout + done.stderr]), encoding="utf-8")
        half.replace(told)
    status, output = json.loads(told.read_text(encoding="utf-8"))
    return DemoRun(status, output, folder)


def test_the_story_has_twelve_steps_that_fit_on_a_screen(demo_run: DemoRun) -> None:
    assert demo_run.status == 0, demo_run.output[-2000:]
    parts = re.split(r"^(?=\d+\. )", demo_run.output, flags=re.M)
    assert len(STORY) == 12
    assert [int(part.partition(".")[0]) for part in parts[1:]] == list(range(1, 13))
    steps = [*parts[1:-1], parts[-1].partition("\nTake care")[0]]
    for part in steps:
        lines = part.rstrip().splitlines()
        assert len(lines) < 60, lines[0]
        # What somebody typed, such as the path of a folder, may be longer.
        assert max(map(len, lines[2:])) <= 80, part
        more = [place for place, line in enumerate(lines) if line.startswith("… more lines in ")]
        assert all(not lines[place - 1] for place in more), lines[0]  # no part is torn
        assert "Take care" not in part, lines[0]


def test_the_story_says_every_caution_once(demo_run: DemoRun) -> None:
    """Nothing that a step warned of is lost."""
    assert demo_run.output.count("\nTake care") == 1
    said = " ".join(demo_run.output.partition("\nTake care")[2].split())
    files = sorted(demo_run.folder.glob("[0-9][0-9]-*.txt"))
    assert len(files) == 12
    for file in files:
        behind = file.read_text(encoding="utf-8").rpartition("\nTake care\n")
        told = itertools.takewhile(lambda line: line.startswith("  "), behind[2].splitlines())
        words = " ".join(" ".join(told).split()) if behind[1] else ""
        for sentence in re.split(r"(?<=\.) ", words):
            assert sentence in said, (file.name, sentence)


def test_what_to_open_is_there(demo_run: DemoRun) -> None:
    for name, _ in TO_OPEN:
        assert name in demo_run.output
        assert (demo_run.folder / name).stat().st_size > 1000
    assert "woold demo --all" in demo_run.output


@pytest.fixture(scope="module")
def example(demo_run: DemoRun, tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Runs a line of the README once in a copy of what the demo left."""
    copy = tmp_path_factory.mktemp("readme") / "demo-out"
    shutil.copytree(demo_run.folder, copy)
    done: dict[str, tuple[int, str, str]] = {}

    def run(line: str) -> tuple[int, str, str]:
        if line not in done:
            program, *words = shlex.split(line)
            assert program == "woold"
            if words == ["serve"]:  # runs until it is stopped; tests/browser start it
                words = ["serve", "--help"]
            with pytest.MonkeyPatch.context() as patch:
                patch.chdir(copy)
                patch.setenv("COLUMNS", "88")
                patch.setenv("XDG_DATA_HOME", str(copy / "data"))
                patch.delenv("WOOLD_STORE", raising=False)
                done[line] = captured(*words)
        return done[line]

    return run


def _needs(line: str) -> list[str]:
    """Lines that a line is shown after: a trial is started and filled in before it is told."""
    if "trial" not in line.split():
        return []
    return [each for each in SHOWN[: SHOWN.index(line)] if each.startswith("woold trial ")]


@pytest.mark.parametrize("line", SHOWN)
def test_an_example_of_the_readme_runs(example: Run, line: str) -> None:
    for each in [*_needs(line), line]:
        status, output, errors = example(each)
        assert status == (1 if each.startswith(ENDS_WITH_ALARM) else 0), output[-500:] + errors


def test_there_are_examples() -> None:
    assert len(SHOWN) > 15
    assert {line.split()[1] for line in SHOWN} >= {
        "predict",
        "carriage",
        "trial",
        "sites",
        "report",
    }
