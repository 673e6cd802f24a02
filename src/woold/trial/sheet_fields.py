"""What a column and a sheet are."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Sheet", "SheetField"]

UNITS = {
    "small_mass": ("g", "kg", "oz", "lb"),
    "small_length": ("mm", "cm", "in", "m"),
    "length": ("mm", "cm", "m", "in"),
    "force": ("N", "lbf", "kgf"),
    "time": ("s", "min"),
    "hours": ("min", "h", "day"),
    "mass": ("kg", "lb"),
    "film_length": ("m", "ft"),
}
"""Units on offer in a worksheet, by kind of quantity; a cell may state any other."""


@dataclass(frozen=True, slots=True)
class SheetField:
    """One thing to write down.

    Args:
        name: in files, records and messages.
        label: column head.
        kind: key of `woold.units.KINDS`; "count", "number", "word" or "note" for the others.
        doc: what to write, and how to measure it.
        required: a row without it cannot be used.
        choices: words that may stand here; any word where empty.
        low, high: SI values outside of which a value is asked about.
        metric, trade: unit that a new worksheet starts with.
        old_names: column heads of earlier worksheets, which are still read.
    """

    name: str
    label: str
    kind: str
    doc: str
    required: bool = False
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    metric: str = ""
    trade: str = ""
    old_names: tuple[str, ...] = ()

    @property
    def is_quantity(self) -> bool:
        """Whether it has a unit."""
        return self.kind in UNITS

    @property
    def units(self) -> tuple[str, ...]:
        """Units on offer."""
        return UNITS.get(self.kind, ())

    def unit(self, system: str) -> str:
        """Unit that a new worksheet starts with."""
        return self.trade if system == "trade" else self.metric


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of the workbook: rows of one kind.

    Args:
        kind: kind of its records.
        title: name of the sheet.
        doc: what it is for.
        fields: its columns.
        key: fields that together name a row.
    """

    kind: str
    title: str
    doc: str
    fields: tuple[SheetField, ...]
    key: tuple[str, ...]
