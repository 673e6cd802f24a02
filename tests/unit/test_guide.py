"""The short form to start with: what it takes where nothing is typed, and what it says of that."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from woold.case.file import case_from_table
from woold.prediction.predict import predict
from woold.units import parse_quantity
from woold.web.form_fields import FormField, case_sections
from woold.web.guide import GUIDE, GuideField

FIELDS = [each for part in GUIDE for each in part.fields]
USUAL = [each for each in FIELDS if each.usual]


def _form_field(path: str) -> FormField:
    section, _, name = path.rpartition(".")
    fields = next(each.fields for each in case_sections() if each.name == section)
    return next(each for each in fields if each.name == name)


def test_every_field_of_the_form_is_one_of_a_case() -> None:
    for each in FIELDS:
        assert _form_field(each.path), each.path


def test_every_field_says_what_why_and_how() -> None:
    for each in FIELDS:
        assert all(text.endswith(".") for text in (each.what, each.why, each.how)), each.path


@pytest.mark.parametrize("field", USUAL, ids=lambda each: each.path)
def test_a_placeholder_lies_within_its_range(field: GuideField) -> None:
    kind = _form_field(field.path).kind
    low, usual, high = (
        parse_quantity(text, kind, field.path) if kind else float(text)
        for text in (field.low, field.usual, field.high)
    )
    assert low < usual < high


def _table(skipped: tuple[str, ...] = ()) -> dict[str, Any]:
    table: dict[str, Any] = {"title": "My load"}
    for each in FIELDS:
        value: Any = None
        if each.usual:
            value = {"value": each.usual, "origin": "placeholder: usual value"}
            value |= {"low": each.low, "high": each.high}
        elif each.must:
            value = int(each.example) if each.counted else each.example
        elif each.path == "transport.profiles":
            value = [each.choices[0][0]]
        if value is None or each.path in skipped:
            continue
        section, _, name = each.path.rpartition(".")
        table.setdefault(section, {})[name] = value
    return table


def test_five_figures_of_the_load_make_a_case_that_says_what_it_rests_on() -> None:
    case = case_from_table(_table())
    found = predict(case)
    # By hand: 4.4 m round, 14 to 15 turns, so some 64 m of film. 20 in by 63 gauge at 918 kg/m3 is
    # 7.46 g to the metre of roll; stretched 3.5 times 2.13 g: 0.136 kg, a little more where rollers
    # let some of the stretch go.
    assert found.film_mass_kg == pytest.approx(0.14, abs=0.02)
    rests_on = {each.field for each in found.rests_on}
    assert {each.path for each in USUAL} <= rests_on


def test_each_way_that_may_be_chosen_is_a_way_of_a_case() -> None:
    ways, supports = (
        next(each for each in FIELDS if each.path == path).choices
        for path in ("transport.profiles", "transport.supported")
    )
    for (way, _), (support, _) in itertools.product(ways, supports):
        if not way:
            continue
        table = _table()
        table["transport"] = {"profiles": [way]}
        if support:
            table["transport"]["supported"] = support.split(", ")
        assert case_from_table(table).transport is not None
