"""`woold transport` and `woold design` as a user meets them."""

from __future__ import annotations

import importlib.resources
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

TARGETS = """
[[hold.targets]]
high = "0.5 m"
force = "150 N"

[[hold.targets]]
low = "0.5 m"
force = "100 N"
"""


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """The demo's files, free to be changed."""
    for source in importlib.resources.files("woold.demo").joinpath("files").iterdir():
        (tmp_path / source.name).write_bytes(source.read_bytes())
    return tmp_path


def with_targets(files: Path, more: str = "") -> str:
    text = (files / "today.toml").read_text(encoding="utf-8").partition("[transport]")[0]
    (files / "asked.toml").write_text(text + TARGETS + more, encoding="utf-8")
    return "asked.toml"


def test_transport_ends_with_1_where_film_does_not_hold(files: Path, woold: Run) -> None:
    # 500 kg over the lowest tier, .5 g against .9 of .43: 555 N, and film gives 320 N there.
    text = (files / "today.toml").read_text(encoding="utf-8")
    hard = text.replace("acceleration = 0.4\n", "acceleration = 0.5\n")
    (files / "hard.toml").write_text(hard, encoding="utf-8")
    done = woold("transport", "hard.toml", "--json", "--plot", "moved.svg", cwd=files)
    assert (done.returncode, done.stderr) == (1, "")
    document = json.loads(done.stdout)
    assert not document["holds"]
    assert "physical" in document["caution"]
    profile = document["profiles"][0]
    assert profile["edition"] == "EUMOS 40509"
    interfaces = profile["ways"][0]["interfaces"]
    assert [each["height_m"] for each in interfaces] == pytest.approx(
        [0.0, 0.25, 0.5, 0.75, 1.0, 1.25]
    )
    codes = {each["code"] for each in document["findings"]}
    # Half of 1 m over .58 g (unit) and .67 g (stack): neither tips at .5 g, so that the film alone
    # decides.
    assert codes == {"film_does_not_hold"}
    assert (files / "moved.svg").stat().st_size > 10_000
    assert woold("transport", "today.toml", cwd=files).returncode == 0


def test_transport_shows_its_caution_source_and_limits(files: Path, woold: Run) -> None:
    shown = woold("transport", "today.toml", cwd=files).stdout
    words = " ".join(shown.split())
    assert "Engineering estimate, not a proof" in words
    assert "Source: read in a secondary source" in words
    assert "Local codes" in words
    assert "Limits: 30 mm" in words
    assert max(len(line) for line in shown.splitlines()) <= 80


def test_transport_needs_its_table(files: Path, woold: Run) -> None:
    done = woold("transport", with_targets(files), cwd=files)
    assert done.returncode == 2
    assert "[transport]" in done.stderr


def test_design_prints_a_setting_list_and_its_proof(files: Path, woold: Run) -> None:
    path = with_targets(files)
    done = woold("design", path, "--shelf", "films.toml", "--profiled", cwd=files)
    assert done.returncode == 0
    words = " ".join(done.stdout.split())
    for part in (
        "Settings for least cost of film, machine time, roll changes and breaks",
        "Left out for want of a price: film known by points",
        "Against today's program",
        "USD a load cheaper",
        "of the best that this machine can run",
        "no program of this machine gets below",
        "What must be held",
        "no program of any kind, at one force, gets below",
        "price of one rise",
        "What binds",
        "With fewer changes",
        "If the rise may vary with height",
        "Local codes",
    ):
        assert part in words
    assert max(len(line) for line in done.stdout.splitlines()) <= 80


def test_design_prints_json_and_nothing_else(files: Path, woold: Run) -> None:
    path = with_targets(files)
    done = woold(
        "design", path, "--shelf", "films.toml", "--plot", "front.png", "--json", cwd=files
    )
    assert done.returncode == 0
    document = json.loads(done.stdout)
    assert document["possible"]
    assert document["chosen"]["holds"]
    assert document["chosen"]["settings"]["film"] in {
        "today's film",
        "film of today",
        "thin film",
        "film known by points",
    }
    assert document["gap"] > 0
    assert document["front"]
    assert (files / "front.png").read_bytes().startswith(b"\x89PNG")


def test_an_impossible_design_ends_with_1_and_says_why(files: Path, woold: Run) -> None:
    path = with_targets(files, '\n[design]\ncycle_time_limit = "70 s"\n')
    done = woold("design", path, cwd=files)
    assert done.returncode == 1
    words = " ".join(done.stdout.split())
    assert "No program within the limits holds what is asked" in words
    assert "design.cycle_time_limit" in words
    document = json.loads(woold("design", path, "--json", cwd=files).stdout)
    assert document["chosen"] is None
    assert document["obstacles"]


def test_design_for_most_containment_of_another_case(files: Path, woold: Run) -> None:
    done = woold(
        "design", "candidate.toml", "--goal", "containment", "--baseline", "today.toml", "--json",
        cwd=files,
    )  # fmt: skip
    document = json.loads(done.stdout)
    today = json.loads(woold("predict", "today.toml", "--json", cwd=files).stdout)
    assert document["objective"] == "containment"
    assert document["chosen"]["film_mass_kg"] <= today["film_mass_kg"] * (1 + 1e-9)
    held = document["chosen"]["containment_later_min_n"]
    assert held > today["containment_later_min_n"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--goal", "beauty"), "beauty"),
        (("--probability", "120 %"), "50 to 99 %"),
        (("--probability", "5 kg"), "--probability"),
        (("--shelf", "none.toml"), "none.toml"),
        (("--goal", "cost", "--shelf", "free.toml"), "film.price"),
    ],
)
def test_wrong_words(files: Path, woold: Run, words: tuple[str, ...], message: str) -> None:
    (files / "free.toml").write_text(
        '[[films]]\nname = "free"\nroll_width = "20 in"\nthickness = "60 gauge"\n', encoding="utf-8"
    )
    done = woold("design", with_targets(files), *words, cwd=files)
    assert done.returncode == 2
    assert message in done.stderr
    assert "Traceback" not in done.stderr


def test_design_keeps_to_the_dancer(files: Path, woold: Run) -> None:
    path = with_targets(files)
    table = json.loads(woold("dancer", "springs", path, "--json", cwd=files).stdout)
    document = json.loads(woold("design", path, "--json", cwd=files).stdout)
    force = document["chosen"]["settings"]["force_to_load_n"]
    assert force != table["force_to_load_n"]
    spring, hole = document["dancer_spring"], document["dancer_hole_m"]
    rows = [each for each in table["choices"] if (each["spring"], each["hole_m"]) == (spring, hole)]
    low, high = sorted((rows[0]["tension_lower_n"], rows[0]["tension_upper_n"]))
    assert low < force < high
    # With a spring and a hole that only hold other forces, nothing can be wrapped.
    text = (files / path).read_text(encoding="utf-8")
    weak = re.sub(r"\nholes = [^\n]*", '\nholes = ["12 mm"]', text)
    (files / path).write_text(weak, encoding="utf-8")
    done = woold("design", path, "--json", cwd=files)
    assert done.returncode == 1
    found = {each["field"]: each for each in json.loads(done.stdout)["obstacles"]}
    assert found["dancer"]["reached"] > found["dancer"]["allowed"]
