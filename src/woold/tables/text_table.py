"""One reader of text tables: comma, semicolon or tab, decimal comma, marks and encodings.

What it decided is kept in words, so that whoever reads the result can see how the file was read.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from woold.errors import InputError
from woold.words import say

__all__ = [
    "MISSING",
    "Dialect",
    "TextTable",
    "bytes_of",
    "decoded_table",
    "dialect_of",
    "dialect_words",
    "is_missing",
    "joined",
    "plain_number",
    "read_table",
    "split_heading",
    "table_of",
]

LARGEST_TABLE = 200_000_000
"""A table with more bytes is some other file [bytes]."""

_MARKS = ("\t", ";", ",")
_SAMPLE = 200
_SEPARATOR_LINE = re.compile(r'\s*"?sep=(.)"?\s*', re.IGNORECASE)
"""First line by which some office programs are told what stands between the columns."""
_MISSING = frozenset(
    ("", "n/a", "na", "n.a.", "#n/a", "nan", "null", "-", "--", "?", "\u2013", "\u2014", "\u2212")
)
MISSING = (
    "NaN",
    *sorted({each for word in _MISSING for each in (word, word.upper(), word.title())}),
)
"""Ways to write that there is nothing, for readers that compare letter by letter."""
_COMMA_NUMBER = re.compile(r"[-+]?\d+(?:\.\d{3})*,\d+(?:[eE][-+]?\d+)?")
_POINT_NUMBER = re.compile(r"[-+]?\d+(?:,\d{3})*\.\d+(?:[eE][-+]?\d+)?")
_LONGEST_FIELD = 1_000_000


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a table is written.

    Args:
        separator: between its cells.
        decimal_comma: 1,5 is one and a half.
    """

    separator: str
    decimal_comma: bool


@dataclass(frozen=True, slots=True)
class TextTable:
    """A text table that was read.

    Args:
        rows: number of the line, from 1, and its cells, without blanks around them; lines without
            any are left out.
        dialect: how it is written.
        decided: what was decided about it, in words; empty for plain commas and points.
    """

    rows: tuple[tuple[int, list[str]], ...]
    dialect: Dialect
    decided: tuple[str, ...]


def read_table(path: Path | str, allowed: str, largest: int = LARGEST_TABLE) -> TextTable:
    """The cells of a text table.

    Args:
        path: the file.
        allowed: what it may be, for messages.
        largest: more bytes than this are refused.

    Raises:
        InputError: it cannot be read, is too large, or is no text table.
    """
    return table_of(bytes_of(path, allowed, largest), str(path), allowed)


def bytes_of(path: Path | str, allowed: str, largest: int = LARGEST_TABLE) -> bytes:
    """All that a file of a table holds.

    Args:
        path: the file.
        allowed: what it may be, for messages.
        largest: more bytes than this are refused, before they are read.

    Raises:
        InputError: it cannot be read, or is too large.
    """
    try:
        with Path(path).open("rb") as stream:
            raw = stream.read(largest + 1)
    except OSError as error:
        reason = error.strerror or say("cannot be read")
        raise InputError.one(str(path), reason, allowed, say("Check the name.")) from None
    if len(raw) > largest:
        most = say("more than {size:.0f} MB", size=largest / 1e6)
        raise InputError.one(str(path), most, allowed, say("Is it the right file?"))
    return raw


def table_of(raw: bytes, where: str, allowed: str) -> TextTable:
    """The cells of what a text table's file holds.

    Args:
        raw: all of the file.
        where, allowed: for messages.

    Raises:
        InputError: no text, or quotation marks that do not close.
    """
    text, decided = decoded_table(raw, where, allowed)
    dialect, said = dialect_of(text)
    csv.field_size_limit(_LONGEST_FIELD)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=dialect.separator, strict=True)
    rows = []
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if reader.line_num == 1 and _SEPARATOR_LINE.fullmatch(text.partition("\n")[0]):
                continue
            if any(stripped):
                rows.append((reader.line_num, stripped))
    except csv.Error as error:
        line = say("{path}, line {line}", path=where, line=reader.line_num)
        raise InputError.one(line, str(error), allowed, say("Mend that line.")) from None
    return TextTable(tuple(rows), dialect, (*decided, *said))


