"""Marks of an .ods workbook (OASIS OpenDocument 1.3, part 3: tables), read as a stream."""

from __future__ import annotations

import re
import zipfile
from xml.parsers import expat

from woold.tables.sheet_marks import SheetMarks

__all__ = ["ods_marks"]

_MOST_REPEATED = 2_000
"""Repeated cells of which each is marked; more of them are blanks behind a table."""
_ERROR = re.compile(r"#[A-Z0-9/!?]+|Err:\d+", re.IGNORECASE)


def ods_marks(archive: zipfile.ZipFile) -> dict[str, SheetMarks]:
    """Marks of each sheet, by its name."""
    reader = _Content()
    with archive.open("content.xml") as stream:
        parser = expat.ParserCreate()
        parser.StartElementHandler = reader.start
        parser.EndElementHandler = reader.end
        parser.CharacterDataHandler = reader.letters
        parser.ParseFile(stream)
    return reader.found


class _Content:
    """Follows the elements of the content; a table inside a cell is none of its sheets."""

    def __init__(self) -> None:
        self.found: dict[str, SheetMarks] = {}
        self.marks = SheetMarks()
        self.depth = self.notes = 0
        self.row = self.column = 0
        self.rows = self.columns = 1
        self.cell: dict[str, str] | None = None
        self.is_covered = False
        self.text = ""

    def start(self, name: str, values: dict[str, str]) -> None:
        name = name.rpartition(":")[2] if name.startswith("table:") else name
        if name == "table":
            self.depth += 1
            if self.depth == 1:
                self.marks = self.found[values.get("table:name", "")] = SheetMarks()
                self.row = 0
        elif self.depth != 1:
            return
        elif name == "table-row":
            self.column, self.rows = 0, int(values.get("table:number-rows-repeated", 1))
            if values.get("table:visibility") in ("collapse", "filter") and self.rows < 10_000:
                self.marks.hidden.update(range(self.row, self.row + self.rows))
        elif name in ("table-cell", "covered-table-cell"):
            self.cell, self.text, self.is_covered = values, "", name == "covered-table-cell"
            self.columns = int(values.get("table:number-columns-repeated", 1))
        elif name == "office:annotation":
            self.notes += 1

    def end(self, name: str) -> None:
        name = name.rpartition(":")[2] if name.startswith("table:") else name
        if name == "table":
            self.depth -= 1
        elif self.depth != 1:
            return
        elif name == "table-row":
            self.row += self.rows
        elif name in ("table-cell", "covered-table-cell") and self.cell is not None:
            self._mark(self.cell)
            self.column += self.columns
            self.cell = None
        elif name == "office:annotation":
            self.notes -= 1

    def letters(self, text: str) -> None:
        if self.cell is not None and not self.notes:
            self.text += text

    def _mark(self, values: dict[str, str]) -> None:
        text = self.text.strip()
        formula = "table:formula" in values
        typed = values.get("calcext:value-type") or values.get("office:value-type") or ""
        is_error = typed == "error" or (formula and _ERROR.fullmatch(text) is not None)
        value = values.get("office:value") or values.get("office:string-value") or text
        if not (formula or is_error or self.is_covered or "table:number-columns-spanned" in values
                or "table:number-rows-spanned" in values):  # fmt: skip
            return
        for row in range(self.row, self.row + min(self.rows, _MOST_REPEATED)):
            for column in range(self.column, self.column + min(self.columns, _MOST_REPEATED)):
                if formula:
                    self.marks.formulas.add((row, column))
                if is_error:
                    self.marks.errors[row, column] = text or "#"
                if self.is_covered and (typed or text):
                    self.marks.covered[row, column] = value
        wide = int(values.get("table:number-columns-spanned", 1))
        high = int(values.get("table:number-rows-spanned", 1))
        if wide > 1 or high > 1:
            area = (self.row, self.column, self.row + high - 1, self.column + wide - 1)
            self.marks.merged.append(area)
