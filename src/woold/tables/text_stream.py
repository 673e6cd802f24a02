"""A long text table opened so that it can be read piece by piece, its letters in UTF-8."""

from __future__ import annotations

import io
from pathlib import Path
from typing import BinaryIO

from woold.errors import InputError
from woold.tables.text_table import decoded_table
from woold.words import say

__all__ = ["BEGINNING", "opened_text"]

BEGINNING = 64_000
"""What tells how a table is written [bytes]."""
LARGEST_UTF_16 = 100_000_000


def opened_text(path: Path, allowed: str) -> BinaryIO:
    """The file as it is; one in UTF-16 is read at once and given in UTF-8.

    Args:
        path: the file.
        allowed: what it may be, for messages.

    Raises:
        OSError: it cannot be opened.
        InputError: no text, or more UTF-16 than is read at once.
    """
    stream = path.open("rb")
    is_wide = b"\0" in stream.read(BEGINNING)
    stream.seek(0)
    if not is_wide:
        return stream
    with stream:
        raw = stream.read(LARGEST_UTF_16 + 1)
    if len(raw) > LARGEST_UTF_16:
        most = say("more than {size} MB in UTF-16", size=LARGEST_UTF_16 // 1_000_000)
        raise InputError.one(str(path), most, say("a UTF-8 text table"), say("Save it as UTF-8."))
    text, _ = decoded_table(raw, str(path), allowed)
    return io.BytesIO(text.encode("utf-8"))
