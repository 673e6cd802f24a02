"""Taking what a form sends into the store: one wrapped load, once, however often it is sent."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from woold.errors import ConflictError, InputError
from woold.store import Batch, Cell, Store
from woold.trial.importing import Imported, take_rows
from woold.trial.reading import WrittenTrial
from woold.trial.sheet_cells import CellReader, SheetRow, SheetRows
from woold.trial.sheets import SHEETS
from woold.words import say

__all__ = ["PHOTO", "Entry", "keep_photo", "take_entry"]

PHOTO = "photo"
"""Kind of the records that tie a picture to a load."""

FORM_SHEETS = tuple(sheet for sheet in SHEETS if sheet.kind in ("load", "width", "pull"))


@dataclass(frozen=True, slots=True)
class Entry:
    """What a form sends.

    Args:
        id: made by the form; sending the same entry again changes nothing.
        rows: by kind of sheet, each row's typed text and unit by field.
        photos: SHA-256 of pictures of the load that were sent before.
        as_typed: fields that were asked about and are right, such as "load.film_mass".
        reason: why values that differ from the record shall correct it.
    """

    id: str
    rows: Mapping[str, Sequence[Mapping[str, tuple[str, str]]]]
    photos: Sequence[str] = ()
    as_typed: Collection[str] = ()
    reason: str = ""

    @property
    def sha256(self) -> str:
        """Fingerprint of the entry."""
        content = json.dumps([self.id, self.rows, list(self.photos)], sort_keys=True)
        return hashlib.sha256(content.encode()).hexdigest()


class _FormRows(SheetRows):
    """Rows of a form: a field is named as the form names it."""

    def place(self, name: str, row: int) -> str:
        if self.sheet.kind == "load" or row == self.unit_row:
            return f"{self.sheet.kind}.{name}"
        return f"{self.sheet.kind}[{row - 1}].{name}"


def take_entry(store: Store, trial: str, entry: Entry, by: str) -> Imported:
    """Take an entry into the store, wholly or not at all.

    Args:
        store: where.
        trial: key of the trial.
        entry: what the form sent.
        by: who.

    Raises:
        InputError: anything that cannot be used, by field of the form; nothing is kept.
        ConflictError: another entry of the same id is kept.
    """
    name = f"form {entry.id}"
    with store.writing(by) as batch:
        known = batch.source_named(trial, name)
        if known == entry.sha256:
            return Imported(trial, file_known=True)
        if known is not None:
            raise ConflictError.one(
                "id",
                entry.id,
                say("one entry of an id"),
                say("Send the changed entry under a new id."),
            )
        done = take_rows(batch, _written(entry, name), trial, entry.as_typed, entry.reason)
        loads = entry.rows.get("load", ())
        load = next((row["load"][0] for row in loads if "load" in row), "")
        _tie_photos(batch, trial, load, entry.photos)
    return done


def _written(entry: Entry, name: str) -> WrittenTrial:
    written = WrittenTrial(name, entry.sha256)
    for sheet in FORM_SHEETS:
        table = _FormRows(sheet, sheet.title)
        table.columns = {each.name: place for place, each in enumerate(sheet.fields)}
        reader = CellReader(table, written.problems)
        # A phone that was offline sends what an older page called a field.
        today = {old: each.name for each in sheet.fields for old in each.old_names}
        for number, typed in enumerate(entry.rows.get(sheet.kind, ()), start=1):
            row = {today.get(name, name): cell for name, cell in typed.items()}
            _refuse_unknown(table, row, number)
            line = [" ".join(row.get(each.name, ())) for each in sheet.fields]
            cells = reader.row(line, number, set())
            if cells:
                table.rows.append(SheetRow(number, cells))
        reader.ask_for_units()
        written.sheets.append(table)
    return written


def _refuse_unknown(table: SheetRows, row: Mapping[str, tuple[str, str]], number: int) -> None:
    for name in row:
        if name not in table.columns:
            allowed = ", ".join(table.columns)
            raise InputError.one(
                table.place(name, number), say("unknown"), allowed, say("Leave it out.")
            )


def keep_photo(store: Store, trial: str, load: str, path: Path | str, by: str) -> str:
    """Keep a picture of a load.

    Args:
        store: where.
        trial: key of the trial.
        load: number of the load.
        path: a JPEG, PNG or WebP file.
        by: who.

    Returns:
        The picture's SHA-256.

    Raises:
        InputError: no such load, or a file that is no picture.
    """
    try:
        content = Path(path).read_bytes()
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise InputError.one(str(path), reason, say("a JPEG, PNG or WebP file"), "") from None
    with store.writing(by) as batch:
        if load.strip().casefold() not in {each.key for each in batch.current(trial, "load")}:
            raise InputError.one(
                "load", load, say("a load of this trial"), say("Write it down first.")
            )
        sha256 = batch.add_photo(content, Path(path).name)
        _tie_photos(batch, trial, load, [sha256])
    return sha256


def _tie_photos(batch: Batch, trial: str, load: str, photos: Sequence[str]) -> None:
    """Say which load pictures are of; the same picture of the same load once."""
    kept = {each.key for each in batch.current(trial, PHOTO)} if photos else set()
    for sha256 in photos:
        if re.fullmatch(r"[0-9a-f]{64}", sha256) is None or not batch.has_photo(sha256):
            raise InputError.one(
                PHOTO, sha256, say("a picture that is kept"), say("Send the picture first.")
            )
        key = f"{load.strip().casefold()}|{sha256}"
        if key not in kept:
            kept.add(key)
            batch.add(trial, PHOTO, key, {"load": Cell(load.strip()), PHOTO: Cell(sha256)})
