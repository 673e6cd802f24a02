"""What the README and the demo show runs as it stands, from where the demo leaves its files."""

from __future__ import annotations

import itertools
import re
import shlex
import shutil
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
def folder(demo_run: DemoRun, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of what the demo left, in which the README's commands run one after the other."""
    copy = tmp_path_factory.mktemp("readme") / "demo-out"
    shutil.copytree(demo_run.folder, copy)
    return copy


@pytest.mark.parametrize("line", SHOWN)
def test_an_example_of_the_readme_runs(
    folder: Path, line: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "88")
    monkeypatch.setenv("XDG_DATA_HOME", str(folder / "data"))
    monkeypatch.delenv("WOOLD_STORE", raising=False)
    program, *words = shlex.split(line)
    assert program == "woold"
    if words == ["serve"]:  # runs until it is stopped; tests/browser start it
        words = ["serve", "--help"]
    status, output, errors = captured(*words)
    assert status == (1 if line.startswith(ENDS_WITH_ALARM) else 0), output[-500:] + errors


def test_there_are_examples() -> None:
    assert len(SHOWN) > 15
    assert {line.split()[1] for line in SHOWN} >= {
        "predict",
        "carriage",
        "trial",
        "sites",
        "report",
    }
