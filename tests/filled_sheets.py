"""Filled sheets of a small trial, and the ways in which people save them: built by libraries.

Workbooks are written by openpyxl (.xlsx), xlwt (.xls) and odfpy (.ods), text by Python's own csv:
none of them is what the program writes or reads with.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import xlwt
from odf import table as ods
from odf.opendocument import OpenDocumentSpreadsheet
from odf.text import P

Rows = list[list[Any]]
Book = dict[str, Rows]

LOADS = ["load", "treatment", "load type", "block", "shift", "film roll", "operator",
         "film on the scale", "bag or tray alone", "turns", "cycle time", "marks on the roll",
         "marks on the load", "film breaks", "notes", "attempt", "reason"]  # fmt: skip
LOAD_UNITS = ["unit", "", "", "", "", "", "", "g", "g", "", "s", "mm", "mm", "", "", "", ""]
PULLS = ["load", "height over the deck", "side", "pull reading", "time since wrapping"]
PULL_UNITS = ["unit", "mm", "", "N", "min"]
WIDTHS = ["load", "height over the deck", "film width"]
WIDTH_UNITS = ["unit", "mm", "mm"]
COUNT = 12
"""Loads of the trial; odd ones are candidates."""

_MASS = [193.1, 181.4, 190.2, 178.8, 196.0, 183.3, 188.7, 180.1, 194.4, 177.5, 191.6, 182.9]
_FORCE = [(38.2, 36.9), (27.4, 28.3), (33.1, 31.8)]


def filled_book() -> Book:
    """A sheet filled in without a slip: 12 loads, their pulls and widths; numbers by hand."""
    loads: Rows = [list(LOADS), list(LOAD_UNITS)]
    pulls: Rows = [list(PULLS), list(PULL_UNITS)]
    widths: Rows = [list(WIDTHS), list(WIDTH_UNITS)]
    for n in range(1, COUNT + 1):
        treatment = "candidate" if n % 2 else "baseline"
        mass = _MASS[n - 1] if n % 2 == 0 else _MASS[n - 1] - 22
        loads.append([n, treatment, "jars", (n + 3) // 4, "day", "", "AB", round(mass + 12, 1), 12,
                      16, 138 + n % 5, 100, 330 + n % 7, 0, "", "", ""])  # fmt: skip
        for height, forces in zip((250, 750, 1250), _FORCE, strict=True):
            for side, force in zip(("front", "right"), forces, strict=True):
                pulls.append([n, height, side, round(force * (0.97 + 0.01 * (n % 7)), 1), 30])
        widths += [[n, height, 430 + n % 5] for height in (250, 1250)]
    first: Rows = [["A trial", ""], ["", ""], ["trial", "line-1"],
                   ["worksheet", "woold_trial_worksheet_1"]]  # fmt: skip
    gauges: Rows = [["gauge", "part", "person", "repeat", "reading"], ["unit", "", "", "", ""]]
    return {"Trial": first, "Loads": loads, "Widths": widths, "Pulls": pulls, "Gauges": gauges}


class Formula(str):
    """A formula, without its equals sign, and the value that it last had."""

    shown: Any = 1

    @classmethod
    def of(cls, text: str, shown: Any) -> Formula:
        made = cls(text)
        made.shown = shown
        return made


class Error(str):
    """A cell that shows an error."""


def save(book: Book, path: Path, then: Callable[[Any], None] | None = None) -> Path:
    """Writes a book in the form that the path's ending names; `then` changes it before."""
    {".xlsx": _xlsx, ".xls": _xls, ".ods": _ods}[path.suffix](book, path, then)
    return path


def _xlsx(book: Book, path: Path, then: Callable[[Any], None] | None) -> None:
    out = openpyxl.Workbook()
    out.remove(out.active)
    for title, rows in book.items():
        page = out.create_sheet(title)
        for row, line in enumerate(rows, start=1):
            for column, value in enumerate(line, start=1):
                if value == "" or value is None:
                    continue
                cell = page.cell(row, column)
                if isinstance(value, Formula):
                    cell.value = f"={value}"
                elif isinstance(value, Error):
                    cell.value, cell.data_type = str(value), "e"
                else:
                    cell.value = value
                    if isinstance(value, str):
                        cell.data_type = "s"
    if then:
        then(out)
    out.save(path)


def _xls(book: Book, path: Path, then: Callable[[Any], None] | None) -> None:
    out = xlwt.Workbook()
    codes = {"#N/A": 0x2A, "#DIV/0!": 0x07, "#VALUE!": 0x0F, "#REF!": 0x17}
    for title, rows in book.items():
        page = out.add_sheet(title)
        for row, line in enumerate(rows):
            for column, value in enumerate(line):
                if value == "" or value is None:
                    continue
                if isinstance(value, Formula):
                    page.write(row, column, xlwt.Formula(str(value)))
                elif isinstance(value, Error):
                    page.row(row).set_cell_error(column, codes[value])
                else:
                    page.write(row, column, value)
    if then:
        then(out)
    out.save(str(path))


def _ods(book: Book, path: Path, then: Callable[[Any], None] | None) -> None:
    out = OpenDocumentSpreadsheet()
    for title, rows in book.items():
        page = ods.Table(name=title)
        for line in rows:
            row = ods.TableRow()
            for value in line:
                row.addElement(_ods_cell(value))
            page.addElement(row)
        out.spreadsheet.addElement(page)
    if then:
        then(out)
    out.save(str(path))


def _ods_cell(value: Any) -> Any:
    if value == "" or value is None:
        return ods.TableCell()
    if isinstance(value, Formula):
        cell = ods.TableCell(formula=f"of:={value}", valuetype="float", value=str(value.shown))
    elif isinstance(value, Error):
        # What such a cell is by the standard: a formula whose text is the error.
        cell = ods.TableCell(formula="of:=NA()", valuetype="string", stringvalue="")
    elif isinstance(value, datetime.date):
        cell = ods.TableCell(valuetype="date", datevalue=value.isoformat())
    elif isinstance(value, bool | str):
        cell = ods.TableCell(valuetype="string")
    else:
        cell = ods.TableCell(valuetype="float", value=str(value))
    cell.addElement(P(text=str(value.shown if isinstance(value, Formula) else value)))
    return cell


def text_of(rows: Rows, separator: str = ",", decimal: str = ".") -> str:
    """A sheet as text, its units in the heads."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, delimiter=separator)
    heads, units = rows[0], rows[1]
    writer.writerow(
        f"{head} [{unit}]" if unit and unit != "unit" else head
        for head, unit in zip(heads, units, strict=True)
    )
    for line in rows[2:]:
        writer.writerow(
            str(value).replace(".", decimal) if isinstance(value, float) else value
            for value in line
        )
    return buffer.getvalue()
