"""One sheet's cells: raw values become typed text, unit and SI value, or a named problem."""

from __future__ import annotations

import datetime
import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from woold.errors import Problem, UnitError
from woold.store import Cell
from woold.trial.sheets import Sheet, SheetField, in_any_language
from woold.units import KINDS, parse_quantity
from woold.words import say

__all__ = ["CellReader", "SheetRow", "SheetRows", "cell_name"]

_LONGEST_WORD, _LONGEST_NOTE = 120, 5_000


def cell_name(column: int, row: int) -> str:
    """Name of a cell as a spreadsheet shows it: column from 0, row from 1."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"


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
        unit_row: row in which units stand, from 1.
        rows: rows with anything in them.
    """

    sheet: Sheet
    title: str
    columns: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    unit_row: int = 0
    rows: list[SheetRow] = field(default_factory=list)

    def place(self, name: str, row: int) -> str:
        """Sheet and cell of a field in a row."""
        return f"{self.title}!{cell_name(self.columns.get(name, 0), row)}"


class CellReader:
    """Turns raw cells into typed ones, gathering every problem."""

    def __init__(self, table: SheetRows, problems: list[Problem]) -> None:
        self.table = table
        self.problems = problems
        self.factors: dict[str, float | None] = {}
        self.without_unit: dict[str, int] = {}

    def row(self, line: list[Any], number: int, formulas: set[str]) -> dict[str, Cell]:
        cells: dict[str, Cell] = {}
        for each in self.table.sheet.fields:
            column = self.table.columns.get(each.name)
            if column is None or column >= len(line):
                continue
            raw = line[column]
            if raw == "" or raw is None or (isinstance(raw, str) and not raw.strip()):
                continue
            if formulas and cell_name(column, number) in formulas:
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
            raise self._bad(each, number, say("a date or time ({value})", value=raw))
        if isinstance(raw, bool):
            raise self._bad(each, number, str(raw).upper())
        if isinstance(raw, int | float):
            if raw != raw or abs(raw) > 1e15:
                raise self._bad(each, number, str(raw))
            typed = str(int(raw)) if float(raw).is_integer() else repr(float(raw))
        else:
            typed = raw.strip()
        if each.is_quantity:
            return self._quantity(each, raw, typed, number)
        if each.kind in ("number", "count"):
            try:
                value = float(typed)
            except ValueError:
                if not re.fullmatch(r"[-+\u2212]?[\d.,]*[.,]\d+", typed):
                    raise self._bad(each, number, repr(typed)) from None
                # A decimal comma, or marks between thousands, as quantities are read.
                value = parse_quantity(typed, "ratio", self.table.place(each.name, number))
            if value != value or abs(value) > 1e15 or (each.kind == "count" and value % 1):
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
        if not bare:
            match = re.fullmatch(r"([-+0-9.eE]+)\s*(.*)", typed, re.DOTALL)
            si = parse_quantity(typed, each.kind, where)
            return Cell(match[1], match[2], si) if match else Cell(typed, "", si)
        unit = self.table.units.get(each.name, "")
        if not unit:
            self.without_unit[each.name] = self.without_unit.get(each.name, 0) + 1
            return None
        factor = self._factor(each, unit)
        if factor is None:
            return None
        try:
            value = float(typed)
        except ValueError:
            if not re.search(r"[,\u2212]", typed):
                raise self._bad(each, number, repr(typed)) from None
            return Cell(typed, unit, parse_quantity(f"{typed} {unit}", each.kind, where))
        return Cell(typed, unit, value * factor)

    def _factor(self, each: SheetField, unit: str) -> float | None:
        """SI value of one of a column's unit; None where the unit was refused."""
        if each.name not in self.factors:
            where = self.table.place(each.name, self.table.unit_row)
            try:
                self.factors[each.name] = parse_quantity(f"1 {unit}", each.kind, where)
            except UnitError:
                self.factors[each.name] = None
                self.problems.append(
                    Problem(
                        where,
                        say('unit "{unit}"', unit=unit),
                        ", ".join(each.units),
                        say("Choose one of them."),
                    )
                )
        return self.factors[each.name]

    def ask_for_units(self) -> None:
        for name, count in self.without_unit.items():
            each = next(known for known in self.table.sheet.fields if known.name == name)
            self.problems.append(
                Problem(
                    self.table.place(name, self.table.unit_row),
                    say("numbers without a unit: {count}", count=count),
                    ", ".join(each.units),
                    say("Choose the column's unit."),
                )
            )

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
