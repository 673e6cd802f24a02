"""A table of loads as it was read: CSV or Parquet, its headings known, its numbers in SI."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError, Problem, UnitError, errors_in
from woold.line.catalogue_columns import AMOUNTS, LABELS, NEEDED, ColumnHeading, known_heading
from woold.tables.parquet import is_parquet, parquet_frame
from woold.tables.text_table import is_missing, joined, plain_number, read_table
from woold.units import parse_quantity
from woold.words import say

__all__ = ["CatalogueTable", "read_catalogue_table", "table_of_columns"]

_MOST_ROWS = 1_000_000


@dataclass(frozen=True)
class CatalogueTable:
    """Columns of a catalogue.

    Args:
        rows: number of each row in its file, from 1.
        columns: by name, its heading and its cells; text, or numbers out of Parquet.
        read_as: how a text table is written, in words.
    """

    rows: Sequence[int]
    columns: dict[str, tuple[ColumnHeading, Sequence[Any]]]
    read_as: str = ""
    _texts: dict[str, list[str]] = field(default_factory=dict)

    @property
    def amounts(self) -> tuple[str, ...]:
        """Names of its columns of numbers."""
        return tuple(name for name in self.columns if name in AMOUNTS)

    def texts(self, name: str) -> list[str]:
        """What stands in a column; "" in all rows where it is not there.

        Args:
            name: of the column.
        """
        if name not in self._texts:
            cells = self.columns[name][1] if name in self.columns else [""] * len(self.rows)
            self._texts[name] = [
                "" if each is None or is_missing(str(each)) else str(each).strip() for each in cells
            ]
        return self._texts[name]

    def numbers(self, name: str) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
        """A column in SI, NaN where nothing stands; and which cells cannot be read.

        Args:
            name: of the column.
        """
        heading, cells = self.columns[name]
        values, unread = np.full(len(cells), np.nan), np.zeros(len(cells), dtype=bool)
        kind = AMOUNTS[name].facts.kind
        for at, cell in enumerate(cells):
            if cell is None or (isinstance(cell, float) and math.isnan(cell)):
                continue
            if isinstance(cell, str):
                cell = cell.strip()
                if is_missing(cell):
                    continue
            try:
                if heading.factor is not None:
                    values[at] = heading.factor * float(cell) + heading.shift
                else:
                    values[at] = parse_quantity(str(cell), kind, name)
            except (ValueError, UnitError):
                unread[at] = True
        return values, unread


def read_catalogue_table(path: Path) -> CatalogueTable:
    """The columns of a table of loads.

    Args:
        path: CSV or Parquet.

    Raises:
        InputError: it cannot be read, lacks a column, has one twice, or one with another's unit.
    """
    with errors_in(path):
        allowed = say("a table of loads, CSV or Parquet")
        try:
            as_parquet = is_parquet(path)
        except OSError as error:
            raise InputError.one(
                str(path), error.strerror or say("cannot be read"), allowed,
                say("Check the file's name, which is relative to the line's file."),
            ) from None  # fmt: skip
        if as_parquet:
            heads, columns, rows, read_as = _parquet(path)
        else:
            heads, columns, rows, read_as = _text(path, allowed)
        if len(rows) > _MOST_ROWS:
            raise InputError.one(
                str(path), say("{rows:,} rows", rows=len(rows)),
                say("at most {most:,} loads", most=_MOST_ROWS),
                say("Write it as Parquet and use: woold line map --engine duckdb"),
            )  # fmt: skip
        return CatalogueTable(rows, _known(heads, columns), read_as)


def table_of_columns(
    heads: Sequence[str], columns: Sequence[Sequence[Any]], rows: Sequence[int]
) -> CatalogueTable:
    """A table of loads from columns that were read already.

    Args:
        heads: names of the columns, units in them or in each cell.
        columns: cells of each.
        rows: number of each row in its file.

    Raises:
        InputError: it lacks a column, has one twice, or one with another's unit.
    """
    return CatalogueTable(rows, _known(heads, columns))


def _text(path: Path, allowed: str) -> tuple[list[str], list[Sequence[Any]], list[int], str]:
    table = read_table(path, allowed)
    if len(table.rows) < 2:
        raise InputError.one(
            str(path), say("no row below its headings"), allowed, say("Fill in its rows.")
        )
    heads = table.rows[0][1]
    numbers = [number for number, _ in table.rows[1:]]
    columns: list[Sequence[Any]] = [
        [row[at] if at < len(row) else "" for _, row in table.rows[1:]] for at in range(len(heads))
    ]
    for at, head in enumerate(heads):
        if known_heading(head, is_lenient=True) not in (None, *map(ColumnHeading, LABELS)):
            columns[at] = [plain_number(each, table.dialect) for each in columns[at]]
    return heads, columns, numbers, joined(table.decided)


def _parquet(path: Path) -> tuple[list[str], list[Sequence[Any]], list[int], str]:
    frame = parquet_frame(path, _MOST_ROWS)
    columns: list[Sequence[Any]] = [each.to_list() for each in frame.iter_columns()]
    return frame.columns, columns, list(range(1, frame.height + 1)), ""


def _known(
    heads: Sequence[str], columns: Sequence[Sequence[Any]]
) -> dict[str, tuple[ColumnHeading, Sequence[Any]]]:
    """The columns that a catalogue has, by name; others stay aside."""
    found: dict[str, tuple[ColumnHeading, Sequence[Any]]] = {}
    problems: list[Problem] = []
    for head, cells in zip(heads, columns, strict=True):
        try:
            heading = known_heading(head)
        except InputError as error:
            problems += error.problems
            continue
        if heading is None:
            continue
        if heading.name in found:
            problems.append(
                Problem(
                    head,
                    say("the column {name} twice", name=heading.name),
                    say("each column once"),
                    say("Take one of them out."),
                )
            )
        found[heading.name] = (heading, cells)
    known = ", ".join((*LABELS, *AMOUNTS))
    problems += [
        Problem(name, say("no such column"), known, say("Add the column {name}.", name=name))
        for name in NEEDED
        if name not in found
    ]
    if not {"diameter"} & found.keys() and not {"length", "width"} <= found.keys():
        problems.append(
            Problem("length", say("no length and width, and no diameter"), known,
                    say("Add the columns length and width, or diameter."))
        )  # fmt: skip
    if problems:
        raise InputError.many(problems)
    return found
