"""Reading a workbook or a CSV file into typed cells; every bad cell named by sheet and cell."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from woold.errors import InputError, Problem, Question, names_its_file
from woold.tables.sheet_marks import SheetMarks
from woold.tables.text_table import joined, table_of
from woold.tables.workbook_sheets import BookSheet, sheets_of_workbook
from woold.trial.csv_text import from_text, is_formula
from woold.trial.measured_rows import is_measured
from woold.trial.sheet_cells import SheetRows
from woold.trial.sheet_table import HEAD_ROWS, fitting_sheet, read_table
from woold.trial.sheets import SHEETS, Sheet, in_any_language
from woold.trial.worksheet import FORMAT_NAME, TRIAL_HEAD, TRIAL_SHEET, WORKSHEET_HEAD
from woold.words import say, to_say

__all__ = ["WrittenTrial", "read_written", "written_in"]

LARGEST_FILE = 200_000_000
"""A file with more bytes is no trial sheet [bytes]."""

_ALLOWED_FILE = to_say("an .xlsx, .xlsm, .xls or .ods workbook, or a CSV text file")


@dataclass
class WrittenTrial:
    """What a file holds.

    Args:
        name: of the file.
        sha256: of its content.
        trial: key of the trial that the workbook was made for; "" where it says none.
        sheets: its sheets.
        problems: every bad cell, and questions about what would not be read.
        unread: names of sheets that were not read.
        read_as: how a text file was read, a sentence; "" for plain commas and for workbooks.
        said: what else was found, each a sentence.
        lines: of each sheet with known columns, as they stand in the file.
    """

    name: str
    sha256: str
    trial: str = ""
    sheets: list[SheetRows] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    read_as: str = ""
    said: list[str] = field(default_factory=list)
    lines: dict[str, list[list[Any]]] = field(default_factory=dict)


@names_its_file
def read_written(path: Path | str) -> WrittenTrial:
    """Read a workbook or CSV file.

    Returns:
        Its rows and every bad cell; nothing is judged beyond single cells.

    Raises:
        InputError: the file cannot be read at all, or holds no sheet that can be used.
    """
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise InputError.one(
                str(path), say("more than 200 MB"), say(_ALLOWED_FILE), say("Is it right?")
            )
        content = path.read_bytes()
    except OSError as error:
        reason = error.strerror or say("cannot be read")
        raise InputError.one(
            str(path), reason, say(_ALLOWED_FILE), say("Check the name.")
        ) from None
    return written_in(content, path.name)


def written_in(content: bytes, name: str) -> WrittenTrial:
    """The same of a file's content.

    Args:
        content: of the file.
        name: of the file.

    Raises:
        InputError: the file cannot be read at all, or holds no sheet that can be used.
    """
    written = WrittenTrial(name, hashlib.sha256(content).hexdigest())
    if content[:4] == b"PK\x03\x04" or content[:4] == b"\xd0\xcf\x11\xe0":
        _read_workbook(content, written)
    else:
        _read_csv(content, written)
    if not written.sheets and not written.problems:
        titles = ", ".join(say(sheet.title) for sheet in SHEETS)
        raise InputError.one(
            name,
            say("no sheet with known columns ({names})", names=", ".join(written.unread))
            if written.unread
            else say("no sheet with known columns"),
            say("one of the sheets {titles}", titles=titles),
            say("Start from the worksheet of the trial: woold trial sheet, or its page."),
        )
    return written


def _read_workbook(content: bytes, written: WrittenTrial) -> None:
    sheets = sheets_of_workbook(content, written.name, say(_ALLOWED_FILE))
    try:
        _read_sheets(sheets, written)
    except (ValueError, LookupError, TypeError, OverflowError) as error:
        # Values that no cell of a sound workbook has.
        raise InputError.one(
            written.name,
            say("not readable ({error})", error=str(error)[:120]),
            say(_ALLOWED_FILE),
            say("Save it anew."),
        ) from None


def _read_sheets(book: Sequence[BookSheet], written: WrittenTrial) -> None:
    by_title = {title: sheet for sheet in SHEETS for title in in_any_language(sheet.title)}
    named = [(each, by_title.get(each.title.strip().casefold())) for each in book]
    there = {sheet.kind for _, sheet in named if sheet is not None}
    for each, sheet in named:
        if each.title.strip().casefold() in in_any_language(TRIAL_SHEET):
            _read_first_sheet(each.lines, written)
        elif sheet is not None:
            written.lines[each.title] = each.lines
            _keep(read_table(each.lines, sheet, each.title, each.marks), written)
        else:
            _read_unnamed(each.title, each.lines, each.marks, there, written)


def _keep(found: tuple[SheetRows | None, list[Problem], list[str]], written: WrittenTrial) -> None:
    table, problems, said = found
    written.problems += problems
    written.said += said
    if table is not None:
        written.sheets.append(table)


def _read_unnamed(
    title: str,
    lines: list[list[Any]],
    marks: SheetMarks,
    there: set[str],
    written: WrittenTrial,
) -> None:
    """A sheet of another name: read, and asked about, where the one of its columns lacks."""
    sheet = next(filter(None, map(fitting_sheet, lines[:HEAD_ROWS])), None)
    if sheet is None:
        written.unread.append(title)
        return
    written.lines[title] = lines
    wanted = say(sheet.title)
    found = read_table(lines, sheet, title, marks)
    if sheet.kind not in there:
        there.add(sheet.kind)
        _keep(found, written)
        written.problems.append(
            Question(
                title,
                say('a sheet with the columns of "{wanted}", under another name', wanted=wanted),
                say('the name "{wanted}"', wanted=wanted),
                say("Was it renamed? It is read as {wanted} then.", wanted=wanted),
            )
        )
        return
    written.unread.append(title)
    table = found[0]
    rows = sum(is_measured(sheet, row.cells) for row in table.rows) if table else 0
    if rows:
        written.problems.append(
            Question(
                title,
                say('rows with readings: {rows}, beside the sheet "{wanted}"',
                    rows=rows, wanted=wanted),
                say('one sheet "{wanted}"', wanted=wanted),
                say("They are not read. Put them into {wanted}, or delete the copy.",
                    wanted=wanted),
            )
        )  # fmt: skip


def _read_first_sheet(lines: list[list[Any]], written: WrittenTrial) -> None:
    # Columns that are empty before it count for nothing.
    starts = [next((at for at, cell in enumerate(line) if cell != ""), None) for line in lines]
    first = min((each for each in starts if each is not None), default=0)
    cut = [line[first:] for line in lines]
    facts = {str(line[0]): str(line[1]) for line in cut if len(line) > 1 and line[0]}
    written.trial = (_fact(facts, TRIAL_HEAD) or "").strip()
    # Its name was written with spaces once.
    made_as = (_fact(facts, WORKSHEET_HEAD) or FORMAT_NAME).replace(" ", "_")
    if made_as != FORMAT_NAME:
        written.problems.append(
            Problem(say(TRIAL_SHEET), made_as, FORMAT_NAME, say("Start from a new sheet."))
        )


def _fact(facts: Mapping[str, str], head: str) -> str | None:
    """What stands beside a head, in whichever language it was written."""
    heads = in_any_language(head)
    return next((text for name, text in facts.items() if name.strip().casefold() in heads), None)


def _read_csv(content: bytes, written: WrittenTrial) -> None:
    if not content.strip():
        written.unread.append(written.name)
        return
    text = table_of(content, written.name, say(_ALLOWED_FILE))
    written.read_as = joined(text.decided)
    lines: list[list[Any]] = []
    marks = SheetMarks()
    for number, cells in text.rows:
        lines += [[] for _ in range(number - len(lines) - 1)]
        # A formula is one in a text file as well: whoever opens it sees its value.
        marks.formulas |= {(number - 1, at) for at, cell in enumerate(cells) if is_formula(cell)}
        lines.append([from_text(cell) for cell in cells])
    sheet = _sheet_of_text(lines)
    if sheet is None:
        written.unread.append(written.name)
        return
    width = max(len(line) for line in lines)
    padded = [[*line, *[""] * (width - len(line))] for line in lines]
    written.lines[written.name] = padded
    found = read_table(padded, sheet, written.name, marks, text.dialect.decimal_comma or None)
    _keep(found, written)


def _sheet_of_text(lines: list[list[Any]]) -> Sheet | None:
    """The sheet whose heads stand in the first lines; titles may stand above them."""
    some = [line for line in lines if line][:HEAD_ROWS]
    return next(filter(None, map(fitting_sheet, some)), None)
