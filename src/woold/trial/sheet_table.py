"""One sheet's table: heads, units wherever they stand, rows, and what would be dropped."""

from __future__ import annotations

import difflib
import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import Any

from woold.errors import Problem, Question, UnitError
from woold.tables.sheet_marks import SheetMarks
from woold.tables.text_table import split_heading
from woold.trial.sheet_cells import CellReader, SheetRow, SheetRows, cell_name
from woold.trial.sheets import SHEETS, Sheet, SheetField, field_named, in_any_language
from woold.trial.worksheet import UNIT_HEAD
from woold.units import KINDS, parse_quantity
from woold.words import say

__all__ = ["HEAD_ROWS", "fitting_sheet", "read_table"]

_MOST_BEHIND = 12
"""Values behind a merged cell that are told."""
HEAD_ROWS = 12
"""Rows in which heads are looked for; titles may stand above them."""

_DECIMAL_COMMA = re.compile(r"[-+\u2212]?\d+,(?:\d{1,2}|\d{4,})(?!\d).*", re.DOTALL)
_DECIMAL_POINT = re.compile(r"[-+\u2212]?\d+\.\d+(?!\d).*", re.DOTALL)

Line = Sequence[Any]


def fitting_sheet(line: Line) -> Sheet | None:
    """The sheet whose required heads all stand in a line; the one with most heads of several."""
    names = [split_heading(str(head))[0] for head in line if str(head).strip()]
    best, most = None, 0
    for sheet in SHEETS:
        known = {each.name for name in names if (each := field_named(sheet.fields, name))}
        required = {each.name for each in sheet.fields if each.required}
        if required <= known and len(known) > most:
            best, most = sheet, len(known)
    return best


def read_table(
    lines: Sequence[Line],
    sheet: Sheet,
    title: str,
    marks: SheetMarks,
    decimal_comma: bool | None = None,
) -> tuple[SheetRows | None, list[Problem], list[str]]:
    """The rows of a sheet, what is wrong with it, and what else was found, each a sentence.

    Args:
        lines: its cells, row by row from the first.
        sheet: what its rows are.
        title: its name in the file.
        marks: formulas, errors, merged cells and hidden rows.
        decimal_comma: 1,5 is one and a half; found out from the cells where not given.
    """
    reading = _Reading(lines, SheetRows(sheet, title), marks)
    return reading.read(decimal_comma)


