"""Cells of CSV files that no spreadsheet takes for a formula.

Source: OWASP, "CSV Injection": cells that begin with one of = + - @, tab or carriage return are
run as formulas; an apostrophe before them makes them text.
"""

from __future__ import annotations

import re

__all__ = ["as_text", "from_text", "is_formula"]

_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")
_FORMULA = re.compile(r"'*\s*[=+\-@\t\r＝＋－＠]", re.DOTALL)
_CALCULATED = re.compile(
    r"\s*(?:[=@＝＠]\s*[^\s=>]|[-+－＋]\s*(?:\$?[A-Z]{1,3}\$?[0-9]|[A-Z][A-Z.]*\())", re.IGNORECASE
)


def as_text(cell: str) -> str:
    """The cell as it is written: with an apostrophe where it could be run, numbers as they are."""
    return f"'{cell}" if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell) else cell


def from_text(cell: str) -> str:
    """What :func:`as_text` was given."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def is_formula(cell: str) -> bool:
    """Whether a cell as it stands in a file is calculated where a spreadsheet opens it."""
    return _CALCULATED.match(cell) is not None
