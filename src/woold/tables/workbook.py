"""Workbooks looked at before they are read: every part whole, none too large, no cell far away."""

from __future__ import annotations

import io
import zipfile
import zlib
from xml.parsers import expat

from woold.errors import InputError
from woold.tables.workbook_xlsx import cell_address
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
MOST_CELLS = 3_000_000
"""Of all sheets."""

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
            cells = sum(_read_through(archive, part, name, allowed) for part in archive.infolist())
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, RuntimeError,
            NotImplementedError, OverflowError) as error:  # fmt: skip
        raise _damaged(name, str(error)[:120] or type(error).__name__, allowed) from None
    if cells > MOST_CELLS:
        raise InputError.one(
            name,
            say("{cells:,} cells, the empty ones before the last row and column too", cells=cells),
            say("at most {most:,}", most=MOST_CELLS),
            say("Delete the empty rows and columns behind the table, and save it anew."),
        )


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


def _read_through(archive: zipfile.ZipFile, part: zipfile.ZipInfo, name: str, allowed: str) -> int:
    """Unpacks a part bit by bit: its checksum is compared, its size and cells are looked at.

    Returns:
        How many cells a reader keeps of it.
    """
    read, reach = 0, _Reach() if part.filename.lower().endswith(".xml") else None
    with archive.open(part) as stream:
        while chunk := stream.read(_CHUNK):
            read += len(chunk)
            is_packed_hard = read > MOST_TIMES * max(part.compress_size, 1)
            if read > LARGEST_UNPACKED or (read > LARGEST_UNTOLD and is_packed_hard):
                raise _too_large(name, f"{read:,}+", allowed)
            if reach is not None:
                reach.take(chunk)
    if reach is None:
        return 0
    reach.take(b"", is_last=True)
    row, column = reach.row + 1, reach.column + 1
    if row > FARTHEST_ROW or column > FARTHEST_COLUMN:
        raise InputError.one(
            name,
            say("a cell in row {row:,}, column {column:,}", row=row, column=column),
            say("at most {rows:,} rows and {columns:,} columns",
                rows=FARTHEST_ROW, columns=FARTHEST_COLUMN),
            say("Delete the empty rows and columns behind the table, and save it anew."),
        )  # fmt: skip
    return row * column


class _Reach:
    """The farthest cell of a part, whatever prefix its names have; one without an address follows
    the cell before it. A part that is no XML is none of a workbook.
    """

    def __init__(self) -> None:
        self.row = self.column = -1
        self._row = self._column = -1
        self._parser = expat.ParserCreate()
        self._parser.StartElementHandler = self._start
        self._parser.EntityDeclHandler = self._entity

    def take(self, chunk: bytes, is_last: bool = False) -> None:
        """Follows a piece of the part.

        Raises:
            ValueError: no XML, or what no workbook holds.
        """
        try:
            self._parser.Parse(chunk, is_last)
        except (expat.ExpatError, LookupError) as error:  # an unknown encoding, too
            raise ValueError(str(error)) from None

    def _start(self, name: str, values: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "row":
            self._row = int(values["r"]) - 1 if "r" in values else self._row + 1
            self._column = -1
        elif name == "c":
            if "r" in values:
                self._row, self._column = cell_address(values["r"])
            else:
                self._column += 1
            self.row = max(self.row, self._row)
            self.column = max(self.column, self._column)

    def _entity(self, *_: object) -> None:
        raise ValueError(say("entities of its own"))
