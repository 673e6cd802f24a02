"""One sheet's cells: raw values become typed text, unit and SI value, or a named problem."""

from __future__ import annotations

import datetime
import difflib
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from woold.errors import Problem, UnitError
from woold.store import Cell
from woold.tables.text_table import is_missing
from woold.trial.sheets import Sheet, SheetField, in_any_language
from woold.units import AMBIGUOUS, KINDS, parse_quantity
from woold.words import say

__all__ = ["CellReader", "SheetRow", "SheetRows", "cell_name"]

_LONGEST_WORD, _LONGEST_NOTE = 120, 5_000
_MOST = 1e15
_COMMA_NUMBER = re.compile(r"([-+\u2212]?\d{1,3}(?:\.\d{3})+|[-+\u2212]?\d+),(\d+)(?!\d)")


def cell_name(column: int, row: int) -> str:
    """Name of a cell as a spreadsheet shows it: column from 0, row from 1."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"


def _seconds_of(raw: Any) -> float | None:
    """A time of day, or a duration, in seconds; None of a date."""
    if isinstance(raw, datetime.timedelta):
        return raw.total_seconds()
    if isinstance(raw, datetime.datetime):
        # A spreadsheet's day 0: a time of day that was given the form of a date.
        return None if raw.year > 1900 else 3600.0 * raw.hour + 60.0 * raw.minute + raw.second
    if isinstance(raw, datetime.time):
        return 3600.0 * raw.hour + 60.0 * raw.minute + raw.second
    return None


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One row as written: its number in the file and its cells."""

    number: int
    cells: Mapping[str, Cell]


@dataclass
class SheetRows:
    """The rows of one sheet.

    Args:
        sheet: what it holds.
        title: its name in the file.
        columns: column of each field, from 0.
        units: unit of each quantity's column.
        head_row: row of the column heads, from 1.
        unit_row: row in which units stand, from 1.
        rows: rows with anything in them.
        spoilt: cells that were refused as they are, row and column from 0.
    """

    sheet: Sheet
    title: str
    columns: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    head_row: int = 0
    unit_row: int = 0
    rows: list[SheetRow] = field(default_factory=list)
    spoilt: set[tuple[int, int]] = field(default_factory=set)

    def place(self, name: str, row: int) -> str:
        """Sheet and cell of a field in a row."""
        return f"{self.title}!{cell_name(self.columns.get(name, 0), row)}"


