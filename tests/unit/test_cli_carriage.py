"""`woold carriage` and `woold film` as a user meets them."""

from __future__ import annotations

import importlib.resources
import itertools
import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from woold.carriages.study import carriage_report
from woold.case.file import read_case
from woold.prediction.film_on_load import lacing_of

Run = Callable[..., Any]


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """The demo's files, free to be changed."""
    for source in importlib.resources.files("woold.demo").joinpath("files").iterdir():
        (tmp_path / source.name).write_bytes(source.read_bytes())
    return tmp_path


def test_carriage_needs_no_command_word(files: Path, woold: Run) -> None:
    short = woold("carriage", "today.toml", "--json", cwd=files)
    long = woold("carriage", "show", "today.toml", "--json", cwd=files)
    assert (short.returncode, short.stderr) == (0, "")
    assert short.stdout == long.stdout
    document = json.loads(short.stdout)
    assert document["prestretch_delivered"] < document["prestretch_geared"]
    assert [each["code"] for each in document["findings"]] == ["prestretch_slips"]


def test_carriage_shows_what_it_says(files: Path, woold: Run) -> None:
    shown = woold("carriage", "today.toml", cwd=files).stdout
    assert "set by: slow roller" in shown
    assert "Film path" in shown
    assert "Take care" in shown
    assert max(len(line) for line in shown.splitlines()) <= 80


def test_compare_prints_json_and_nothing_else(files: Path, woold: Run) -> None:
    words = ("carriage", "compare", "today.toml", "candidate.toml", "--draws", "500")
    done = woold(*words, "--json", cwd=files)
    assert done.returncode == 0
    document = json.loads(done.stdout)
    assert (document["is_saving"], document["candidate_verdict"]["holds"]) == (True, True)
    parts = [cause["share"] for cause in document["causes"]]
    assert parts[0] + parts[1] == pytest.approx(parts[2])
    assert document["saving_interval"]["low"] < document["saving_interval"]["high"]
    again = woold(*words, "--json", cwd=files)
    assert again.stdout == done.stdout
    correlated = woold(
        *words, "--json", "--correlate",
        "base.carriage.friction,candidate.carriage.friction=0.9", cwd=files,
    )  # fmt: skip
    assert json.loads(correlated.stdout)["saving"] == document["saving"]
    shown = woold(*words, cwd=files).stdout
    assert "neck-down" in shown
    assert "no saving" not in shown
    assert "Two ways to spend the saving" in shown


def test_compare_ends_with_1_where_the_load_does_not_hold(files: Path, woold: Run) -> None:
    text = (files / "today.toml").read_text(encoding="utf-8")
    hard = text.replace("acceleration = 0.4\n", "acceleration = 0.5\n")
    assert hard != text
    (files / "hard.toml").write_text(hard, encoding="utf-8")
    words = ("carriage", "compare", "hard.toml", "candidate.toml", "--draws", "100")
    shown = woold(*words, cwd=files)
    assert shown.returncode == 1
    assert "what it uses less is no saving" in " ".join(shown.stdout.split())
    assert "Two ways to spend the saving" not in shown.stdout
    done = woold(*words, "--json", cwd=files)
    assert done.returncode == 1
    document = json.loads(done.stdout)
    assert (document["is_saving"], document["candidate_verdict"]["holds"]) == (False, False)


def test_match_and_fit(files: Path, woold: Run) -> None:
    document = json.loads(
        woold("carriage", "match", "candidate.toml", "films.toml", "--json", cwd=files).stdout
    )
    limits = {each["name"]: each["limited_by"] for each in document["films"]}
    assert limits["hand film"] == "rated pre-stretch"
    assert limits["thin film"] == ""
    fitted = woold("film", "fit", "tensile-test.csv", "--json", cwd=files)
    values = {each["field"]: each for each in json.loads(fitted.stdout)["values"]}
    # The invented test was drawn from 8.6 MPa, 2.3 MPa, 85 and 160 MPa.
    for field, drawn in (
        ("film.yield_stress", 8.6e6),
        ("film.hardening_modulus", 2.3e6),
        ("film.extensibility", 85.0),
        ("film.elastic_modulus", 160e6),
    ):
        assert abs(values[field]["value"] - drawn) < 3 * values[field]["standard_error"]
    assert "yield_stress = {" in woold("film", "fit", "tensile-test.csv", cwd=files).stdout


