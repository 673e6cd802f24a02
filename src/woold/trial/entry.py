"""Taking what a form sends into the store: one wrapped load, once, however often it is sent."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from woold.errors import ConflictError, InputError, Question
from woold.store import Batch, Cell, Record, Store, Typed
from woold.store.picture import clean_picture
from woold.trial.importing import Imported, take_rows
from woold.trial.load_names import load_key
from woold.trial.reading import WrittenTrial
from woold.trial.records import ATTEMPT
from woold.trial.sheet_cells import CellReader, SheetRow, SheetRows
from woold.trial.sheets import SHEETS
from woold.words import say

__all__ = ["PHOTO", "SAME_LOAD", "Entry", "keep_photo", "take_entry", "tie_photos"]

PHOTO = "photo"
"""Kind of the records that tie a picture to a load."""

SAME_LOAD = "load.load"
"""Field whose confirmation says: it is the load that is on record already."""

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
        typed: who typed it and when; None where that is who sends it, now.
    """

    id: str
    rows: Mapping[str, Sequence[Mapping[str, tuple[str, str]]]]
    photos: Sequence[str] = ()
    as_typed: Collection[str] = ()
    reason: str = ""
    typed: Typed | None = None

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
        InputError: anything that cannot be used, by field of the form, nothing measured at all, or
            a load that somebody else wrote down: then whoever sends is asked. Nothing is kept.
        ConflictError: another entry of the same id is kept.
    """
    name = f"form {entry.id}"
    loads = entry.rows.get("load", ())
    load = next((row["load"][0].strip() for row in loads if "load" in row), "")
    with store.writing(by) as batch:
        batch.typed = entry.typed
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
        before = batch.current(trial, "load", {load_key(load)}) if load else []
        done = take_rows(batch, _written(entry, name), trial, entry.as_typed, entry.reason)
        if not (done.added or done.completed or done.corrected or done.known):
            raise InputError.one(
                "load",
                say("nothing that was measured"),
                say("at least one measured value"),
                say("Weigh or measure the load first."),
            )
        is_repeat = any("attempt" in row for row in loads)
        if before and not is_repeat and not entry.reason and SAME_LOAD not in entry.as_typed:
            _ask_whether_same(before[0], load, done)
        _tie_photos(batch, trial, load, entry.photos)
    return done


def _ask_whether_same(kept: Record, load: str, done: Imported) -> None:
    """Two people may have written down two loads under one number: nothing is merged unasked."""
    if done.added or done.completed:
        raise InputError.many(
            [
                Question(
                    SAME_LOAD,
                    say(
                        "load {load}, which {who} wrote down at {time} UTC",
                        load=load,
                        who=kept.typed_by or kept.by,
                        time=(kept.typed_at or kept.at)[:16].replace("T", " "),
                    ),
                    say("a load that nobody wrote down yet, or more about that very load"),
                    say(
                        "Is it the same load? Then what is missing there is added and nothing is "
                        "overwritten. Else give it its own number."
                    ),
                )
            ]
        )


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
            cells = reader.row(line, number)
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
        raise InputError.one(
            str(path),
            reason,
            say("a JPEG, PNG or WebP file"),
            say("Check the name, or take the photo again."),
        ) from None
    picture = clean_picture(content, Path(path).name)
    with store.writing(by) as batch:
        _known_load(batch, trial, load)
        sha256 = batch.add_photo(picture, Path(path).name)
        _tie_photos(batch, trial, load, [sha256])
    return sha256


def tie_photos(
    store: Store, trial: str, load: str, photos: Sequence[str], by: str, typed: Typed | None = None
) -> None:
    """Say which load kept pictures are of; saying it again changes nothing.

    Args:
        store: where.
        trial: key of the trial.
        load: number of a load that is on record.
        photos: SHA-256 of the pictures.
        by: who says it.
        typed: who took them and when, where that is somebody else.

    Raises:
        InputError: no such load or picture.
    """
    with store.writing(by) as batch:
        batch.typed = typed
        _known_load(batch, trial, load)
        _tie_photos(batch, trial, load, photos)


def _known_load(batch: Batch, trial: str, load: str) -> None:
    key = load_key(load)
    is_known = batch.current(trial, "load", {key}) or any(
        each.key.startswith(f"{key}|") for each in batch.current(trial, ATTEMPT)
    )
    if not is_known:
        raise InputError.one("load", load, say("a load of this trial"), say("Write it down first."))


def _tie_photos(batch: Batch, trial: str, load: str, photos: Sequence[str]) -> None:
    """Say which load pictures are of; the same picture of the same load once."""
    names = {sha256: f"{load_key(load)}|{sha256}" for sha256 in photos}
    kept = {each.key for each in batch.current(trial, PHOTO, names.values())} if photos else set()
    for sha256, key in names.items():
        if re.fullmatch(r"[0-9a-f]{64}", sha256) is None or not batch.has_photo(sha256):
            raise InputError.one(
                PHOTO, sha256, say("a picture that is kept"), say("Send the picture first.")
            )
        if key not in kept:
            kept.add(key)
            batch.add(trial, PHOTO, key, {"load": Cell(load.strip()), PHOTO: Cell(sha256)})
