"""Options of everything that is printed: the paper, and the time that it states."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from typing import Annotated

import typer

from woold.errors import InputError
from woold.rows.typeset import Paper
from woold.words import say

__all__ = ["ENDINGS", "Comma", "PaperSize", "Time", "time_of"]

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
        if epoch.isdigit():
            return datetime.fromtimestamp(int(epoch), UTC)
        return datetime.now(UTC).replace(microsecond=0)
    try:
        time = datetime.fromisoformat(text)
    except ValueError:
        raise InputError.one(
            "--time",
            repr(text),
            say("a time such as 2026-01-31T12:00Z"),
            say("Write it like that."),
        ) from None
    return time.astimezone(UTC) if time.tzinfo else time.replace(tzinfo=UTC)
