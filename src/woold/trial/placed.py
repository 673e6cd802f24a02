"""Rows of a file, each with the record that it is about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from woold.errors import Problem
from woold.store import Cell
from woold.trial.measured_rows import is_measured
from woold.trial.records import record_key
from woold.trial.sheet_cells import SheetRow, SheetRows
from woold.words import say

__all__ = ["Placed", "Rows", "placed_rows"]


@dataclass(frozen=True, slots=True)
class Placed:
    """A row and the record that it is about.

    Args:
        table, row: where it stands.
        kind, key: of its record.
        reason: why it does not count, of a wrap that does not.
    """

    table: SheetRows
    row: SheetRow
    kind: str
    key: str
    reason: str = ""

    @property
    def cells(self) -> Mapping[str, Cell]:
        """Its cells, by field."""
        return self.row.cells

    def place(self, name: str) -> str:
        """Sheet and cell of a field."""
        return self.table.place(name, self.row.number)


@dataclass
class Rows:
    """The rows of a file.

    Args:
        measured: those with a reading.
        printed: loads of which nothing was measured, by key.
        seen: every load that has a row, complete or not.
        unused: number of rows without a reading.
        said: what they hold that is not kept, each a sentence.
    """

    measured: list[Placed]
    printed: dict[str, Placed]
    seen: set[str]
    unused: int
    said: list[str]


def placed_rows(tables: Iterable[SheetRows], problems: list[Problem]) -> Rows:
    """Rows with a reading, complete and named; the others counted.

    Args:
        tables: sheets of a file.
        problems: to which what is missing is added.
    """
    found = Rows([], {}, set(), 0, [])
    for table in tables:
        above: Mapping[str, Cell] | None = None
        noted: list[str] = []
        filled: list[str] = []
        for row in table.rows:
            placed = Placed(table, row, table.sheet.kind, record_key(table.sheet.kind, row.cells))
            if table.sheet.kind == "load" and "load" in row.cells:
                found.seen.add(placed.key)
            if is_measured(table.sheet, row.cells, above):
                if is_complete(placed, problems):
                    found.measured.append(placed)
            else:
                found.unused += 1
                if table.sheet.kind == "load" and "load" in row.cells:
                    found.printed.setdefault(placed.key, placed)
                if "notes" in row.cells:
                    noted.append(placed.place("notes"))
                if _FILLED & row.cells.keys():
                    filled.append(str(row.number))
            above = row.cells
        found.said += _left_out(table, noted, filled)
    return found


_FILLED = frozenset(("tare", "breaks", "cycle_time", "turns", "age"))


def _left_out(table: SheetRows, noted: list[str], filled: list[str]) -> list[str]:
    said = []
    if noted:
        said.append(
            say("Notes beside loads of which nothing was measured are not kept: {cells}.",
                cells=_shortened(noted))
        )  # fmt: skip
    if filled:
        said.append(
            say(
                "Rows of {sheet} with a bag, breaks, turns or a time alone, as they are filled"
                " down, are no loads or readings: {rows}.",
                sheet=table.title,
                rows=_shortened(filled),
            )
        )
    return said


def _shortened(names: list[str]) -> str:
    return ", ".join(names[:8]) + (", …" if len(names) > 8 else "")


def is_complete(placed: Placed, problems: list[Problem]) -> bool:
    """Whether a row has all that is needed of it; what is missing is added to the problems."""
    fields = placed.table.sheet.fields
    missing = [each for each in fields if each.required and each.name not in placed.cells]
    refused = {problem.field for problem in problems} if missing else set()
    for each in missing:
        where = placed.place(each.name)
        spoilt = (placed.row.number - 1, placed.table.columns.get(each.name, -1))
        if where in refused or each.name not in placed.table.columns:
            continue
        if spoilt in placed.table.spoilt:
            continue
        todo = say("Fill it in, or empty the row.")
        problems.append(Problem(where, say("nothing"), say(each.doc), todo))
    return not missing
