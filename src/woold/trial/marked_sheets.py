"""A filled sheet as it was written, with the cells marked that cannot be taken as they are."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from woold.errors import Problem
from woold.tables.workbook_xlsx import cell_address
from woold.trial.confirmed import cells_named
from woold.trial.reading import WrittenTrial
from woold.trial.sheet_cells import cell_name
from woold.trial.sheet_table import HEAD_ROWS

__all__ = ["MarkedCell", "MarkedRow", "MarkedSheet", "marked_sheets"]

_MOST_ROWS = 60
_LONGEST = 80


@dataclass(frozen=True, slots=True)
class MarkedCell:
    """A cell.

    Args:
        text: what stands in it.
        problems: places of what is wrong with it, in the list of problems.
    """

    text: str
    problems: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class MarkedRow:
    """A row.

    Args:
        number: in the file, from 1.
        is_head: whether it holds column heads or units.
        cells: in the order of the sheet's columns that are shown.
    """

    number: int
    is_head: bool
    cells: tuple[MarkedCell, ...]


@dataclass(frozen=True, slots=True)
class MarkedSheet:
    """The rows of a sheet that hold something to mend, below its heads.

    Args:
        title: its name in the file.
        columns: letters of its columns that are shown.
        rows: heads and marked rows, in their order.
        left_out: marked rows that are not shown, since there are many.
        problems: places of what is wrong with the sheet as a whole.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[MarkedRow, ...]
    left_out: int
    problems: tuple[int, ...]


def marked_sheets(written: WrittenTrial, problems: Sequence[Problem]) -> tuple[MarkedSheet, ...]:
    """The sheets of a file that hold any of the problems.

    Args:
        written: the file as read.
        problems: what cannot be taken, each by sheet and cells, "Loads!F12".
    """
    found = (_marked(title, written, problems) for title in written.lines)
    return tuple(each for each in found if each is not None)


def _marked(title: str, written: WrittenTrial, problems: Sequence[Problem]) -> MarkedSheet | None:
    marks: dict[tuple[int, int], list[int]] = {}
    whole = []
    for place, each in enumerate(problems):
        if each.field == title:
            whole.append(place)
        sheet = each.field.rpartition("!")[0]
        for cell in cells_named(each.field) if sheet == title else ():
            marks.setdefault(cell_address(cell.rpartition("!")[2]), []).append(place)
    if not marks and not whole:
        return None
    lines = written.lines[title]
    heads = _head_rows(title, written)
    rows = sorted({row for row, _ in marks} - heads)
    shown = sorted({*heads, *rows[:_MOST_ROWS]})
    columns = _columns(lines, shown, marks)
    return MarkedSheet(
        title=title,
        columns=tuple(cell_name(column, 0).rstrip("0") for column in columns),
        rows=tuple(
            MarkedRow(
                row + 1,
                row in heads,
                tuple(
                    MarkedCell(_text(lines, row, column), tuple(marks.get((row, column), ())))
                    for column in columns
                ),
            )
            for row in shown
        ),
        left_out=max(len(rows) - _MOST_ROWS, 0),
        problems=tuple(whole),
    )


def _head_rows(title: str, written: WrittenTrial) -> set[int]:
    """Rows of heads and units, from 0; the first ones where no heads were found."""
    table = next((each for each in written.sheets if each.title == title), None)
    if table is None or not table.head_row:
        lines = written.lines[title]
        return set(range(min(len(lines), HEAD_ROWS // 2)))
    return {each - 1 for each in (table.head_row, table.unit_row) if each}


def _columns(
    lines: Sequence[Sequence[Any]],
    rows: Collection[int],
    marks: Mapping[tuple[int, int], Sequence[int]],
) -> list[int]:
    """Columns with anything in the rows that are shown, and those that are marked."""
    inside = [row for row in rows if row < len(lines)]
    widest = max((len(lines[row]) for row in inside), default=0)
    filled = {
        column
        for row, column in itertools.product(inside, range(widest))
        if _text(lines, row, column)
    }
    return sorted(filled | {column for _, column in marks})


def _text(lines: Sequence[Sequence[Any]], row: int, column: int) -> str:
    """What stands in a cell, as short as a table needs it."""
    if row >= len(lines) or column >= len(lines[row]):
        return ""
    raw = lines[row][column]
    if isinstance(raw, bool) or raw is None:
        text = "" if raw is None else str(raw)
    elif isinstance(raw, float):
        text = f"{raw:.10g}"
    elif isinstance(raw, datetime.datetime):
        text = raw.isoformat(sep=" ")
    else:
        text = str(raw).strip()
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"
