"""A case changed by text is the case of the changed file, and is refused where that would be."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.case.text import table_from_toml
from woold.errors import InputError

TODAY = table_from_toml(
    files("woold.demo").joinpath("files/today.toml").read_text(encoding="utf-8")
)


@pytest.fixture
def today() -> Case:
    return case_from_table(TODAY)


def _in_file(changes: dict[str, Any]) -> Case:
    """The case of the file with these fields written otherwise."""
    table = table_from_toml(
        files("woold.demo").joinpath("files/today.toml").read_text(encoding="utf-8")
    )
    for path, value in changes.items():
        *tables, name = path.split(".")
        inner = table
        for each in tables:
            inner = inner.setdefault(each, {})
        if value is None:
            inner.pop(name)
        else:
            inner[name] = value
    return case_from_table(table)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"film.thickness": "47 gauge"},
        {"film.thickness": "47 gauge", "carriage.prestretch": "240 %", "title": "Another"},
        {"program.bottom_wraps": 3, "machine.speed": "15 rpm"},
        {"film.reload_modulus": {"value": "350 MPa", "origin": "cut off a load"}},
        {"film.price": "2.6 USD/kg"},
        {"film.price": None},
        {"load": {"length": "1.1 m", "width": "0.9 m", "height": "1.5 m", "mass": "400 kg"}},
    ],
    ids=str,
)
def test_changed_case_is_that_of_the_changed_file(today: Case, changes: dict[str, Any]) -> None:
    made, expected = today.change(changes), _in_file(changes)
    assert made == expected
    assert made.inputs() == expected.inputs()


def test_origins_stay_but_for_what_changed(today: Case) -> None:
    stated = today.change({"film.yield_stress": {"value": "8 MPa", "origin": "tensile test"}})
    origins = {each.field: each.origin for each in stated.inputs()}
    assert origins["film.yield_stress"].text == "tensile test"
    again = stated.change({"film.thickness": "70 gauge"})
    assert {each.field: each.origin for each in again.inputs()}["film.yield_stress"] == origins[
        "film.yield_stress"
    ]
    typed = again.change({"film.yield_stress": "8 MPa"})
    assert {each.field: each.origin for each in typed.inputs()}["film.yield_stress"].is_placeholder


def test_entry_of_a_list(today: Case) -> None:
    assert len(today.carriage.rollers or ()) > 1
    moved = today.change({"carriage.rollers[1].x": "123 mm"})
    assert moved.carriage.rollers is not None
    assert moved.carriage.rollers[1].x == pytest.approx(0.123)
    assert moved.carriage.rollers[0] == (today.carriage.rollers or ())[0]


@pytest.mark.parametrize(
    ("path", "given", "words"),
    [
        ("film.thickness", "-47 gauge", "film.thickness: -47 gauge; allowed: more than"),
        ("film.thickness", "47 N", "That is a force"),
        ("film.thickness", 47, "without a unit"),
        ("film.thikness", "47 gauge", 'Did you mean "thickness"'),
        ("thickness", "47 gauge", 'Did you mean "film.thickness"'),
        ("film", 3, "allowed: a table of fields"),
        ("film.thickness.value", "47 gauge", "a field without others inside"),
        ("film.thickness[0]", "47 gauge", "the name alone"),
        ("carriage.rollers[99].x", "1 mm", "allowed: an index from 0 to"),
        ("carriage.rollers.x", "1 mm", "allowed: one entry of it"),
        ("machine.kind", "hoverboard", 'allowed: one of "'),
        ("film.thickness", None, "film.thickness: nothing; allowed: a value"),
        ("", "x", "unknown key"),
    ],
)
def test_refused(today: Case, path: str, given: Any, words: str) -> None:
    with pytest.raises(InputError) as caught:
        today.change({path: given})
    assert words in str(caught.value)


def test_every_fault_is_named_at_once(today: Case) -> None:
    with pytest.raises(InputError) as caught:
        today.change({"film.thickness": "1 N", "load.hieght": "1 m"})
    assert len(caught.value.problems) == 2
