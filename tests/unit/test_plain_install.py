"""An installation without extras: what it can do, and how the rest says what it lacks."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from woold.demo.scenario import write_scenario
from woold.errors import PACKAGES_OF_EXTRAS

ROOT = Path(__file__).parents[2]

PACKAGES = sorted(each for group in PACKAGES_OF_EXTRAS.values() for each in group)

_WITHOUT_EXTRAS = f"""
import sys

class Absent:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {PACKAGES}:
            raise ModuleNotFoundError(f"No module named {{name!r}}", name=name)

sys.meta_path.insert(0, Absent())
sys.argv = ["woold", *sys.argv[1:]]
from woold.cli.main import run
run()
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plain")
    write_scenario(folder)
    return folder


def _plain(folder: Path, line: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", _WITHOUT_EXTRAS, *line.split()]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    "line",
    [
        "--help",
        "case check today.toml",
        "predict today.toml",
        "predict today.toml --json --sensitivity",
        "carriage today.toml",
        "carriage match candidate.toml films.toml",
        "film fit tensile-test.csv",
        "dancer springs today.toml",
        "design today.toml",
    ],
)
def test_works_without_extras(folder: Path, line: str) -> None:
    done = _plain(folder, line)
    assert done.returncode in (0, 1)  # 1: what the case asks for does not hold
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("line", "extra"),
    [
        ("predict today.toml --plot x.svg", "report"),
        ("report prediction today.toml", "report"),
        ("trial list --store none.sqlite", "records"),
        ("account list --store none.sqlite", "records|server"),
        ("serve", "server|records"),
        ("dancer tags", "video|report"),
        ("dancer video bouncing-dancer.avi", "video"),
        ("watch loads cycles.csv --settings watch.toml", "watch"),
        ("watch fleet fleet/*.parquet --settings watch.toml", "fleet|watch"),
    ],
)
def test_names_the_extra_that_is_missing(folder: Path, line: str, extra: str) -> None:
    done = _plain(folder, line)
    assert done.returncode == 2
    assert re.search(rf"woold\[({extra})\]", done.stderr), done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_every_extra_is_described() -> None:
    import tomllib

    with (ROOT / "pyproject.toml").open("rb") as file:
        extras = tomllib.load(file)["project"]["optional-dependencies"]
    page = (ROOT / "docs/installation.md").read_text(encoding="utf-8")
    assert set(re.findall(r"^\| `([a-z-]+)` \|", page, flags=re.MULTILINE)) == set(extras)
    assert set(PACKAGES_OF_EXTRAS) <= set(extras)