def decoded_table(raw: bytes, where: str, allowed: str) -> tuple[str, tuple[str, ...]]:
    """Text of a table's file, and what was decided about its letters.

    Args:
        raw: all of the file, or its beginning.
        where, allowed: for messages.

    Raises:
        InputError: no text.
    """
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _text_of(raw, "utf-16", where, allowed), (say("letters in UTF-16"),)
    zeros = raw[:2000].count(0)
    even, odd = raw[0:2000:2].count(0), raw[1:2000:2].count(0)
    if len(raw) > 8 and zeros and 0 in (even, odd) and zeros > 0.4 * len(raw[:2000:2]):
        encoding = "utf-16-le" if odd else "utf-16-be"
        return _text_of(raw, encoding, where, allowed), (say("letters in UTF-16"),)
    if zeros or b"\0" in raw:
        raise InputError.one(where, say("no text"), allowed, say("Is it the right file?"))
    try:
        return raw.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        told = say("letters in Windows-1252, as they are no UTF-8")
        return raw.decode("cp1252", errors="replace"), (told,)


def _text_of(raw: bytes, encoding: str, where: str, allowed: str) -> str:
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError:
        raise InputError.one(
            where, say("not readable as UTF-16"), allowed, say("Save it as CSV, UTF-8.")
        ) from None


def dialect_of(text: str) -> tuple[Dialect, tuple[str, ...]]:
    """How a table is written, from its first lines, and that in words.

    Args:
        text: of the table, or its beginning.
    """
    lines = [line for line in text.splitlines()[:_SAMPLE] if line.strip()]
    bare = [re.sub(r'"[^"]*"', "", line) for line in lines]
    # What parts most lines; a semicolon or tab before a comma, which may be in the numbers.
    counts = {mark: sum(mark in line for line in bare) for mark in _MARKS}
    separator = max(_MARKS, key=lambda mark: (counts[mark], -_MARKS.index(mark)))
    if not any(counts.values()):
        separator = ","
    stated = _SEPARATOR_LINE.fullmatch(text.partition("\n")[0])
    if stated is not None:
        separator, lines = stated[1], lines[1:]
    decimal_comma = False
    if separator != ",":
        cells = [cell.strip().strip('"') for line in lines for cell in line.split(separator)]
        commas = sum(_COMMA_NUMBER.fullmatch(cell) is not None for cell in cells)
        points = sum(_POINT_NUMBER.fullmatch(cell) is not None for cell in cells)
        decimal_comma = commas > points
    dialect = Dialect(separator, decimal_comma)
    return dialect, dialect_words(dialect)


def dialect_words(dialect: Dialect) -> tuple[str, ...]:
    """How a table is written, in words; nothing for plain commas and points."""
    decided = []
    if dialect.separator == ";":
        decided.append(say("semicolons between columns"))
    elif dialect.separator == "\t":
        decided.append(say("tabs between columns"))
    if dialect.decimal_comma:
        decided.append(say("a comma as decimal mark"))
    return tuple(decided)


def is_missing(cell: str) -> bool:
    """Whether a cell says that there is nothing: a blank, n/a, a dash."""
    return cell.strip().casefold() in _MISSING


def plain_number(cell: str, dialect: Dialect) -> str:
    """A cell with a decimal point and without marks between thousands, where it is a number."""
    cell = cell.strip()
    if dialect.decimal_comma and _COMMA_NUMBER.fullmatch(cell):
        return cell.replace(".", "").replace(",", ".")
    if _POINT_NUMBER.fullmatch(cell):
        return cell.replace(",", "")
    return cell.replace("\u2212", "-")


def split_heading(cell: str) -> tuple[str, str]:
    """Name and unit of a heading such as "height [mm]" or "height (mm)"; "" where it has none."""
    match = re.fullmatch(r"\s*([^\[(]*?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*", cell)
    name, unit = (match[1], match[2] or "") if match else (cell.strip(), "")
    return name, "" if unit == "-" else unit


def joined(decided: Sequence[str]) -> str:
    """What was decided, as one sentence; "" where nothing was."""
    return say("Read with {what}.", what=", ".join(decided)) if decided else ""
