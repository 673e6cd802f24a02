"""What keeps a database from working, as one clear message: full, read-only, held, out of reach."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Final

from woold.errors import StoreError
from woold.words import say, to_say

if TYPE_CHECKING:
    from sqlalchemy.engine import ExceptionContext

__all__ = ["newer_schema", "on_failure", "store_failure"]

_FULL: Final = (
    to_say("the disk is full"),
    to_say("room for what is written"),
    to_say("Make room on the server's disk, then send again: nothing of this was kept."),
)
_READ_ONLY: Final = (
    to_say("it can be read only"),
    to_say("a store that can be written"),
    to_say("Check the rights of the file and of its folder: nothing of this was kept."),
)
_HELD: Final = (
    to_say("somebody else holds it"),
    to_say("a store that is let go of within half a minute"),
    to_say("Try again; find the program that holds the file open: nothing of this was kept."),
)
_UNREACHABLE: Final = (
    to_say("it does not answer"),
    to_say("a database that can be reached"),
    to_say("See whether it runs, then try again: nothing of this was kept."),
)
_DAMAGED: Final = (
    to_say("the file is damaged"),
    to_say("a sound store"),
    to_say("Stop the server, run woold store check, and restore the latest backup."),
)
_DISK: Final = (
    to_say("the disk does not take or give what is asked of it"),
    to_say("a disk that works and has room"),
    to_say("Check the disk and its free room: nothing of this was kept."),
)

# Source: sqlite.org/rescode.html; the lowest byte is the primary code.
_SQLITE: Final = {
    5: _HELD,
    6: _HELD,
    8: _READ_ONLY,
    10: _DISK,
    11: _DAMAGED,
    13: _FULL,
    14: _UNREACHABLE,
    26: _DAMAGED,
}
# Source: PostgreSQL documentation, appendix A, "PostgreSQL Error Codes".
_POSTGRESQL: Final = {
    "53100": _FULL,
    "25006": _READ_ONLY,
    "55P03": _HELD,
    "57P01": _UNREACHABLE,
    "57P02": _UNREACHABLE,
    "57P03": _UNREACHABLE,
    "58030": _DISK,
    "XX001": _DAMAGED,
    "XX002": _DAMAGED,
}


def on_failure(context: ExceptionContext) -> None:
    """Listener of an engine: raises what can be told plainly instead of the driver's error."""
    found = store_failure(context.original_exception, context.is_disconnect)
    if found is not None:
        raise found from None


def store_failure(error: BaseException, is_disconnect: bool = False) -> StoreError | None:
    """What a driver's error means; None where it is not about the store as a whole.

    Args:
        error: as the driver raised it.
        is_disconnect: the connection was lost by it.
    """
    words = None
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", None)
        words = None if code is None else _SQLITE.get(code & 0xFF)
    else:
        state = getattr(error, "sqlstate", None)
        words = _POSTGRESQL.get(state or "")
        if words is None and (is_disconnect or (state or "").startswith("08")):
            words = _UNREACHABLE
    if words is None:
        return None
    given, allowed, todo = words
    return StoreError.one("store", say(given), say(allowed), say(todo))


def newer_schema(found: str, known: str) -> StoreError:
    """The store was written by a newer woold than this one."""
    return StoreError.one(
        "store",
        say("of a newer woold (tables {found})", found=found),
        say("tables up to {known}", known=known),
        say("Bring woold up to date: nothing was changed."),
    )
