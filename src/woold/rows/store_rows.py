"""What a store holds, as a table."""

from __future__ import annotations

from collections.abc import Mapping

from woold.rows.blocks import Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["store_table"]

_NAMES = {
    "source": to_say("files read"),
    "record": to_say("rows of records"),
    "photo": to_say("pictures"),
    "saved_case": to_say("revisions of cases"),
    "thing": to_say("versions of things on the shelf"),
    "account": to_say("accounts"),
    "change": to_say("lines of the log"),
    "known_device": to_say("known devices"),
    "learning": to_say("versions of what was learnt"),
}


def store_table(title: str, rows: Mapping[str, int], say: Wording) -> Table:
    """How many rows there are of each kind.

    Args:
        title: of the table.
        rows: counts by kind, as the store names it.
        say: words and numbers.
    """
    counts = tuple((say(_NAMES[each]), str(count)) for each, count in rows.items())
    return Table(title, (say("what"), say("count")), counts, words=(0,))
