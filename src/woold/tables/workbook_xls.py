"""Marks of an .xls workbook: the records of its stream (Microsoft, [MS-XLS], 2.4)."""

from __future__ import annotations

import io
import struct
from collections.abc import Iterator

from woold.tables.sheet_marks import SheetMarks

__all__ = ["xls_marks"]

_BOF, _EOF, _SHEET, _FORMULA, _BOOLERR, _MERGED, _ROW = (
    0x0809, 0x000A, 0x0085, 0x0006, 0x0205, 0x00E5, 0x0208,
)  # fmt: skip
_ERRORS = {
    0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?", 0x24: "#NUM!",
    0x2A: "#N/A",
}  # fmt: skip
_HIDDEN = 0x20
_WITH_UNICODE = 0x0600


def xls_marks(content: bytes) -> dict[str, SheetMarks]:
    """Marks of each sheet, by its name."""
    import olefile

    with olefile.OleFileIO(io.BytesIO(content)) as book:
        name = next(each for each in ("Workbook", "Book") if book.exists(each))
        stream = book.openstream(name).read()
    version, found = 0, {}
    for number, body in _records(stream, 0):
        if number == _BOF:
            (version,) = struct.unpack_from("<H", body)
        elif number == _SHEET and len(body) > 7:
            title, start = _title_and_start(body, version)
            found[title] = _sheet(stream, start)
    return found


def _records(stream: bytes, place: int) -> Iterator[tuple[int, bytes]]:
    """Records of one part of the stream, up to its end; parts inside it, such as charts, too."""
    depth = 0
    while place + 4 <= len(stream):
        number, size = struct.unpack_from("<HH", stream, place)
        yield number, stream[place + 4 : place + 4 + size]
        depth += (number == _BOF) - (number == _EOF)
        if depth <= 0:
            return
        place += 4 + size


def _title_and_start(body: bytes, version: int) -> tuple[str, int]:
    (start,) = struct.unpack_from("<I", body)
    count = body[6]
    if version < _WITH_UNICODE:
        return body[7 : 7 + count].decode("cp1252", errors="replace"), start
    if body[7] & 1:
        return body[8 : 8 + 2 * count].decode("utf-16-le"), start
    return body[8 : 8 + count].decode("latin-1"), start


def _sheet(stream: bytes, start: int) -> SheetMarks:
    marks = SheetMarks()
    for number, body in _records(stream, start):
        if number == _FORMULA:
            row, column = struct.unpack_from("<HH", body)
            marks.formulas.add((row, column))
            # The last two bytes say that the value is none of a number; the first, which kind.
            if body[12:14] == b"\xff\xff" and body[6] == 2:
                marks.errors[row, column] = _ERRORS.get(body[8], "#")
        elif number == _BOOLERR and body[7]:
            row, column = struct.unpack_from("<HH", body)
            marks.errors[row, column] = _ERRORS.get(body[6], "#")
        elif number == _MERGED:
            (count,) = struct.unpack_from("<H", body)
            for index in range(count):
                first, last, left, right = struct.unpack_from("<HHHH", body, 2 + 8 * index)
                marks.merged.append((first, left, last, right))
        elif number == _ROW:
            row, options = struct.unpack_from("<H", body)[0], struct.unpack_from("<H", body, 12)[0]
            if options & _HIDDEN:
                marks.hidden.add(row)
    return marks
