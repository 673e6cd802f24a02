"""The page of numbers that a person acts on is complete, and names tests that exist."""

from __future__ import annotations

import dataclasses
import importlib
import pkgutil
import re
import typing
from collections.abc import Iterator
from pathlib import Path
from types import UnionType
from typing import Any

import pytest

import woold
from woold.carriages.comparison import CarriageComparison, InchOfWidth, SavingCause, SavingSpent
from woold.prediction.result import HeightPoint, Part, Prediction
from woold.rows.told import Told

TESTS = Path(__file__).parents[1]
PAGE = (TESTS.parent / "docs" / "numbers.md").read_text(encoding="utf-8")
ROWS = [
    [cell.strip() for cell in line.strip("|").split(" | ")]
    for line in PAGE.splitlines()
    if line.startswith("| ") and not line.startswith("| number |")
]
ACTED_ON = (
    *("film", "width", "layers", "containment", "force", "time", "speed", "margins", "spring"),
    *("share of what is asked", "saving", "interval", "claim", "alarm", "cost", "tax", "emission"),
)


def is_number(kind: Any) -> bool:
    """Whether a field holds a number, or one that may be missing."""
    if isinstance(kind, UnionType):
        return any(is_number(each) for each in typing.get_args(kind))
    return kind in (float, int)


def numbers_of(model: Any) -> Iterator[str]:
    hints = typing.get_type_hints(model)
    names = (
        [each.name for each in dataclasses.fields(model)]
        if dataclasses.is_dataclass(model)
        else model._fields
    )
    yield from (name for name in names if is_number(hints[name]))


def in_section(name: str) -> str:
    """Text of one section of the page."""
    found = re.search(rf"^## {re.escape(name)}\n(.*?)(?=^## |\Z)", PAGE, re.S | re.M)
    return found[1] if found else ""


@pytest.mark.parametrize(
    ("model", "section"),
    [
        (Prediction, "prediction"),
        (Part, "prediction"),
        (HeightPoint, "prediction"),
        (CarriageComparison, "carriage-comparison"),
        (SavingCause, "carriage-comparison"),
        (SavingSpent, "carriage-comparison"),
        (InchOfWidth, "carriage-comparison"),
    ],
)
def test_every_number_has_its_row(model: Any, section: str) -> None:
    listed = set(re.findall(r"`(\w+)`", in_section(section)))
    missing = set(numbers_of(model)) - listed
    assert not missing, f"docs/numbers.md, {section}: add a row, with a test from outside"


def test_every_kind_of_document_has_its_section() -> None:
    for module in pkgutil.walk_packages(woold.__path__, "woold."):
        if module.name.split(".")[1] in ("carriages", "design", "dancer", "transport", "trial"):
            importlib.import_module(module.name)
    for name in ("prediction.result", "verdict.result", "library.studies"):
        importlib.import_module(f"woold.{name}")
    kinds = {each.told_as for each in Told.__subclasses__() if each.told_as}
    assert len(kinds) > 10
    assert not {each for each in kinds if "::" not in in_section(each)}


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
