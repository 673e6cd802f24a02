"""The page of numbers that a person acts on is complete, and names tests that exist."""

from __future__ import annotations

import dataclasses
import re
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from pseudo_words import json_models
from woold.carriages.comparison import ComparedCarriage
from woold.dancer.results import TraceStudy
from woold.prediction.result import Prediction, RestsOn
from woold.verdict.result import Verdict

TESTS = Path(__file__).parents[1]
PAGE = (TESTS.parent / "docs" / "numbers.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split(" | ")]
    for line in PAGE.splitlines()
    if line.startswith("| ") and not line.startswith("| number |")
]
ACTED_ON = (
    *("film", "width", "layers", "containment", "force", "time", "speed", "margin", "spring"),
    *("share of what is asked", "saving", "interval", "claim", "alarm", "cost", "tax", "emission"),
)


WITHOUT_RESULT = (
    *("errors", "case", "starter", "account", "accounts", "report", "demo"),
    *("store-check", "store-backup", "store-restored", "trial-sheet", "entries-taken"),
    *("correction", "photos", "export", "trials", "imported", "shelf", "shelf-since"),
)
"""Documents that say what was done or typed, and no number of their own that one acts on."""

RESULTS = {name: each for name, each in json_models().items() if name not in WITHOUT_RESULT}
OF_ANOTHER = (Prediction, Verdict, RestsOn, ComparedCarriage, TraceStudy)
"""Parts of a document whose numbers stand in a section of their own."""
BESIDE = {
    "transport": ("transport-simulation", "transport-calibration"),
    "film": ("trace",),
}
"""Sections whose numbers a document holds as well."""


def holds_a_number(kind: Any) -> bool:
    """Whether a field holds a number, a list of them, or one that may be missing."""
    return kind in (float, int) or any(holds_a_number(each) for each in typing.get_args(kind))


def numbers_of(kind: Any, whole: Any, seen: set[Any]) -> Iterator[str]:
    """Names of the fields that hold numbers, in a document and the parts of its own."""
    for inner in typing.get_args(kind):
        yield from numbers_of(inner, whole, seen)
    if not (dataclasses.is_dataclass(kind) or hasattr(kind, "_fields")) or kind in seen:
        return
    if kind in OF_ANOTHER and not issubclass(whole, kind):
        return
    seen.add(kind)
    kept = dataclasses.fields(kind) if dataclasses.is_dataclass(kind) else ()
    hidden = {each.name for each in kept if not each.compare}
    for name, inner in typing.get_type_hints(kind).items():
        if name in hidden:
            continue
        if holds_a_number(inner):
            yield name
        yield from numbers_of(inner, whole, seen)


def in_section(name: str) -> str:
    """Text of one section of the page."""
    found = re.search(rf"^## {re.escape(name)}\n(.*?)(?=^## |\Z)", PAGE, re.S | re.M)
    return found[1] if found else ""


def without_row(name: str, model: Any) -> set[str]:
    """Numbers of a document that stand in none of its rows."""
    listed = {
        each
        for section in (name, *BESIDE.get(name, ()))
        for each in re.findall(r"`(\w+)`", in_section(section))
    }
    return set(numbers_of(model, model, set())) - listed


@pytest.mark.parametrize("name", RESULTS)
def test_every_number_has_its_row(name: str) -> None:
    missing = without_row(name, RESULTS[name])
    assert not missing, f"docs/numbers.md, {name}: add a row, with a test from outside"


@pytest.mark.parametrize("name", RESULTS)
def test_a_number_that_is_added_is_missed(name: str) -> None:
    """To the document itself, and to parts of it that may be missing, in lists and by name."""
    part = dataclasses.make_dataclass("Part", [("added_n", float | None)])
    added: list[tuple[str, Any, Any]] = [
        ("added_kg", float, 0.0),
        ("added_counts", tuple[int, ...] | None, None),
        ("added_parts", dict[str, tuple[part, ...]] | None, None),  # type: ignore[valid-type]
    ]
    more = dataclasses.make_dataclass(
        "More", added, bases=(RESULTS[name],), frozen=True, kw_only=True
    )
    assert without_row(name, more) == {"added_kg", "added_counts", "added_n"}


TYPED = {"ChartSettings", "Aim", "QuoteFacts"}
"""What somebody typed, which a document only says again."""


PLAIN = (float, int, str, bool, type(None))


def of_another_kind(kind: Any, seen: set[Any]) -> Iterator[str]:
    """Names of the kinds in a document in which no number would be seen."""
    for inner in typing.get_args(kind):
        yield from of_another_kind(inner, seen)
    if dataclasses.is_dataclass(kind) or hasattr(kind, "_fields"):
        if kind not in seen:
            seen.add(kind)
            kept = dataclasses.fields(kind) if dataclasses.is_dataclass(kind) else ()
            hidden = {each.name for each in kept if not each.compare}
            for name, inner in typing.get_type_hints(kind).items():
                if name not in hidden:
                    yield from of_another_kind(inner, seen)
    elif isinstance(kind, type) and kind not in PLAIN and not typing.get_args(kind):
        yield kind.__name__


def test_no_number_is_hidden_in_another_kind_of_part() -> None:
    found = {each for model in RESULTS.values() for each in of_another_kind(model, set())}
    assert found == TYPED


def test_no_row_names_a_number_that_went() -> None:
    for name, model in RESULTS.items():
        known = set(numbers_of(model, model, set())) | set(json_keys(model, set()))
        listed = set(re.findall(r"`([a-z0-9_]+)`", in_section(name)))
        assert listed <= known, name


def json_keys(kind: Any, seen: set[Any]) -> Iterator[str]:
    """Names of every field of a document, of other sections' parts as well."""
    for inner in typing.get_args(kind):
        yield from json_keys(inner, seen)
    if not (dataclasses.is_dataclass(kind) or hasattr(kind, "_fields")) or kind in seen:
        return
    seen.add(kind)
    for name, inner in typing.get_type_hints(kind).items():
        yield name
        yield from json_keys(inner, seen)


def test_every_row_names_a_test_that_exists_and_a_source() -> None:
    assert len(ROWS) > 80
    for number, test, source in ROWS:
        file, _, name = test.strip("`").partition("::")
        text = (TESTS / file).read_text(encoding="utf-8")
        assert f"def {name}(" in text, test
        assert number
        assert source


def test_everything_acted_on_is_there() -> None:
    numbers = " ".join(row[0] for row in ROWS)
    assert not {each for each in ACTED_ON if each not in numbers}
