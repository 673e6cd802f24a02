"""Reading a workbook or a CSV file into typed cells; every bad cell named by sheet and cell."""

from __future__ import annotations

import difflib
import hashlib
import io
import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from woold.errors import InputError, Problem, names_its_file
from woold.tables.text_table import joined, table_of
from woold.tables.workbook import require_sound_workbook
from woold.trial.csv_text import from_text
from woold.trial.sheet_cells import CellReader, SheetRow, SheetRows, cell_name
from woold.trial.sheets import SHEETS, Sheet, field_named, in_any_language
from woold.trial.worksheet import (
    FORMAT_NAME,
    TRIAL_HEAD,
    TRIAL_SHEET,
    UNIT_HEAD,
    WORKSHEET_HEAD,
)
from woold.words import say, to_say

__all__ = ["WrittenTrial", "read_written"]

LARGEST_FILE = 200_000_000
"""A file with more bytes is no trial sheet [bytes]."""

_HEAD_ROWS = 12
_ALLOWED_FILE = to_say("an .xlsx, .xlsm, .xls or .ods workbook, or a CSV text file")


@dataclass
class WrittenTrial:
    """What a file holds.

    Args:
        name: of the file.
        sha256: of its content.
        trial: key of the trial that the workbook was made for; "" where it says none.
        sheets: its sheets.
        problems: every bad cell.
        unread: names of sheets that were not read.
        read_as: how a text file was read, a sentence; "" for plain commas and for workbooks.
    """

    name: str
    sha256: str
    trial: str = ""
    sheets: list[SheetRows] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    read_as: str = ""


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
    written = WrittenTrial(path.name, hashlib.sha256(content).hexdigest())
    if content[:4] == b"PK\x03\x04" or content[:4] == b"\xd0\xcf\x11\xe0":
        _read_workbook(content, written)
    else:
        _read_csv(content, written)
    if not written.sheets and not written.problems:
        titles = ", ".join(sheet.title for sheet in SHEETS)
        raise InputError.one(
            str(path),
            say("no sheet with known columns ({names})", names=", ".join(written.unread))
            if written.unread
            else say("no sheet with known columns"),
            say("one of the sheets {titles}", titles=titles),
            say("Start from: woold trial sheet"),
        )
    return written


def _read_workbook(content: bytes, written: WrittenTrial) -> None:
    import python_calamine

    is_zip = content[:2] == b"PK"
    require_sound_workbook(content, written.name, say(_ALLOWED_FILE))
    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
    except python_calamine.PasswordError:
        raise InputError.one(
            written.name,
            say("locked with a password"),
            say(_ALLOWED_FILE),
            say("Save it without one."),
        ) from None
    except BaseException as error:
        raise _unreadable(error, written.name) from None
    try:
        _read_sheets(book, _formula_cells(content) if is_zip else {}, written)
    except BaseException as error:
        raise _unreadable(error, written.name) from None


def _unreadable(error: BaseException, name: str) -> BaseException:
    """A damaged file fails in as many ways as it has bytes; a reader's panic is no Exception."""
    if isinstance(error, InputError | MemoryError | KeyboardInterrupt | SystemExit):
        return error
    return InputError.one(
        name,
        say("not readable ({error})", error=str(error)[:120]),
        say(_ALLOWED_FILE),
        say("Save it anew."),
    )


def _read_sheets(book: Any, formulas: Mapping[str, set[str]], written: WrittenTrial) -> None:
    by_title = {title: sheet for sheet in SHEETS for title in in_any_language(sheet.title)}
    for title in book.sheet_names:
        if title.casefold() in in_any_language(TRIAL_SHEET):
            _read_first_sheet(book.get_sheet_by_name(title).to_python(), written)
            continue
        sheet = by_title.get(title.strip().casefold())
        if sheet is None:
            written.unread.append(title)
            continue
        lines = book.get_sheet_by_name(title).to_python(skip_empty_area=False)
        _read_table(iter(lines), sheet, title, written, formulas.get(title, set()))


def _read_first_sheet(lines: list[list[Any]], written: WrittenTrial) -> None:
    facts = {str(line[0]): str(line[1]) for line in lines if len(line) > 1 and line[0]}
    written.trial = _fact(facts, TRIAL_HEAD) or ""
    # Its name was written with spaces once.
    made_as = (_fact(facts, WORKSHEET_HEAD) or FORMAT_NAME).replace(" ", "_")
    if made_as != FORMAT_NAME:
        written.problems.append(
            Problem(say(TRIAL_SHEET), made_as, FORMAT_NAME, say("Start from a new sheet."))
        )


def _fact(facts: Mapping[str, str], head: str) -> str | None:
    """What stands beside a head, in whichever language it was written."""
    heads = in_any_language(head)
    return next((text for name, text in facts.items() if name.casefold() in heads), None)


_FORMULA = re.compile(rb'<c r="([A-Z]+\d+)"[^>]*><f[ />]')
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def _formula_cells(content: bytes) -> dict[str, set[str]]:
    """Cells that hold a formula, by sheet; empty where the file is no .xlsx."""
    found: dict[str, set[str]] = {}
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        names = set(archive.namelist())
        if "xl/workbook.xml" not in names or "xl/_rels/workbook.xml.rels" not in names:
            return found
        links = {
            each.get("Id"): str(each.get("Target"))
            for each in ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
        }
        for each in ElementTree.fromstring(archive.read("xl/workbook.xml")).iter(f"{_MAIN}sheet"):
            target = links.get(each.get(_LINK), "").lstrip("/").removeprefix("xl/")
            if f"xl/{target}" not in names:
                continue
            cells: set[str] = set()
            with archive.open(f"xl/{target}") as stream:
                kept = b""
                while chunk := stream.read(1 << 20):
                    text = kept + chunk
                    cells.update(match.decode() for match in _FORMULA.findall(text))
                    kept = text[-512:]
            found[str(each.get("name"))] = cells
    return found


