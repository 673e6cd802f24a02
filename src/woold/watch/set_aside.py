"""Rows of cycle records that cannot be used: why, how many, where they stand and what is in them.

Whatever reads the records, a few of them are named with file, row, column and what was given; more
than one in twenty and the records are refused, since they are not what they seem.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from woold.errors import InputError
from woold.prediction.result import Finding
from woold.words import say, to_say

__all__ = [
    "EXAMPLES",
    "Aside",
    "Example",
    "aside_finding",
    "reason_words",
    "require_alike",
    "require_few",
]

MOST_BAD_ROWS = 0.05
EXAMPLES = 3
"""Rows that are named for each reason."""

_LONGEST = 24
_REASONS: Final = {
    "unread time": to_say("no time that can be read"),
    "reset clock": to_say("a time before 2000, as of a clock that was reset"),
    "future": to_say("a time that lies in the future"),
    "no machine": to_say("no machine"),
    "no number": to_say("{column} that is no number"),
    "above zero": to_say("{column} not above 0"),
    "zero": to_say("{column} below 0"),
    "too large": to_say("{column} larger than can be"),
    "no film": to_say("{column} without a figure"),
}


@dataclass(frozen=True, slots=True)
class Example:
    """A row that was set aside: its place and what was given."""

    place: str
    given: str | None


@dataclass(frozen=True, slots=True)
class Aside:
    """Rows that were set aside for one reason.

    Args:
        code: key of the reason.
        column: as it is called in the records.
        count: rows.
        examples: some of them.
    """

    code: str
    column: str
    count: int
    examples: tuple[Example, ...]

    def __str__(self) -> str:
        places = [
            say("{place}: {given}", place=each.place, given=_short(each.given))
            for each in self.examples
        ]
        more = self.count > len(places)
        where = ", ".join((*places, "\u2026")) if more else ", ".join(places)
        return say(
            "{text} ({count}: {where})",
            text=reason_words(self.code, self.column),
            count=self.count,
            where=where,
        )


def reason_words(code: str, column: str) -> str:
    """Why a row is set aside."""
    return say(_REASONS[code], column=column)


def _short(given: str | None) -> str:
    if given is None or not given.strip():
        return say("nothing")
    cut = given if len(given) <= _LONGEST else given[: _LONGEST - 1] + "\u2026"
    return repr(cut)


def require_few(asides: Sequence[Aside], bad: int, rows: int, where: str) -> None:
    """Refuses records of which too many rows cannot be used.

    Args:
        asides: why.
        bad: rows that cannot be used.
        rows: all of them.
        where: file or table, for messages.

    Raises:
        InputError: more than one in twenty.
    """
    if bad <= MOST_BAD_ROWS * rows:
        return
    raise InputError.one(
        where,
        say(
            "{count} of {rows} rows that cannot be used: {parts}",
            count=bad,
            rows=rows,
            parts="; ".join(map(str, asides)),
        ),
        say("at most {most_bad_rows:.0%} of them", most_bad_rows=MOST_BAD_ROWS),
        say("Mend the file, or name the right columns with --column."),
    )


def require_alike(where: str, offsets: int, filled: int) -> None:
    """Refuses times of which some state how far they are from UTC, and others do not.

    Args:
        where: the column, for messages.
        offsets: rows whose time states it.
        filled: rows with a time.

    Raises:
        InputError: some do.
    """
    if 0 < offsets < filled:
        raise InputError.one(
            where,
            say(
                "{offsets} of {filled} rows with an offset from UTC", offsets=offsets, filled=filled
            ),
            say("all rows with one, or none"),
            say("Export all times alike, in UTC if possible."),
        )


def aside_finding(asides: Sequence[Aside], where: str) -> Finding:
    """What was set aside, where anything was."""
    parts = "; ".join(map(str, asides))
    return Finding("rows_set_aside", where, say("set aside: {parts}.", parts=parts))
