"""Marks of an .xlsx workbook (ECMA-376, part 1: SpreadsheetML), read as a stream."""

from __future__ import annotations

import re
import zipfile
from typing import Any
from xml.etree import ElementTree
from xml.parsers import expat

from woold.tables.sheet_marks import SheetMarks

__all__ = ["cell_address", "xlsx_marks"]

_ADDRESS = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")


def cell_address(text: str) -> tuple[int, int]:
    """Row and column, from 0, of an address such as "B12".

    Raises:
        ValueError: no such address.
    """
    found = _ADDRESS.fullmatch(text)
    if found is None:
        raise ValueError(text)
    column = 0
    for letter in found[1].upper():
        column = 26 * column + ord(letter) - 64
    return int(found[2]) - 1, column - 1


def _local(name: str) -> str:
    return name.rpartition("}")[2].rpartition(":")[2]


def xlsx_marks(archive: zipfile.ZipFile) -> dict[str, SheetMarks]:
    """Marks of each sheet, by its name; whatever prefix its parts give to the names of elements."""
    names = set(archive.namelist())
    links = {
        each.get("Id"): str(each.get("Target"))
        for each in ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    }
    found = {}
    for each in ElementTree.fromstring(archive.read("xl/workbook.xml")).iter():
        if _local(each.tag) != "sheet":
            continue
        link = next((value for name, value in each.items() if _local(name) == "id"), None)
        target = links.get(link, "").lstrip("/").removeprefix("xl/")
        if f"xl/{target}" in names:
            with archive.open(f"xl/{target}") as stream:
                found[str(each.get("name"))] = _Sheet().read(stream)
    return found


class _Sheet:
    """Follows the elements of one sheet; a cell without an address follows the one before."""

    def __init__(self) -> None:
        self.marks = SheetMarks()
        self.row, self.column = -1, -1
        self.is_error = self.in_value = False
        self.text = ""

    def read(self, stream: Any) -> SheetMarks:
        parser = expat.ParserCreate()
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._letters
        parser.ParseFile(stream)
        return self.marks

    def _start(self, name: str, values: dict[str, str]) -> None:
        name = _local(name)
        if name == "row":
            self.row = int(values["r"]) - 1 if "r" in values else self.row + 1
            self.column = -1
            if values.get("hidden") in ("1", "true"):
                self.marks.hidden.add(self.row)
        elif name == "c":
            if "r" in values:
                self.row, self.column = cell_address(values["r"])
            else:
                self.column += 1
            self.is_error = values.get("t") == "e"
        elif name == "f":
            self.marks.formulas.add((self.row, self.column))
        elif name == "v":
            self.in_value, self.text = self.is_error, ""
        elif name == "mergeCell":
            first, _, last = values.get("ref", "").partition(":")
            self.marks.merged.append((*cell_address(first), *cell_address(last or first)))

    def _end(self, name: str) -> None:
        if self.in_value and _local(name) == "v":
            self.in_value = False
            self.marks.errors[self.row, self.column] = self.text.strip() or "#"

    def _letters(self, text: str) -> None:
        if self.in_value:
            self.text += text
