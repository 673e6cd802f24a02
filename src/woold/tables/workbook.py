"""Workbooks looked at before they are read: every part whole, none too large, no cell far away."""

from __future__ import annotations

import io
import re
import zipfile
import zlib

from woold.errors import InputError
from woold.words import say

__all__ = ["require_sound_workbook"]

LARGEST_UNPACKED = 300_000_000
"""A workbook that unpacks to more is not read [bytes]."""
MOST_TIMES = 300
"""Unpacked over packed size of a part; sheets of numbers lie below 30 [-]."""
LARGEST_UNTOLD = 20_000_000
"""Below this a part is not asked how well it was packed [bytes]."""
FARTHEST_ROW, FARTHEST_COLUMN = 200_000, 500
"""A reader keeps every cell up to the last one in memory: beyond these a workbook is refused."""
MOST_CELLS = 20_000_000

_CELL = re.compile(rb'<c\b[^>]*?\br="([A-Za-z]{1,4})([0-9]{1,8})"')
_CHUNK = 1 << 20


def require_sound_workbook(content: bytes, name: str, allowed: str) -> None:
    """Refuses a packed workbook that is damaged or would take more memory than it is worth.

    Args:
        content: all of the file; one that is not packed (.xls) is left to its reader.
        name, allowed: for messages.

    Raises:
        InputError: a broken archive, a damaged or missing part, a part that unpacks to far more
            than its size, or a cell far away from the others.
    """
    if content[:2] != b"PK":
        return
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            _require_parts(archive, name, allowed)
            for part in archive.infolist():
                _read_through(archive, part, name, allowed)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError,
            NotImplementedError, OverflowError) as error:  # fmt: skip
        raise _damaged(name, str(error)[:120] or type(error).__name__, allowed) from None


def _damaged(name: str, why: str, allowed: str) -> InputError:
    error = InputError.one(
        name, say("a damaged workbook ({why})", why=why), allowed, say("Save it anew.")
    )
    assert isinstance(error, InputError)
    return error


def _require_parts(archive: zipfile.ZipFile, name: str, allowed: str) -> None:
    """Sizes as the archive states them, and the parts without which it is no workbook."""
    parts = archive.infolist()
    names = {part.filename for part in parts}
    unpacked = sum(part.file_size for part in parts)
    if len(parts) > 10_000 or unpacked > LARGEST_UNPACKED:
        raise _too_large(name, f"{unpacked:,}", allowed)
    is_sheet = any(each.startswith("xl/worksheets/") for each in names)
    if "content.xml" not in names and not {"xl/workbook.xml", "[Content_Types].xml"} <= names:
        missing = "xl/workbook.xml" if "xl/workbook.xml" not in names else "[Content_Types].xml"
        raise _damaged(name, say("without its part {part}", part=missing), allowed)
    if "content.xml" not in names and not is_sheet and "xl/workbook.bin" not in names:
        raise _damaged(name, say("without its part {part}", part="xl/worksheets"), allowed)


def _too_large(name: str, size: str, allowed: str) -> InputError:
    error = InputError.one(
        name,
        say("unpacks to {size} bytes", size=size),
        allowed,
        say("Is it right? Save the sheet alone."),
    )
    assert isinstance(error, InputError)
    return error


def _read_through(archive: zipfile.ZipFile, part: zipfile.ZipInfo, name: str, allowed: str) -> None:
    """Unpacks a part bit by bit: its checksum is compared, its size and cells are looked at."""
    is_sheet = part.filename.startswith("xl/worksheets/") or part.filename == "content.xml"
    read, kept, last_row, last_column = 0, b"", 0, 0
    with archive.open(part) as stream:
        while chunk := stream.read(_CHUNK):
            read += len(chunk)
            is_packed_hard = read > MOST_TIMES * max(part.compress_size, 1)
            if read > LARGEST_UNPACKED or (read > LARGEST_UNTOLD and is_packed_hard):
                raise _too_large(name, f"{read:,}+", allowed)
            if is_sheet:
                text = kept + chunk
                row, column = _farthest(text)
                last_row, last_column = max(last_row, row), max(last_column, column)
                kept = text[-256:]
    is_far = last_row > FARTHEST_ROW or last_column > FARTHEST_COLUMN
    if is_far or last_row * last_column > MOST_CELLS:
        raise InputError.one(
            name,
            say("a cell in row {row:,}, column {column:,}", row=last_row, column=last_column),
            say("at most {rows:,} rows and {columns:,} columns",
                rows=FARTHEST_ROW, columns=FARTHEST_COLUMN),
            say("Delete the empty rows and columns behind the table, and save it anew."),
        )  # fmt: skip


def _farthest(text: bytes) -> tuple[int, int]:
    """Largest row and column that a piece of a sheet names."""
    row = column = 0
    for letters, number in _CELL.findall(text):
        row, column = max(row, int(number)), max(column, _column(letters))
    return row, column


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters.upper():
        number = 26 * number + letter - 64
    return number
