"""Rows of a catalogue that cannot be used: why, how many, and a few of each by number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.words import say, to_say

__all__ = ["BrokenRows", "RowFaults", "joined_rows"]

_EXAMPLES = 3
_LONGEST = 40

_REASONS = {
    "no number": to_say("a cell that cannot be read"),
    "impossible": to_say("a value that cannot be"),
    "missing": to_say("a cell left out"),
    "no name": to_say("a load without a name"),
    "outline": to_say("not one of the two: length and width, or diameter"),
    "half pallet": to_say("only one of pallet_length and pallet_width"),
    "no machine": to_say("a machine that the line does not have"),
    "no film": to_say("a film that the line does not have"),
    "no recipe": to_say("a recipe that the line does not have"),
    "which machine": to_say("no machine, where the line has several models"),
    "too wide": to_say("a load whose corner reaches the film's exit on its machine"),
    "twice": to_say("a load that stands on that machine already"),
}


@dataclass(frozen=True, slots=True)
class BrokenRows:
    """Rows that cannot be used for one reason.

    Args:
        code: key of the reason.
        column: where it shows.
        count: rows.
        examples: number of the row in its file, and what was given, of a few.
    """

    code: str
    column: str
    count: int
    examples: tuple[tuple[int, str], ...]

    def reason(self) -> str:
        """Why, in words."""
        return say(_REASONS[self.code])

    def joined(self, other: BrokenRows) -> BrokenRows:
        """With those of another portion for the same reason.

        Args:
            other: of them.
        """
        examples = (*self.examples, *other.examples)[:_EXAMPLES]
        return replace(self, count=self.count + other.count, examples=examples)

    def told(self) -> str:
        """How many, why, and a few of them."""
        shown = ", ".join(
            say("row {row} ({given})", row=row, given=given) for row, given in self.examples
        )
        if self.count == 1:
            return say("1 row, {reason}: {shown}", reason=self.reason(), shown=shown)
        return say(
            "{count} rows, {reason}: {shown}", count=self.count, reason=self.reason(), shown=shown
        )


def joined_rows(*portions: Sequence[BrokenRows]) -> tuple[BrokenRows, ...]:
    """Rows of several portions that cannot be used, by reason.

    Args:
        portions: those of each.
    """
    found: dict[tuple[str, str], BrokenRows] = {}
    for each in (each for some in portions for each in some):
        key = each.code, each.column
        found[key] = found[key].joined(each) if key in found else each
    return tuple(found.values())


class RowFaults:
    """Faults of a table's rows; a row counts by its first.

    Args:
        rows: how many there are.
    """

    def __init__(self, rows: int) -> None:
        self.is_broken = np.zeros(rows, dtype=bool)
        self._found: list[tuple[str, str, NDArray[np.intp], Sequence[str]]] = []

    def add(self, code: str, column: str, holds: NDArray[np.bool_], given: Sequence[str]) -> None:
        """Rows with a fault.

        Args:
            code: key of the reason.
            column: where it shows.
            holds: of which rows it holds.
            given: what stands there.
        """
        new = np.flatnonzero(holds & ~self.is_broken)
        if new.size:
            self.is_broken[new] = True
            self._found.append((code, column, new, given))

    def broken(self, numbers: Sequence[int]) -> tuple[BrokenRows, ...]:
        """All of them by reason.

        Args:
            numbers: of the rows in their file.
        """
        return tuple(
            BrokenRows(
                code,
                column,
                int(at.size),
                tuple((numbers[each], given[each][:_LONGEST]) for each in at[:_EXAMPLES].tolist()),
            )
            for code, column, at, given in self._found
        )
