"""The catalogue of loads: a table, or the loads of line and shelf, checked row by row.

Rows that cannot be used are counted by reason and a few of each named; above the share that the
line's file states all of it is refused. What is not usual is asked about once for its column.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from woold.case.hold import Hold, HoldTarget
from woold.case.load import Load
from woold.errors import InputError, errors_in
from woold.line.broken_rows import BrokenRows
from woold.line.catalogue_columns import AMOUNTS
from woold.line.catalogue_rows import (
    FoundFaults,
    find_row_faults,
    require_answers,
    require_few_broken,
)
from woold.line.catalogue_table import CatalogueTable, read_catalogue_table
from woold.line.line_file import LineFile
from woold.line.things import LineLoad, LineThings
from woold.words import say

__all__ = [
    "Catalogue",
    "catalogue_of",
    "column_place",
    "read_catalogue",
]

OF_THINGS = "[[loads]]"
"""Where a catalogue stands that is no table."""


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Loads of a line.

    Args:
        source: where they stand.
        rows: that were read, the broken ones too.
        loads: those that can be used, in their order.
        broken: those that cannot, by reason.
        read_as: how a text table is written, in words; "" for plain commas.
        left_aside: loads that a sample leaves out.
    """

    source: str
    rows: int
    loads: tuple[LineLoad, ...]
    broken: tuple[BrokenRows, ...]
    read_as: str = ""
    left_aside: int = 0

    def sample(self, count: int) -> Catalogue:
        """So many of the loads, evenly picked; all where there are fewer.

        Args:
            count: loads to keep.
        """
        if count >= len(self.loads):
            return self
        picked = tuple(self.loads[at * len(self.loads) // count] for at in range(count))
        return replace(self, loads=picked, left_aside=len(self.loads) - count)

    def place(self, column: str) -> str:
        """Where a reader finds a column: in the table by its name, or in [[loads]].

        Args:
            column: its name.
        """
        return column_place(self.source, column)

    @property
    def broken_rows(self) -> int:
        """Rows that cannot be used."""
        return self.rows - len(self.loads) - self.left_aside

    @property
    def loads_per_year(self) -> NDArray[np.float64]:
        """Loads a year of each, shape (loads,); 0 where nobody said."""
        return np.array([each.loads_per_year or 0.0 for each in self.loads])


def column_place(source: str, column: str) -> str:
    """Where a reader finds a column of a catalogue.

    Args:
        source: where the catalogue stands.
        column: its name.
    """
    if source == OF_THINGS:
        return {"machine": "loads.machines", "hold": "loads.hold"}.get(column, f"loads.{column}")
    return say("{file}, column {name}", file=Path(source).name, name=column)


def read_catalogue(line: LineFile, as_typed: Collection[str] = ()) -> Catalogue:
    """The catalogue of a line.

    Args:
        line: the line, which names its table or holds its loads.
        as_typed: columns that were asked about and are right, beside those that the line's file
            names: "height".

    Raises:
        InputError: a table that cannot be read, lacks a column, or has too many rows that cannot be
            used; or else one question for each column that can hardly be right.
    """
    path = line.catalogue_path
    if path is None:
        return _of_things(line.things)
    table = read_catalogue_table(path)
    with errors_in(path):
        return _catalogue_of(line, table, str(path), as_typed)


def catalogue_of(table: CatalogueTable, path: str, found: FoundFaults) -> Catalogue:
    """The loads of a table that can be used.

    Args:
        table: the table.
        path: where it stands.
        found: what is wrong in it.
    """
    loads = tuple(_load_of(table, found.values, int(row)) for row in found.sound)
    broken = found.rows.broken(table.rows)
    return Catalogue(path, len(table.rows), loads, broken, table.read_as)


def _catalogue_of(
    line: LineFile, table: CatalogueTable, path: str, as_typed: Collection[str]
) -> Catalogue:
    found = find_row_faults(line, table)
    require_few_broken(line, path, len(table.rows), found.rows.broken(table.rows))
    if found.sound.size:
        require_answers(line, table, found, as_typed)
    catalogue = catalogue_of(table, path, found)
    if not catalogue.loads:
        raise InputError.one(
            path, say("no load"), say("a row for each load"), say("Fill in its rows.")
        )
    return catalogue


def _of_things(things: LineThings) -> Catalogue:
    """The loads of line and shelf, each once for each machine that wraps it."""
    loads = []
    for each in things.loads:
        machines = [name.removeprefix("@").partition("#")[0] for name in each.machines] or [""]
        yearly = each.loads_per_year
        loads += [
            LineLoad(
                name=each.name,
                load=each.load,
                hold=each.hold,
                transport=each.transport,
                loads_per_year=None if yearly is None else yearly / len(machines),
                machine=machine,
            )
            for machine in machines
        ]
    return Catalogue(OF_THINGS, len(loads), tuple(loads), ())


def _load_of(table: CatalogueTable, values: dict[str, NDArray[np.float64]], row: int) -> LineLoad:
    """One sound row as a case's tables."""

    def given(*names: str) -> dict[str, float]:
        return {
            AMOUNTS[name].field: float(values[name][row])
            for name in names
            if name in values and not np.isnan(values[name][row])
        }

    size = given(
        *("length", "width", "diameter", "height", "mass"),
        *("hoop_stiffness", "deck_height", "pallet_length", "pallet_width"),
    )
    tiers = {name: int(each) for name, each in given("tiers").items()}
    hold = given("hold_after", "hold_temperature", "edge_load_limit")
    force = given("hold")
    targets = (HoldTarget(**force),) if force else ()
    texts = {name: table.texts(name)[row] for name in ("load", "machine", "film", "recipe")}
    return LineLoad(
        name=texts["load"],
        load=Load(**size, **tiers),
        hold=Hold(**hold, targets=targets),
        loads_per_year=float(values["loads_per_year"][row]),
        machine=texts["machine"],
        film=texts["film"],
        recipe=texts["recipe"],
    )
