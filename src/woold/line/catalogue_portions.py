"""A catalogue of loads too large for memory: Parquet files read in portions by an engine.

The engine is reached through Ibis, so that the same query runs on DuckDB and on Spark. Portions
follow the rows of each file in their order: a run that was stopped meets the same ones again.
"""

from __future__ import annotations

import glob
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from woold.errors import InputError
from woold.line.catalogue_table import CatalogueTable, table_of_columns
from woold.line.line_file import LineFile
from woold.watch.fleet_sources import FILE, ROW, Engine, open_fleet
from woold.words import say

__all__ = ["PORTION", "CataloguePortions", "Portion", "open_portions"]

PORTION = 20_000
"""Rows of a portion, if nothing else is asked for."""


@dataclass(frozen=True, slots=True)
class Portion:
    """Rows of one file.

    Args:
        file: as the engine names it.
        first, last: their numbers, from 1.
    """

    file: str
    first: int
    last: int

    @property
    def path(self) -> str:
        """The file's name without the engine's own scheme."""
        return unquote(urlsplit(self.file).path) if self.file.startswith("file:") else self.file


class CataloguePortions:
    """A catalogue as portions of rows.

    Args:
        table: the engine's, each row with its file and number.
        portions: all of them, in order.
        twice: names of loads and machines that stand in more than one row.
    """

    def __init__(
        self, table: Any, portions: Sequence[Portion], twice: frozenset[tuple[str, str]]
    ) -> None:
        self._table, self.portions, self.twice = table, tuple(portions), twice

    @property
    def rows(self) -> int:
        """All rows."""
        return sum(each.last - each.first + 1 for each in self.portions)

    def read(self, portion: Portion) -> CatalogueTable:
        """The rows of a portion.

        Args:
            portion: one of them.

        Raises:
            InputError: a column that is missing, stands twice, or has another's unit.
        """
        number = self._table[ROW].cast("int64")
        mine = self._table.filter(
            (self._table[FILE] == portion.file) & number.between(portion.first, portion.last)
        )
        found = mine.mutate(**{ROW: mine[ROW].cast("int64")}).order_by(ROW).to_pyarrow()
        heads = [each for each in found.column_names if each not in (FILE, ROW)]
        columns = [found.column(each).to_pylist() for each in heads]
        return table_of_columns(heads, columns, found.column(ROW).to_pylist())


def open_portions(line: LineFile, engine: Engine, most: int = PORTION) -> CataloguePortions:
    """The catalogue of a line in portions.

    Args:
        line: names its Parquet files: one, or a pattern such as "loads/*.parquet".
        engine: that reads them.
        most: rows of a portion.

    Raises:
        InputError: no Parquet file, an engine that is missing, or no row.
    """
    path = line.catalogue_path
    names = sorted(glob.glob(str(path))) if path is not None else []
    allowed = say("Parquet files: one, or a pattern such as loads/*.parquet")
    if path is None or not names:
        raise InputError.one(
            "[catalogue] file", str(path) if path is not None else say("nothing"), allowed,
            say("Name the table of loads in the line's file, relative to it."),
        )  # fmt: skip
    if not all(Path(each).suffix.lower() in (".parquet", ".pq") for each in names):
        raise InputError.one(
            "[catalogue] file", Path(names[0]).name, allowed,
            say("Write the table as Parquet, or leave --engine out."),
        )  # fmt: skip
    if not 1 <= most <= 1_000_000:
        raise InputError.one(
            "--portion", f"{most}", say("1 to 1,000,000 rows"), say("Give a number in that range.")
        )
    table = open_fleet(names, engine)
    if FILE not in table.columns or ROW not in table.columns:
        raise InputError.one(
            "[catalogue] file", say("a column named file_row_number or {name}", name=FILE), allowed,
            say("Rename that column."),
        )  # fmt: skip
    counted = table.group_by(FILE).aggregate(rows=table.count()).to_pyarrow().to_pylist()
    portions = [
        Portion(str(each[FILE]), first, min(first + most - 1, int(each["rows"])))
        for each in sorted(counted, key=lambda each: str(each[FILE]))
        for first in range(1, int(each["rows"]) + 1, most)
    ]
    if not portions:
        raise InputError.one(
            str(path), say("no load"), say("a row for each load"), say("Fill in its rows.")
        )
    return CataloguePortions(table, portions, _twice(table))


def _twice(table: Any) -> frozenset[tuple[str, str]]:
    """Names of loads and machines that stand in more than one row."""
    names = {each.strip().lower(): each for each in table.columns}
    if "load" not in names:
        return frozenset()
    keys = [names[each] for each in ("load", "machine") if each in names]
    counted = table.group_by(keys).aggregate(woold_count=table.count())
    found = counted.filter(counted.woold_count > 1).to_pyarrow().to_pylist()
    return frozenset(
        (_text(each[keys[0]]), _text(each[keys[1]]) if len(keys) > 1 else "") for each in found
    )


def _text(cell: object) -> str:
    return "" if cell is None else str(cell).strip()


def portion_rows(found: CataloguePortions) -> Iterator[tuple[Portion, CatalogueTable]]:
    """Every portion with its rows.

    Args:
        found: the catalogue.
    """
    for each in found.portions:
        yield each, found.read(each)
