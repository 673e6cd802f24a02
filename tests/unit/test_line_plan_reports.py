"""Reports of what a line is asked: a command says the same on paper, in its order."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pseudo_words import captured
from small_line import write_small_line
from woold.demo.scenario import write_scenario


def woold(folder: Path, *words: str) -> tuple[int, str, str]:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        return captured(*words)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("line-reports")
    write_scenario(made, ())
    write_small_line(made)
    return made


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("release", "release.toml", "sites.csv"), "Machines to change"),
        (("wear", "line.toml", "--carriage", "one for all"), "Rolls a year"),
        (("recipes", "line.toml", "--machine", "T12"), "To set, by group of loads"),
        (("kits", "line.toml", "--carriage", "one for all"), "For the set-up sheet"),
    ],
)
def test_a_report_of_a_line(folder: Path, words: tuple[str, ...], says: str) -> None:
    names = [f"{words[0]}.{ending}" for ending in ("html", "pdf")]
    outs = [part for name in names for part in ("--out", name)]
    status, out, err = woold(folder, "report", "line-plan", *words, *outs, "--json")
    assert (status, err) == (0, "")
    document = json.loads(out)
    assert says in json.dumps(document["blocks"])
    assert document["files"] == names
    assert all((folder / name).stat().st_size > 5000 for name in names)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("release", "release.toml", "--store", "none.db"), "A table of sites does as well"),
        (("wear", "line.toml"), "--carriage"),
        (("kits", "line.toml", "--carriage", "long gap"), "--carriage"),
    ],
)
def test_what_a_report_lacks_is_named(folder: Path, words: tuple[str, ...], message: str) -> None:
    status, out, err = woold(folder, "report", "line-plan", *words, "--out", "none.pdf")
    assert (status, out) == (2, "")
    assert message in err
    assert not (folder / "none.pdf").exists()
