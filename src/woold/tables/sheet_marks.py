"""Marks of one sheet of a workbook, beside its values."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["SheetMarks"]


@dataclass
class SheetMarks:
    """Marks of one sheet; rows and columns count from 0.

    Args:
        formulas: cells whose value is calculated.
        errors: cells that show an error such as #N/A.
        merged: areas shown as one cell: first row and column, last row and column.
        covered: values behind a merged cell, which nobody sees.
        hidden: rows that are not shown.
    """

    formulas: set[tuple[int, int]] = field(default_factory=set)
    errors: dict[tuple[int, int], str] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    covered: dict[tuple[int, int], str] = field(default_factory=dict)
    hidden: set[int] = field(default_factory=set)
