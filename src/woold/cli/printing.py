"""Options of everything that is printed: the paper, and the time that it states."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from typing import Annotated

import typer

from woold.errors import InputError
from woold.rows.typeset import Paper
from woold.words import say

__all__ = ["ENDINGS", "Comma", "PaperSize", "Time", "moment_of", "time_of"]

_LAST_SECOND = 253_402_300_799
"""Of the year 9999, since 1970."""
ENDINGS = (".html", ".pdf")
"""Of files that a report is written to."""

Comma = Annotated[bool, typer.Option("--decimal-comma", help="Write 1 234,5 and not 1,234.5.")]
PaperSize = Annotated[Paper, typer.Option("--paper", help="Paper: a4 or letter.")]
Time = Annotated[
    str | None,
    typer.Option(
        "--time",
        metavar="TIME",
        help="Time that is stated (2026-01-31T12:00Z), in place of now: the same inputs and time"
        " give the same file.",
    ),
]


def time_of(text: str | None) -> datetime:
    """The time asked for, that of the environment (SOURCE_DATE_EPOCH), or now."""
    if text is None:
        epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
        if epoch.isdecimal() and int(epoch) <= _LAST_SECOND:
            return datetime.fromtimestamp(int(epoch), UTC)
        return datetime.now(UTC).replace(microsecond=0)
    return moment_of("--time", text, say("a time such as 2026-01-31T12:00Z"))


def moment_of(option: str, text: str, allowed: str) -> datetime:
    """The time that an option states, in UTC where it states no other offset.

    Args:
        option: for messages.
        text: what was typed.
        allowed: what may stand there.

    Raises:
        InputError: no such time.
    """
    try:
        time = datetime.fromisoformat(text)
        return time.astimezone(UTC) if time.tzinfo else time.replace(tzinfo=UTC)
    except (ValueError, OverflowError):  # an offset may lead before the year 1
        raise InputError.one(option, repr(text), allowed, say("Write it like that.")) from None
