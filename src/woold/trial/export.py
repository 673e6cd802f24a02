"""Taking a trial out of the store: every row ever written, tables to work with, photos."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from dataclasses import replace
from typing import BinaryIO

from woold.store import Cell, Record, Store
from woold.trial.csv_text import as_text
from woold.trial.records import ATTEMPT, setup_of
from woold.trial.sheets import ABANDONED, SHEETS

__all__ = ["export_trial"]

_README = """\
Export of a trial.

history.jsonl  every row ever written, oldest first, corrections with their reasons; cells are
               [text as typed, unit, SI value]
sources.json   files that rows were read from
loads.csv, widths.csv, pulls.csv, gauges.csv
               records as they stand, in the units typed, in the form that woold trial import reads;
               an apostrophe stands before words that a spreadsheet would run as a formula
photos/        pictures, by their SHA-256
"""


def export_trial(store: Store, trial: str, stream: BinaryIO) -> dict[str, int]:
    """Write everything that the store holds of a trial into a ZIP file.

    Args:
        store: where from.
        trial: key of the trial.
        stream: of the file, opened for bytes.

    Returns:
        Number of rows in each file.

    Raises:
        InputError: no such trial.
    """
    setup_of(store, trial)
    counts: dict[str, int] = {}
    photos = set()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("README.txt", _README)
        lines = []
        for each in store.history(trial):
            row = {name: getattr(each, name) for name in each.__slots__}
            lines.append(json.dumps(row, ensure_ascii=False))
            if "photo" in each.cells:
                photos.add(each.cells["photo"].typed)
        archive.writestr("history.jsonl", "\n".join(lines) + "\n")
        counts["history"] = len(lines)
        archive.writestr("sources.json", json.dumps(store.sources(trial), indent=2))
        for sheet in SHEETS:
            text, counts[sheet.title.lower()] = _table(store, trial, sheet.kind)
            archive.writestr(f"{sheet.title.lower()}.csv", text)
        for name in sorted(photos):
            archive.writestr(f"photos/{name}", store.photo(name)[0])
        counts["photos"] = len(photos)
    return counts


def _table(store: Store, trial: str, kind: str) -> tuple[str, int]:
    """Records that count, as CSV; a cell in another unit than its column's states it."""
    sheet = next(each for each in SHEETS if each.kind == kind)
    records = [each for each in store.current(trial, kind) if not each.void]
    if kind == "load":
        records += [_as_abandoned(each) for each in store.current(trial, ATTEMPT) if not each.void]
    units = {
        field.name: next(
            (each.cells[field.name].unit for each in records if _unit(each.cells, field.name)),
            field.metric,
        )
        for field in sheet.fields
    }
    buffer = io.StringIO()
    writer = csv.writer(buffer)
    writer.writerow(
        f"{field.name} [{units[field.name]}]" if field.is_quantity else field.name
        for field in sheet.fields
    )
    for each in records:
        row = []
        for field in sheet.fields:
            cell = each.cells.get(field.name, Cell(""))
            other = cell.unit and cell.unit != units[field.name]
            row.append(as_text(f"{cell.typed} {cell.unit}" if other else cell.typed))
        writer.writerow(row)
    return buffer.getvalue(), len(records)


def _as_abandoned(attempt: Record) -> Record:
    """A wrap that does not count, as a sheet says it."""
    cells = {**attempt.cells, "attempt": Cell(ABANDONED)}
    return replace(attempt, cells=cells)


def _unit(cells: object, name: str) -> str:
    assert isinstance(cells, dict)
    cell = cells.get(name)
    return cell.unit if isinstance(cell, Cell) else ""
