"""Which cells were confirmed, and many problems of one cause put into one."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence

from woold.errors import ManyCells, ManyQuestions, OnRecord, Problem, Question
from woold.tables.workbook_xlsx import cell_address
from woold.trial.sheet_cells import cell_name
from woold.words import say

__all__ = ["Confirmed", "cells_named", "grouped"]

_FEWEST = 3
"""Problems of one cause that are told as one."""
_SHOWN, _MOST_RUNS = 3, 20
_CELL = re.compile(r"(.*)!([A-Z]{1,3})(\d{1,7})")
_RANGE = re.compile(r"([A-Z]{1,3}\d{1,7})(?::([A-Z]{1,3}\d{1,7}))?")
_MOST_CELLS = 200_000


class Confirmed:
    """Cells that were asked about and are right: "Loads!F12", "Pulls!D3:D14, D20" or a sheet.

    Args:
        names: as they were given.
    """

    def __init__(self, names: Collection[str]) -> None:
        self.names = set(names)
        for name in names:
            self.names |= cells_named(name)

    def __contains__(self, name: object) -> bool:
        return name in self.names


def cells_named(name: str) -> set[str]:
    """Each cell of a name such as "Pulls!D3:D14, D20"; none where it is no such name.

    Args:
        name: of cells of one sheet.
    """
    title, mark, rest = name.rpartition("!")
    found: set[str] = set()
    for part in rest.split(",") if mark else ():
        area = _RANGE.fullmatch(part.strip().upper())
        if area is None:
            return set()
        first, last = cell_address(area[1]), cell_address(area[2] or area[1])
        rows, columns = range(first[0], last[0] + 1), range(first[1], last[1] + 1)
        if len(rows) * len(columns) > _MOST_CELLS:
            return set()
        found |= {f"{title}!{cell_name(column, row + 1)}" for row in rows for column in columns}
    return found


def grouped(problems: Iterable[Problem]) -> list[Problem]:
    """The problems, those of a whole sheet first, then cell by cell; those of one cause as one."""
    causes: dict[tuple[object, ...], list[Problem]] = {}
    for each in problems:
        cell = _CELL.fullmatch(each.field)
        alone = each.field if cell is None else ""
        where = (cell[1], cell[2]) if cell is not None else ("", "")
        # What differs from the record has one cause, whatever stands there.
        allowed = "" if isinstance(each, OnRecord) else each.allowed
        causes.setdefault((type(each), alone, where, allowed, each.todo), []).append(each)
    found = [
        one
        for some in causes.values()
        for one in ([_as_one(some)] if len(some) >= _FEWEST else some)
    ]
    return sorted(found, key=_by_cell)


def _as_one(problems: Sequence[Problem]) -> Problem:
    first = problems[0]
    match = _CELL.fullmatch(first.field)
    assert match is not None
    rows = sorted({int(each.field.rpartition("!")[2][len(match[2]) :]) for each in problems})
    runs = _runs(match[2], rows)
    if len(runs) > _MOST_RUNS:  # scattered over the column: the area that holds them
        runs = [f"{match[2]}{rows[0]}:{match[2]}{rows[-1]}"]
    field = f"{match[1]}!{', '.join(runs)}"
    given = _some([each.shortly for each in problems])
    if isinstance(first, OnRecord):
        return OnRecord(field, given, _some([each.allowed for each in problems]), first.todo)
    if isinstance(first, Question):
        return ManyQuestions(field, given, first.allowed, first.todo, count=len(rows))
    return ManyCells(field, given, first.allowed, first.todo, count=len(rows))


def _some(texts: Sequence[str]) -> str:
    """The first of them that differ."""
    different = list(dict.fromkeys(texts))
    some = "; ".join(different[:_SHOWN])
    return say("{given} and others", given=some) if len(different) > _SHOWN else some


def _runs(column: str, rows: Sequence[int]) -> list[str]:
    """Rows that follow one another as ranges: D3:D14, D20."""
    runs: list[list[int]] = []
    for row in rows:
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    return [
        f"{column}{first}" if first == last else f"{column}{first}:{column}{last}"
        for first, last in runs
    ]


def _by_cell(problem: Problem) -> tuple[int, str, int, int, str]:
    """What a whole sheet lacks comes first: it is the cause of what its cells lack."""
    match = re.match(r"(.*)!([A-Z]+)(\d+)", problem.field)
    if match is None:
        return 0, problem.field, 0, 0, ""
    return 1, match[1], int(match[3]), len(match[2]), match[2]
