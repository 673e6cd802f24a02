"""What is written and read again is the same, and so is what is then written once more.

Worksheets, exports and copies of the store are tried in tests/unit/test_trial_sheets.py and
test_store_backup.py: here is what can be anything at all, texts and numbers.
"""

from __future__ import annotations

import csv
import io
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woold.case.file import starter_text
from woold.case.shelf import read_shelf
from woold.case.text import table_from_toml, toml_from_table
from woold.errors import WooldError
from woold.tables.text_table import Dialect, plain_number, table_of
from woold.trial.csv_text import as_text, from_text
from woold.trial.starter import starter_text as trial_starter
from woold.units import KINDS, parse_quantity, show

FAST = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])

# Letters that a file can hold: no lone halves of pairs.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
KEYS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12)
VALUES = st.one_of(
    TEXTS,
    st.booleans(),
    st.integers(-(2**52), 2**52),
    st.floats(allow_nan=False, allow_infinity=False),
    st.lists(TEXTS, max_size=4),
    st.fixed_dictionaries({"value": TEXTS, "origin": TEXTS}),
)
TABLES = st.dictionaries(
    KEYS,
    st.one_of(
        VALUES,
        st.dictionaries(KEYS, VALUES, max_size=4),
        st.lists(st.dictionaries(KEYS, VALUES, min_size=1, max_size=3), min_size=1, max_size=3),
    ),
    max_size=6,
)


@FAST
@given(TABLES)
def test_any_table_as_toml(table: dict[str, Any]) -> None:
    written = toml_from_table(table)
    again = table_from_toml(written)
    assert toml_from_table(again) == written
    # Python's own reader of TOML 1.0 (tomllib) finds the same in it.
    assert again == tomllib.loads(written)
    assert again == {name: each for name, each in table.items() if each != {}}


@FAST
@given(TEXTS)
def test_any_cell_of_an_export(cell: str) -> None:
    """What a spreadsheet would run is written so that it does not, and is read as it was."""
    assert from_text(as_text(cell)) == cell
    assert as_text(from_text(as_text(cell))) == as_text(cell)


CELLS = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), min_size=1, max_size=12
).map(str.strip)


@FAST
@given(
    st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=6),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    st.sampled_from(["\n", "\r\n"]),
)
def test_any_text_table(rows: list[list[str]], mark: str, encoding: str, end: str) -> None:
    """Written by Python's csv with every cell in quotation marks, as RFC 4180 has it."""
    heads = [["time", "machine", "note"], *rows]

    def written(table: list[list[str]]) -> bytes:
        stream = io.StringIO()
        csv.writer(stream, delimiter=mark, lineterminator=end, quoting=csv.QUOTE_ALL).writerows(
            table
        )
        return stream.getvalue().encode(encoding)

    content = written(heads)
    read = table_of(content, "table", "a table")
    assert read.dialect.separator == mark
    assert [cells for _, cells in read.rows] == [row for row in heads if any(row)]
    if all(any(row) for row in heads):
        assert written([cells for _, cells in read.rows]) == content


@FAST
@given(st.floats(-1e6, 1e6), st.booleans())
def test_any_number_in_a_cell(number: float, comma: bool) -> None:
    text = repr(round(number, 6))
    dialect = Dialect(";", comma)
    typed = text.replace(".", ",") if comma else text
    assert float(plain_number(typed, dialect)) == float(text)
    assert plain_number(plain_number(typed, dialect), Dialect(",", False)) == plain_number(
        typed, dialect
    )


@pytest.mark.parametrize("kind", [name for name in KINDS if name != "ratio"])
@FAST
@given(st.floats(1.0, 900.0), st.sampled_from(["si", "trade"]))
def test_any_quantity_that_is_shown(kind: str, amount: float, units: Any) -> None:
    """What a report shows can be typed: it is the same quantity, and is shown alike again."""
    facts = KINDS[kind]
    unit = facts.metric if units == "si" else facts.trade
    try:
        value = parse_quantity(f"{amount:.3g} {unit}".replace("percent", "%"), kind, "field")
    except WooldError:
        return  # a temperature below absolute zero, or beyond what the kind can be
    shown = show(value, kind, units)
    if "," in shown:
        return  # 1,234 is asked about: a comma may part thousands or decimals
    again = parse_quantity(shown, kind, "field")
    assert show(again, kind, units) == shown
    assert again == pytest.approx(value, rel=6e-3, abs=1e-9)


def test_files_to_start_from(tmp_path: Path) -> None:
    demo = files("woold.demo").joinpath("files")
    texts = {
        "case": starter_text(),
        "trial": trial_starter(),
        "demo's trial": demo.joinpath("trial.toml").read_text(encoding="utf-8"),
        "shelf": demo.joinpath("films.toml").read_text(encoding="utf-8"),
    }
    for name, text in texts.items():
        table = table_from_toml(text)
        written = toml_from_table(table)
        assert toml_from_table(table_from_toml(written)) == written, name
    path = tmp_path / "films.toml"
    path.write_text(toml_from_table(table_from_toml(texts["shelf"])), encoding="utf-8")
    assert read_shelf(path).films