def _read_csv(content: bytes, written: WrittenTrial) -> None:
    if not content.strip():
        written.unread.append(written.name)
        return
    table = table_of(content, written.name, say(_ALLOWED_FILE))
    written.read_as = joined(table.decided)
    lines: list[list[Any]] = []
    for number, cells in table.rows:
        lines += [[""] * len(cells)] * (number - len(lines) - 1)
        # Cells keep what was typed; numbers in a decimal comma are read with it.
        plain = [from_text(cell) for cell in cells]
        lines.append(["" if cell.casefold() in ("n/a", "#n/a") else cell for cell in plain])
    sheet = _fitting_sheet([str(value) for value in table.rows[0][1]]) if table.rows else None
    if sheet is None:
        written.unread.append(written.name)
        return
    width = max(len(line) for line in lines)
    padded = ([*line, *[""] * (width - len(line))] for line in lines)
    _read_table(padded, sheet, written.name, written, set())


def _split_head(text: str) -> tuple[str, str]:
    """Name and unit of a column head such as "film_mass [g]"."""
    match = re.fullmatch(r"\s*(.*?)\s*\[([^\]]*)\]\s*", text)
    return (match[1], match[2].strip()) if match else (text.strip(), "")


def _fitting_sheet(heads: list[str]) -> Sheet | None:
    names = [_split_head(head)[0] for head in heads]
    best, most = None, 0
    for sheet in SHEETS:
        known = {each.name for name in names if (each := field_named(sheet.fields, name))}
        required = {each.name for each in sheet.fields if each.required}
        if required <= known and len(known) > most:
            best, most = sheet, len(known)
    return best


def _read_table(
    lines: Iterator[list[Any]],
    sheet: Sheet,
    title: str,
    written: WrittenTrial,
    formulas: set[str],
) -> None:
    table = SheetRows(sheet, title)
    number = 0
    for line in lines:
        number += 1
        if _is_head(line, sheet):
            break
        if number >= _HEAD_ROWS:
            number = 0
            break
    else:
        number = 0
    if number == 0:
        written.problems.append(
            Problem(
                f"{title}!A1",
                say("no row of column heads"),
                ", ".join(say(each.label) for each in sheet.fields),
                say("Keep the heads of the worksheet."),
            )
        )
        return
    _read_heads(line, number, table, written.problems)
    reader = CellReader(table, written.problems)
    if formulas:
        _refuse_formulas(formulas, table, number, written.problems)
    for line in lines:
        number += 1
        if not table.unit_row and str(line[0]).strip().casefold() in in_any_language(UNIT_HEAD):
            _read_units(line, number, table)
            continue
        if table.unit_row == 0:
            table.unit_row = number - 1
        cells = reader.row(line, number, formulas)
        if cells:
            table.rows.append(SheetRow(number, cells))
    reader.ask_for_units()
    written.sheets.append(table)


def _is_head(line: list[Any], sheet: Sheet) -> bool:
    found = {
        each.name for cell in line if (each := field_named(sheet.fields, _split_head(str(cell))[0]))
    }
    return {each.name for each in sheet.fields if each.required} <= found


def _read_heads(line: list[Any], row: int, table: SheetRows, problems: list[Problem]) -> None:
    labels = tuple(say(each.label) for each in table.sheet.fields)
    for column, raw in enumerate(line):
        name, unit = _split_head(str(raw))
        if not name:
            continue
        known = field_named(table.sheet.fields, name)
        where = f"{table.title}!{cell_name(column, row)}"
        if known is None:
            near = difflib.get_close_matches(name.casefold(), labels, n=1)
            todo = (
                say('Did you mean "{near}"?', near=near[0]) if near else say("Take the column out.")
            )
            problems.append(
                Problem(where, say('unknown column "{name}"', name=name), ", ".join(labels), todo)
            )
        elif known.name in table.columns:
            problems.append(
                Problem(
                    where,
                    say('"{name}" again', name=name),
                    say("each column once"),
                    say("Take one of them out."),
                )
            )
        else:
            table.columns[known.name] = column
            if unit:
                table.units[known.name] = unit
    if table.units:
        table.unit_row = row


def _read_units(line: list[Any], row: int, table: SheetRows) -> None:
    table.unit_row = row
    for each in table.sheet.fields:
        column = table.columns.get(each.name)
        if each.is_quantity and column is not None and column < len(line):
            table.units[each.name] = str(line[column]).strip() or table.units.get(each.name, "")


def _refuse_formulas(
    formulas: set[str], table: SheetRows, head_row: int, problems: list[Problem]
) -> None:
    columns = {cell_name(column, 0)[:-1] for column in table.columns.values()}
    inside = []
    for name in formulas:
        letters, row = re.fullmatch(r"([A-Z]+)(\d+)", name).groups()  # type: ignore[union-attr]
        if letters in columns and int(row) >= head_row:
            inside.append((int(row), len(letters), letters))
    for row, _, letters in sorted(inside):
        problems.append(
            Problem(
                f"{table.title}!{letters}{row}",
                say("a formula"),
                say("what was read"),
                say("Type the reading."),
            )
        )