class CellReader:
    """Turns raw cells into typed ones, gathering every problem."""

    def __init__(
        self, table: SheetRows, problems: list[Problem], decimal_comma: bool = False
    ) -> None:
        self.table = table
        self.problems = problems
        self.decimal_comma = decimal_comma
        self.factors: dict[str, float | None] = {}
        self.without_unit: dict[str, int] = {}

    def row(
        self, line: Sequence[Any], number: int, spoilt: Collection[tuple[int, int]] = ()
    ) -> dict[str, Cell]:
        """Cells of a line; those that are spoilt (row and column from 0) are passed over."""
        cells: dict[str, Cell] = {}
        for each in self.table.sheet.fields:
            column = self.table.columns.get(each.name)
            if column is None or column >= len(line):
                continue
            raw = line[column]
            if raw is None or (isinstance(raw, str) and not raw.strip()):
                continue
            if spoilt and (number - 1, column) in spoilt:
                continue
            if isinstance(raw, str) and each.kind not in ("word", "note") and is_missing(raw):
                continue
            try:
                cell = self._cell(each, raw, number)
            except UnitError as error:
                self.problems += error.problems
                continue
            if cell is not None:
                cells[each.name] = cell
        return cells

    def _cell(self, each: SheetField, raw: Any, number: int) -> Cell | None:
        if isinstance(raw, datetime.date | datetime.time | datetime.timedelta):
            raise self._date(each, raw, number)
        if isinstance(raw, bool):
            raise self._bad(each, number, str(raw).upper())
        if isinstance(raw, int | float):
            if raw != raw or abs(raw) > _MOST:
                raise self._bad(each, number, str(raw))
            typed = str(int(raw)) if float(raw).is_integer() else repr(float(raw))
        else:
            typed = raw.strip()
        if each.is_quantity:
            return self._quantity(each, raw, typed, number)
        if each.kind in ("number", "count"):
            plain = self._with_point(typed)
            try:
                value = float(plain)
            except ValueError:
                if not re.fullmatch(r"[-+\u2212]?[\d.,]*[.,]\d+", plain):
                    raise self._bad(each, number, repr(typed)) from None
                # A decimal comma, or marks between thousands, as quantities are read.
                value = parse_quantity(plain, "ratio", self.table.place(each.name, number))
            if value != value or abs(value) > _MOST or (each.kind == "count" and value % 1):
                raise self._bad(each, number, repr(typed))
            return Cell(typed, "", value)
        return Cell(self._word(each, typed, number))

    def _word(self, each: SheetField, typed: str, number: int) -> str:
        longest = _LONGEST_NOTE if each.kind == "note" else _LONGEST_WORD
        if len(typed) > longest:
            raise self._bad(
                each,
                number,
                say("{count} letters", count=len(typed)),
                say("at most {count} letters", count=longest),
            )
        if any(ord(letter) < 32 and letter not in "\n\t" for letter in typed):
            raise self._bad(each, number, say("unreadable letters"), say("plain text"))
        if each.choices:
            for choice in each.choices:
                if typed == choice or typed.casefold() in in_any_language(choice):
                    return choice
            near = difflib.get_close_matches(typed.casefold(), each.choices, n=1)
            todo = (
                say('Did you mean "{near}"?', near=near[0]) if near else say("Choose one of them.")
            )
            allowed = ", ".join(say(choice) for choice in each.choices)
            raise self._bad(each, number, repr(typed), allowed, todo)
        return typed

    def _quantity(self, each: SheetField, raw: Any, typed: str, number: int) -> Cell | None:
        where = self.table.place(each.name, number)
        bare = not isinstance(raw, str) or re.fullmatch(r"[-+\u22120-9.,eE]+", typed) is not None
        plain = self._with_point(typed)
        if not bare:
            match = re.fullmatch(r"([-+0-9.,eE]+)\s*(.*)", typed, re.DOTALL)
            si = parse_quantity(plain, each.kind, where)
            return Cell(match[1], match[2], si) if match else Cell(typed, "", si)
        unit = self.table.units.get(each.name, "")
        if not unit:
            self.without_unit[each.name] = self.without_unit.get(each.name, 0) + 1
            return None
        factor = self._factor(each, unit)
        if factor is None:
            return None
        try:
            value = float(plain)
        except ValueError:
            if not re.search(r"[,\u2212]", plain):
                raise self._bad(each, number, repr(typed)) from None
            return Cell(typed, unit, parse_quantity(f"{plain} {unit}", each.kind, where))
        if not abs(value) <= _MOST:
            raise self._bad(each, number, repr(typed))
        return Cell(typed, unit, value * factor)

    def _with_point(self, typed: str) -> str:
        """The text with a decimal point, where the table has a comma as decimal mark."""
        if not self.decimal_comma:
            return typed
        found = _COMMA_NUMBER.match(typed)
        if found is None:
            return typed
        return f"{found[1].replace('.', '')}.{found[2]}{typed[found.end() :]}"

    def _date(self, each: SheetField, raw: Any, number: int) -> UnitError:
        """What a spreadsheet made a date or a time of day of; a time may be one that was taken."""
        given, todo = say("a date or time ({value})", value=raw), ""
        if each.kind in ("time", "hours"):
            seconds = _seconds_of(raw)
            if seconds is not None:
                # Typed 2:20, which a spreadsheet takes for hours and minutes.
                todo = say(
                    "Type it with its unit: {one} if minutes and seconds are meant, {other} if"
                    " hours and minutes.",
                    one=f"{seconds / 60:g} s",
                    other=f"{seconds / 60:g} min",
                )
        else:
            todo = say("Type what was read; set the cell to text or number first.")
        return self._bad(each, number, given, todo=todo)

    def _factor(self, each: SheetField, unit: str) -> float | None:
        """SI value of one of a column's unit; None where the unit was refused."""
        if each.name not in self.factors:
            where = self.table.place(each.name, self.table.unit_row)
            try:
                self.factors[each.name] = parse_quantity(f"1 {unit}", each.kind, where)
            except UnitError as error:
                self.factors[each.name] = None
                is_known_to_differ = unit.casefold() in AMBIGUOUS
                todo = error.problems[0].todo if is_known_to_differ else say("Choose one of them.")
                given = say('unit "{unit}"', unit=unit)
                self.problems.append(Problem(where, given, ", ".join(each.units), todo))
        return self.factors[each.name]

    def ask_for_units(self) -> None:
        """One problem for all columns without a unit, where the row of units is gone."""
        fields = [each for each in self.table.sheet.fields if each.name in self.without_unit]
        if len(fields) > 1 and not self.table.units:
            columns = ", ".join(
                f"{say(each.label)} ({self.without_unit[each.name]})" for each in fields
            )
            self.problems.append(
                Problem(
                    self.table.title,
                    say("no row of units; numbers without a unit: {columns}", columns=columns),
                    say('a row with "unit" in its first cell, and each column\'s unit'),
                    say("Put it back below the heads."),
                )
            )
            return
        for each in fields:
            given = say("numbers without a unit: {count}", count=self.without_unit[each.name])
            where = self.table.place(each.name, self.table.unit_row)
            todo = say("Choose the column's unit.")
            self.problems.append(Problem(where, given, ", ".join(each.units), todo))

    def _bad(
        self, each: SheetField, number: int, given: str, allowed: str = "", todo: str = ""
    ) -> UnitError:
        if not allowed:
            kind = KINDS[each.kind].examples[0] if each.is_quantity else ""
            allowed = {
                "count": say("a whole number"),
                "number": say("a number"),
                "word": say("a word"),
                "note": say("text"),
            }.get(each.kind, say("a number, or a number with its unit such as {kind}", kind=kind))
        return UnitError.one(
            self.table.place(each.name, number), given, allowed, todo or say("Type what was read.")
        )