class _Reading:
    """Reads one table; gathers problems and what is said."""

    def __init__(self, lines: Sequence[Line], table: SheetRows, marks: SheetMarks) -> None:
        self.lines, self.table, self.marks = lines, table, marks
        self.problems: list[Problem] = []
        self.said: list[str] = []

    def read(self, decimal_comma: bool | None) -> tuple[SheetRows | None, list[Problem], list[str]]:
        head = self._head_row()
        if head is None:
            self._problem(
                "A1",
                say("no row of column heads"),
                ", ".join(say(each.label) for each in self.table.sheet.fields),
                say("Keep the heads of the worksheet."),
            )
            return None, self.problems, self.said
        self.table.head_row = head + 1
        self._read_heads(self.lines[head], head + 1)
        units = self._unit_rows(head)
        if units:
            self._read_units(units[0])
        elif self.table.unit_row == 0:
            self.table.unit_row = head + 1
        body = [
            row
            for row in range(head + 1, len(self.lines))
            if row not in units and not self._is_head_again(row)
        ]
        self._spoilt_cells(body)
        if decimal_comma is None:
            decimal_comma = self._has_decimal_comma(body)
        reader = CellReader(self.table, self.problems, decimal_comma)
        for row in body:
            cells = reader.row(self.lines[row], row + 1, self.table.spoilt)
            if cells:
                self.table.rows.append(SheetRow(row + 1, cells))
        reader.ask_for_units()
        self._unheaded(head, body)
        self._hidden(body)
        return self.table, self.problems, self.said

    def _problem(self, cell: str, given: str, allowed: str, todo: str) -> None:
        self.problems.append(Problem(f"{self.table.title}!{cell}", given, allowed, todo))

    def _head_row(self) -> int | None:
        """The row with most heads, among the first ones: all that is needed, or half of it."""
        required = {each.name for each in self.table.sheet.fields if each.required}
        best, most = None, 0
        for row, line in enumerate(self.lines[:HEAD_ROWS]):
            known = {each.name for cell in line if (each := self._field(str(cell))) is not None}
            if len(known & required) * 2 >= len(required) and len(known) > most:
                best, most = row, len(known)
        return best

    def _is_head_again(self, row: int) -> bool:
        """Whether a row repeats the heads, as a table copied below another one brings them."""
        line = self.lines[row]
        again = [
            each is not None and self.table.columns.get(each.name) == column
            for column, cell in enumerate(line)
            if isinstance(cell, str) and cell.strip()
            for each in (self._field(cell),)
        ]
        return len(again) > 1 and all(again)

    def _field(self, head: str) -> SheetField | None:
        name, _ = split_heading(head)
        return field_named(self.table.sheet.fields, name) if name else None

    def _read_heads(self, line: Line, row: int) -> None:
        table = self.table
        unknown: list[tuple[str, str]] = []
        for column, raw in enumerate(line):
            name, unit = split_heading(str(raw))
            if not name:
                continue
            known, where = field_named(table.sheet.fields, name), cell_name(column, row)
            if known is None:
                unknown.append((where, name))
            elif known.name in table.columns:
                self._problem(
                    where,
                    say('"{name}" again', name=name),
                    say("each column once"),
                    say("Take one of them out."),
                )
            else:
                table.columns[known.name] = column
                if unit:
                    table.units[known.name] = unit
        if table.units:
            table.unit_row = row
        self._unknown_heads(unknown)

    def _unknown_heads(self, unknown: list[tuple[str, str]]) -> None:
        fields = self.table.sheet.fields
        missing = [each for each in fields if each.required and each.name not in self.table.columns]
        for each in missing:
            names = ", ".join(f'"{name}" ({where})' for where, name in unknown)
            todo = (
                say("Was it renamed? Not known: {names}.", names=names)
                if unknown
                else say("Put it back.")
            )
            given = say('no column "{label}"', label=say(each.label))
            self.problems.append(Problem(self.table.title, given, say(each.doc), todo))
        if missing:
            return
        labels = tuple(say(each.label) for each in fields)
        for where, name in unknown:
            near = difflib.get_close_matches(name.casefold(), labels, n=1)
            todo = (
                say('Did you mean "{near}"?', near=near[0]) if near else say("Take the column out.")
            )
            given = say('unknown column "{name}"', name=name)
            self._problem(where, given, ", ".join(labels), todo)

    def _unit_rows(self, head: int) -> list[int]:
        """Where the units stand: below the heads, or wherever the rows were sorted to."""
        words = in_any_language(UNIT_HEAD)
        found = [
            row
            for row in range(head + 1, len(self.lines))
            if any(str(cell).strip().casefold() in words for cell in self._words(self.lines[row]))
            or self._holds_units_only(self.lines[row])
        ]
        for row in found[1:]:
            self._problem(
                cell_name(0, row + 1),
                say("a second row of units"),
                say("one; it stands in row {row}", row=found[0] + 1),
                say("Put both parts into one unit, and take this row out."),
            )
        if found and found[0] > head + 1:
            self.said.append(
                say(
                    "The units of {sheet} were found in row {row}.",
                    sheet=self.table.title,
                    row=found[0] + 1,
                )
            )
        return found

    def _words(self, line: Line) -> list[Any]:
        """Cells in which the word for the row of units may stand."""
        columns = {0, *(self.table.columns[each] for each in self.table.sheet.key[:1]
                        if each in self.table.columns)}  # fmt: skip
        return [line[column] for column in sorted(columns) if column < len(line)]

    def _holds_units_only(self, line: Line) -> bool:
        """Whether nothing but units stands in a line, the word before them having been lost."""
        count = 0
        for each in self.table.sheet.fields:
            column = self.table.columns.get(each.name)
            cell = "" if column is None or column >= len(line) else str(line[column]).strip()
            if cell and (not each.is_quantity or not _is_unit(cell, each)):
                return False
            count += bool(cell)
        return count > 1

    def _read_units(self, row: int) -> None:
        table, line = self.table, self.lines[row]
        table.unit_row = row + 1
        for each in table.sheet.fields:
            column = table.columns.get(each.name)
            if each.is_quantity and column is not None and column < len(line):
                table.units[each.name] = str(line[column]).strip() or table.units.get(each.name, "")

    def _spoilt_cells(self, body: Sequence[int]) -> None:
        """Cells whose value is not what somebody typed, each said; they are not read further."""
        known, rows = set(self.table.columns.values()), set(body) | {self.table.unit_row - 1}
        inside = {
            (row, column)
            for row, column in {*self.marks.formulas, *self.marks.errors}
            if row in rows and column in known
        }
        for row, column in sorted(inside):
            shown = self.marks.errors.get((row, column))
            is_formula = (row, column) in self.marks.formulas
            given = (
                say("a formula that shows {error}", error=shown)
                if is_formula and shown
                else say("a formula")
                if is_formula
                else say("the error {error}", error=shown)
            )
            todo = (
                say("Type the reading.")
                if is_formula
                else say("Type the reading, or empty the cell where nothing was measured.")
            )
            self._problem(cell_name(column, row + 1), given, say("what was read"), todo)
        self.table.spoilt |= inside
        self._merged_cells(rows, known)
        for row in body:
            for column in known:
                cell = self.lines[row][column] if column < len(self.lines[row]) else ""
                if isinstance(cell, str) and _ERROR.fullmatch(cell.strip()):
                    if (row, column) not in self.table.spoilt:
                        given = say("the error {error}", error=cell.strip())
                        todo = say(
                            "Type the reading, or empty the cell where nothing was measured."
                        )
                        self._problem(cell_name(column, row + 1), given, say("what was read"), todo)
                    self.table.spoilt.add((row, column))

    def _merged_cells(self, rows: set[int], known: set[int]) -> None:
        """Looks at merged cells; no two of them lie over one another in a sound workbook."""
        in_order, columns = sorted(rows), sorted(known)
        left_over = len(in_order) * len(columns)
        for first, left, last, right in dict.fromkeys(self.marks.merged):
            inside = in_order[bisect_left(in_order, first) : bisect_right(in_order, last)]
            beside = [column for column in columns if left <= column <= right]
            left_over -= len(inside) * len(beside)
            if left_over < 0:
                self._problem(
                    cell_name(left, first + 1), say("merged cells over other merged cells"),
                    say("one cell for each value"), say("Split them, and fill in each cell."),
                )  # fmt: skip
                return
            self._merged((first, left, last, right), [(r, c) for r in inside for c in beside])

    def _merged(self, area: tuple[int, int, int, int], cells: list[tuple[int, int]]) -> None:
        first, left, last, right = area
        behind = {
            cell: str(value)
            for cell in cells
            if cell != (first, left)
            and (value := self.marks.covered.get(cell) or self._raw(*cell)) not in ("", None)
        }
        notes = {self.table.columns.get("notes")}
        is_harmless = {column for _, column in cells} <= notes and not behind
        if len(cells) < 2 or is_harmless or not (self._raw(first, left) or behind):
            return
        where = f"{cell_name(left, first + 1)}:{cell_name(right, last + 1)}"
        hidden = ", ".join(
            f"{value} ({cell_name(column, row + 1)})"
            for (row, column), value in list(behind.items())[:_MOST_BEHIND]
        )
        hidden += ", \u2026" if len(behind) > _MOST_BEHIND else ""
        given = (
            say("merged into one cell, with more behind it: {hidden}", hidden=hidden)
            if hidden
            else say("merged into one cell")
        )
        self._problem(
            where, given, say("one cell for each value"), say("Split it, and fill in each cell.")
        )
        self.table.spoilt |= set(cells)

    def _raw(self, row: int, column: int) -> Any:
        if row >= len(self.lines) or column >= len(self.lines[row]):
            return ""
        cell = self.lines[row][column]
        return cell.strip() if isinstance(cell, str) else cell

    def _has_decimal_comma(self, body: Sequence[int]) -> bool:
        """Whether numbers typed as text have a comma as decimal mark, and none a point."""
        measured = [
            self.table.columns[each.name]
            for each in self.table.sheet.fields
            if each.name in self.table.columns and each.kind not in ("word", "note")
        ]
        texts = [
            cell.strip()
            for row in body
            for column in measured
            if isinstance(cell := self._raw(row, column), str) and cell
        ]
        return any(map(_DECIMAL_COMMA.fullmatch, texts)) and not any(
            map(_DECIMAL_POINT.fullmatch, texts)
        )

    def _unheaded(self, head: int, body: Sequence[int]) -> None:
        """What stands beside the table, in columns without a head, is asked about."""
        heads = {column for column, cell in enumerate(self.lines[head]) if str(cell).strip()} | set(
            self.table.columns.values()
        )
        for row in body:
            for column, raw in enumerate(self.lines[row]):
                if column in heads or raw is None or not str(raw).strip():
                    continue
                self.problems.append(
                    Question(
                        f"{self.table.title}!{cell_name(column, row + 1)}",
                        say("{text!r}, in a column without a head", text=str(raw).strip()[:60]),
                        say("nothing beside the table"),
                        say("It is not read. Does it belong into another column, or the notes?"),
                    )
                )

    def _hidden(self, body: Sequence[int]) -> None:
        hidden = [each.number for each in self.table.rows if each.number - 1 in self.marks.hidden]
        if hidden and body:
            rows = ", ".join(str(row) for row in hidden[:12]) + (", …" if len(hidden) > 12 else "")
            self.said.append(
                say("Rows of {sheet} that are hidden were read too: {rows}.",
                    sheet=self.table.title, rows=rows)
            )  # fmt: skip


_ERROR = re.compile(r"#(?:N/A|DIV/0!|VALUE!|REF!|NAME\?|NUM!|NULL!|[A-ZÀ-Ý/0-9]{2,12}[!?])|Err:\d+")


def _is_unit(text: str, field: SheetField) -> bool:
    if field.kind not in KINDS or re.search(r"\d", text):
        return False
    try:
        parse_quantity(f"1 {text}", field.kind, field.name)
    except UnitError:
        return False
    return True