@pytest.mark.parametrize(
    ("status", "words"),
    [
        (0, ("carriage", "today.toml")),
        (0, ("carriage", "compare", "today.toml", "candidate.toml", "--draws", "200")),
        (0, ("film", "fit", "tensile-test.csv")),
    ],
    ids=["show", "compare", "fit"],
)
def test_pictures(files: Path, woold: Run, status: int, words: tuple[str, ...]) -> None:
    assert woold(*words, "--plot", "picture.svg", cwd=files).returncode == status
    assert ET.parse(files / "picture.svg").getroot().tag.endswith("svg")


def test_drawing_is_to_scale_and_labels_do_not_collide(files: Path) -> None:
    """The picture's own text boxes, as matplotlib will draw them."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.patches import Circle
    from matplotlib.text import Text

    from woold.pictures.carriage_drawing import carriage_figure

    for name in ("today", "candidate"):
        case = read_case(files / f"{name}.toml")
        path = lacing_of(case).path
        figure = carriage_figure(carriage_report(case), path, "both")
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        plan = figure.axes[0]
        assert plan.get_aspect() == 1.0
        circles = [each for each in plan.patches if isinstance(each, Circle)]
        assert len(circles) == 5
        words = [text for text in plan.texts if text.get_text()]
        texts = " ".join(text.get_text() for text in words)
        assert path is not None
        for contact in path.contacts:
            degrees = f"{np.degrees(contact.contact_angle):.0f}°"
            assert f"{contact.roller.name}\n{degrees}" in texts
        assert f"gap {path.gap * 1e3:.3g} mm" in texts
        # The text alone: an annotation's own extent takes in its leader line.
        renderer = canvas.get_renderer()
        boxes = [Text.get_window_extent(text, renderer).shrunk(0.95, 0.95) for text in words]
        for one, other in itertools.combinations(boxes, 2):
            assert not one.overlaps(other)
        assert sum(not text.get_text() for text in plan.texts) == len(path.spans)  # arrows


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("carriage",), "no command"),
        (("carriage", "none.toml"), "none.toml"),
        (("carriage", "comparre", "today.toml"), "comparre"),
        (("carriage", "compare", "today.toml"), "CANDIDATE.toml"),
        (("carriage", "compare", "today.toml", "candidate.toml", "--draws", "3"), "--draws: 3"),
        (
            ("carriage", "compare", "today.toml", "candidate.toml", "--correlate", "film.x"),
            "two inputs and a number",
        ),
        (("carriage", "match", "today.toml", "today.toml"), "films"),
        (("carriage", "today.toml", "--plot", "a.bmp"), "--plot"),
        (("film",), "no command"),
        (("film", "fit", "films.toml"), "names its columns"),
        (
            ("film", "fit", "tensile-test.csv", "--from", "400 %", "--as-typed", "fit_from"),
            "points from 400 % on: 3",
        ),
        (("film", "fit", "tensile-test.csv", "--from", "400 %"), "usual: 5 to 200 %"),
        (("film", "fit", "tensile-test.csv", "--from", "50"), "--from"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_bad_input(files: Path, woold: Run, words: tuple[str, ...], said: str) -> None:
    done = woold(*words, cwd=files)
    assert done.returncode == 2
    assert said in re.sub(r"\s+", " ", done.stdout + done.stderr)
    assert "Traceback" not in done.stderr


def test_rollers_that_overlap_are_named(files: Path, woold: Run) -> None:
    text = (files / "today.toml").read_text(encoding="utf-8")
    (files / "today.toml").write_text(text.replace("438 mm", "410 mm"), encoding="utf-8")
    done = woold("carriage", "today.toml", cwd=files)
    assert done.returncode == 2
    assert "carriage.rollers.slow, carriage.rollers.fast" in done.stderr
