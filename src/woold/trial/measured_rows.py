"""Rows in which something was measured, apart from those that were printed or filled down."""

from __future__ import annotations

from collections.abc import Mapping

from woold.store import Cell
from woold.trial.sheets import Sheet

__all__ = ["is_measured"]

_OWN = frozenset(("film_mass", "mark_before", "mark_after", "dancer_force"))
"""What nobody writes beside a load that was not there."""

_IF_OTHER = ("cycle_time", "turns", "breaks")
"""What is a reading too, unless it was filled down from the row above."""

_NEEDED = {"width": "film_width", "pull": "force", "gauge": "reading"}


def is_measured(
    sheet: Sheet, cells: Mapping[str, Cell], above: Mapping[str, Cell] | None = None
) -> bool:
    """Whether a row holds a reading; one with a bag's weight, a name or a note alone does not.

    Args:
        sheet: what its rows are.
        cells: of the row.
        above: of the row before it, from which values may have been filled down.
    """
    needed = _NEEDED.get(sheet.kind)
    if needed is not None:
        return needed in cells
    if not _OWN.isdisjoint(cells) or "attempt" in cells:
        return True
    above = above or {}
    return any(
        name in cells
        and cells[name].si != (above[name].si if name in above else None)
        and not (name == "breaks" and not cells[name].si)
        for name in _IF_OTHER
    )
