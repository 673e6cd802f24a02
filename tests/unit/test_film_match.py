"""Films of a shelf on one carriage: which fit, and what limits the others."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from unusual import unusual_case
from woold.carriages.match import MatchReport, match_films
from woold.case.model import Case
from woold.case.shelf import read_shelf
from woold.errors import InputError

SHELF = """
[[films]]
name = "plain"
roll_width = "20 in"
thickness = "63 gauge"
rated_prestretch = "300 %"
elongation_at_break = "450 %"
price = "2.2 USD/kg"

[[films]]
name = "thin"
roll_width = "20 in"
thickness = "47 gauge"

[[films]]
name = "hand"
roll_width = "20 in"
thickness = "63 gauge"
rated_prestretch = "150 %"

[[films]]
name = "brittle"
roll_width = "20 in"
thickness = "63 gauge"
elongation_at_break = "200 %"

[[films]]
name = "stiff"
roll_width = "20 in"
thickness = "120 gauge"

[[films]]
name = "short"
roll_width = "20 in"
thickness = "63 gauge"
test_elongations = ["0 %", "10 %", "100 %", "200 %"]
test_stresses = ["0 MPa", "9 MPa", "10 MPa", "12 MPa"]
"""


def matched(case: Case, folder: Path, text: str = SHELF) -> MatchReport:
    (folder / "shelf.toml").write_text(text, encoding="utf-8")
    return match_films(case, read_shelf(folder / "shelf.toml"))


def test_what_limits_each_film(case: Case, tmp_path: Path) -> None:
    report = matched(case, tmp_path)
    found = {each.name: each for each in report.films}
    assert found["plain"].fits
    assert found["plain"].rated_margin == pytest.approx(4.0 / 3.6)
    assert found["plain"].break_margin == pytest.approx(5.5 / 3.6)
    assert found["thin"].fits
    assert found["thin"].rated_margin is None
    assert found["hand"].limited_by == "rated pre-stretch"
    assert found["brittle"].limited_by == "elongation at break"
    assert not found["brittle"].takes_prestretch
    # Twice the section asks for twice the force, which the slow roller does not hold.
    assert found["stiff"].limited_by == "grip: slow roller"
    assert found["stiff"].takes_prestretch
    assert not found["stiff"].grips
    assert [each.name for each in report.refused] == ["short"]
    assert "curve ends" in report.refused[0].reason


def test_those_that_fit_and_need_least_come_first(case: Case, tmp_path: Path) -> None:
    report = matched(case, tmp_path)
    assert [each.name for each in report.films[:2]] == ["thin", "plain"]
    fits = [each.fits for each in report.films]
    assert fits == sorted(fits, reverse=True)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "films"),
        ("films = []", "films"),
        ("[[films]]\nname = 'x'", "films[0].roll_width"),
        (SHELF.replace('"thin"', '"plain"'), "film 'plain' twice in version 1"),
        (SHELF.replace("63 gauge", "63 N", 1), "films[0].thickness"),
        (SHELF.replace("rated_prestretch", "rated_stretch", 1), 'Did you mean "rated_prestretch"'),
    ],
)
def test_shelves_that_are_refused(case: Case, tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(InputError) as raised:
        matched(case, tmp_path, text)
    assert words in str(raised.value)


def test_a_carriage_that_no_film_fits_says_so_itself(case: Case, tmp_path: Path) -> None:
    broken = case.with_values({"carriage.prestretch": 1.0})
    with pytest.raises(InputError, match=r"carriage\.prestretch"):
        matched(broken, tmp_path)


@pytest.mark.parametrize(("force", "in_range"), [("45 N", True), ("900 N", False)])
def test_the_dancer_must_hold_the_force(
    table: dict[str, Any], tmp_path: Path, force: str, in_range: bool
) -> None:
    table["program"]["force_to_load"] = force
    table["dancer"] = {
        "arm_length": "250 mm",
        "lower_stop": "-30 deg",
        "upper_stop": "30 deg",
        "anchor": ["100 mm", "350 mm"],
        "holes": ["140 mm", "170 mm"],
        "springs": [{"rate": "0.9 N/mm", "free_length": "180 mm", "preload": "10 N"}],
    }
    report = matched(unusual_case(table), tmp_path)
    assert {each.in_dancer_range for each in report.films} == {in_range}
    assert all(("dancer" in each.limited_by) != in_range for each in report.films)


def test_without_a_dancer_its_range_is_not_known(case: Case, tmp_path: Path) -> None:
    assert {each.in_dancer_range for each in matched(case, tmp_path).films} == {None}
