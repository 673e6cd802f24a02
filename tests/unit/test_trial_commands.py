"""`woold trial` as a user meets it, on the invented scenario."""

from __future__ import annotations

import contextlib
import hashlib
import importlib.resources
import io
import json
import sys
import tomllib
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from woold.cli.main import run
from woold.demo.scenario import write_filled_sheets

TRIAL = "invented-line-1"


@dataclass(frozen=True)
class Done:
    """What a command printed and ended with."""

    returncode: int
    stdout: str
    stderr: str


def woold(folder: Path, *words: str, group: str = "trial") -> Done:
    """A command as typed in a folder, in this process: starting Python anew takes seconds."""
    out, err = io.StringIO(), io.StringIO()
    status = 0
    with (
        pytest.MonkeyPatch.context() as patch,
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        patch.chdir(folder)
        patch.setenv("COLUMNS", "80")
        patch.setenv("WOOLD_STORE", str(folder / "records.sqlite"))
        patch.setattr(sys, "argv", ["woold", group, *words])
        try:
            run()
        except SystemExit as ended:
            status = int(ended.code or 0)
    return Done(status, out.getvalue(), err.getvalue())


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the scenario's trial, started, and its sheet taken in."""
    folder = tmp_path_factory.mktemp("scenario")
    for source in importlib.resources.files("woold.demo").joinpath("files").iterdir():
        (folder / source.name).write_bytes(source.read_bytes())
    write_filled_sheets(folder)
    assert woold(folder, "plan", "trial.toml", "--start", "--by", "AB").returncode == 0
    done = woold(folder, "import", "filled.xlsx", "--by", "AB")
    assert done.returncode == 0, done.stderr
    return folder


def test_analysis_as_text(filled: Path) -> None:
    done = woold(filled, "analyse", TRIAL)
    assert (done.returncode, done.stderr) == (0, "")
    for words in (
        "Fieller",
        "log ratio",
        "bootstrap-t",
        "not lower",
        "Take care",
        "that may stand apart",
    ):
        assert words in done.stdout
    assert max(len(line.rstrip()) for line in done.stdout.splitlines()) <= 80


def test_analysis_as_json_with_a_picture(filled: Path, tmp_path: Path) -> None:
    picture = tmp_path / "trial.svg"
    done = woold(filled, "analyse", TRIAL, "--json", "--plot", str(picture))
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert 0 < document["verdict"]["saving"] < 0.15
    assert [each["zone"] for each in document["containment"]] == ["bottom", "middle", "top"]
    assert document["equal_hold"]["zones"] == ["bottom", "middle", "top"]
    assert document["verdict"]["at_equal_hold"]
    assert document["progress"]["is_filled"]
    # Marks, mass balance and prediction: the invented film is what its case says, but for E_r.
    assert all(each["agree"] for each in document["stretches"])
    assert ET.parse(picture).getroot().tag.endswith("svg")


def test_asked_check_fails_with_1(filled: Path, tmp_path: Path) -> None:
    assert woold(filled, "analyse", TRIAL, "--require-saving").returncode in (0, 1)
    # A trial of equal treatments: the candidate's sheet is a copy of the baseline's.
    text = (filled / "trial.toml").read_text(encoding="utf-8")
    for name in ("today.toml", "today-tall.toml"):
        (tmp_path / name).write_text((filled / name).read_text(encoding="utf-8"), encoding="utf-8")
    text = text.replace('candidate = "next', 'candidate = "today').replace(
        TRIAL, "equal-treatments"
    )
    (tmp_path / "trial.toml").write_text(text, encoding="utf-8")
    assert woold(tmp_path, "plan", "trial.toml", "--start", "--loads", "6").returncode == 0
    rows = ["load,treatment,load_type,block,film_mass [g]"]
    order = json.loads(woold(tmp_path, "plan", "trial.toml", "--loads", "6", "--json").stdout)
    for each in order["order"]:
        mass = 175 + each["number"] % 5 + 30 * (each["load_type"] == "tall jars")
        rows.append(
            f"{each['number']},{each['treatment']},{each['load_type']},{each['block']},{mass}"
        )
    (tmp_path / "loads.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert woold(tmp_path, "import", "loads.csv", "--trial", "equal-treatments").returncode == 0
    done = woold(tmp_path, "analyse", "equal-treatments", "--require-saving")
    assert done.returncode == 1
    assert "No difference in film was shown" in done.stdout


def test_gauge_study_from_the_store_and_from_a_file(filled: Path, tmp_path: Path) -> None:
    document = json.loads(woold(filled, "gauge", TRIAL, "--json").stdout)
    assert [each["gauge"] for each in document["gauges"]] == ["pull gauge [N]", "scale [g]"]
    assert all("times the loads" in each["effect_on_trial"] for each in document["gauges"])
    path = tmp_path / "ruler.csv"
    rows = ["instrument,part,person,repeat,reading"]
    rows += [
        f"ruler,{part},{person},{repeat},{100 + part + 0.1 * ((part * repeat + len(person)) % 3)}"
        for part in range(5)
        for person in ("A", "BB")
        for repeat in (1, 2)
    ]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    assert (
        "ruler: analysis of variance (parts: 5, people: 2, repeats: 2)"
        in woold(filled, "gauge", str(path)).stdout
    )
    path.write_text("\n".join(rows[:-1]) + "\n", encoding="utf-8")
    done = woold(filled, "gauge", str(path))
    assert done.returncode == 2
    assert "ruler, 4, BB: no repeat 2" in done.stderr


def test_a_photo_is_kept_and_exported(filled: Path) -> None:
    done = woold(filled, "photo", TRIAL, "load-3.png", "--load", "3", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    name = json.loads(done.stdout)["photos"][0]
    # It is written anew, without its metadata, so its own name is that of the kept picture.
    assert woold(filled, "photo", TRIAL, "load-3.png", "--load", "3").returncode == 0  # again
    assert woold(filled, "export", TRIAL, "--out", "all.zip").returncode == 0
    with zipfile.ZipFile(filled / "all.zip") as archive:
        assert hashlib.sha256(archive.read(f"photos/{name}")).hexdigest() == name
    for words in (("trial.toml", "--load", "3"), ("load-3.png", "--load", "777")):
        assert woold(filled, "photo", TRIAL, *words).returncode == 2


def test_calibration_writes_a_case_that_can_be_predicted(filled: Path) -> None:
    (filled / "calibrated.toml").unlink(missing_ok=True)
    words = ("--treatment", "candidate", "--case", "next.toml", "--out", "calibrated.toml")
    done = woold(filled, "calibrate", TRIAL, *words)
    assert done.returncode == 0, done.stderr
    assert "film.reload_modulus" in done.stdout
    checked = woold(filled, "calibrated.toml", "--json", group="predict")
    assert checked.returncode == 0
    assert '"film.reload_modulus"' not in checked.stdout  # a placeholder no longer
    assert woold(filled, "calibrate", TRIAL, *words).returncode == 2  # never replaces a file


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("analyse", "no-such-trial"), "woold trial plan"),
        (("sheet", TRIAL, "--paper", "a5"), "a4, letter"),
        (("calibrate", TRIAL, "--treatment", "both"), "baseline or candidate"),
        (("calibrate", TRIAL, "--fit", "film.colour"), "film.reload_modulus"),
        (("correct", TRIAL, "--load", "1", "--reason", "x"), "--void"),
        (("correct", TRIAL, "--load", "9999", "--void", "--reason", "x"), "a record of this trial"),
        (("import", "trial.toml"), "no sheet with known columns"),
        (("import", "wrong-unit.csv", "--trial", TRIAL), "wrong-unit.csv!D1"),
        (("plan", "today.toml"), "key: nothing"),
        (("list", "--store", "nowhere://x"), "--store"),
    ],
)
def test_bad_input_ends_with_2_and_a_message(
    filled: Path, words: tuple[str, ...], message: str
) -> None:
    done = woold(filled, *words)
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize(
    "words",
    [("list",), ("plan", "trial.toml"), ("gauge", TRIAL)],
    ids=lambda words: words[0],
)
def test_json_is_the_only_output(filled: Path, words: tuple[str, ...]) -> None:
    done = woold(filled, *words, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    json.loads(done.stdout)


def test_the_file_that_is_offered_starts_records_and_analyses(tmp_path: Path) -> None:
    """As written by `woold trial new`, without a change; seven loads, and then all of them."""
    assert woold(tmp_path, "new", "mine.toml").returncode == 0
    plan = ("plan", "mine.toml", "--loads", "12", "--start", "--by", "AB", "--json")
    started = woold(tmp_path, *plan)
    assert started.returncode == 0, started.stderr
    key = tomllib.loads((tmp_path / "mine.toml").read_text(encoding="utf-8"))["key"]
    rng = np.random.default_rng(5)
    loads = ["load,treatment,load_type,block,film_mass [g]"]
    pulls = ["load,height [m],side,age [min],force [N]"]
    for each in json.loads(started.stdout)["order"]:
        film = (200.0 if each["treatment"] == "baseline" else 170.0) + rng.normal(0.0, 4.0)
        loads.append(
            f"{each['number']},{each['treatment']},{each['load_type']},{each['block']},{film:.0f}"
        )
        pulls += [
            f"{each['number']},{height},front,30,{rng.normal(30.0, 1.0):.1f}"
            for height in (0.2, 0.7, 1.3)
        ]
    for last in (8, None):
        (tmp_path / "loads.csv").write_text("\n".join(loads[:last]) + "\n", encoding="utf-8")
        upto = None if last is None else 1 + 3 * (last - 1)
        (tmp_path / "pulls.csv").write_text("\n".join(pulls[:upto]) + "\n", encoding="utf-8")
        for name in ("loads.csv", "pulls.csv"):
            taken = woold(tmp_path, "import", name, "--trial", key, "--by", "AB")
            assert taken.returncode == 0, taken.stderr
        analysed = woold(tmp_path, "analyse", key, "--json")
        assert analysed.returncode == 0, analysed.stderr
        found = json.loads(analysed.stdout)
        assert [each["zone"] for each in found["containment"]] == ["bottom", "middle", "top"]
        claim = found["verdict"]["claim"]
        assert claim == ("no verdict yet" if last else "saves film at equal hold")
        # The chance that is left is said while the trial runs.
        assert (found["progress"]["chance"] is not None) == bool(last)
