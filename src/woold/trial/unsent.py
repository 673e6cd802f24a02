"""A phone's file of what it could not send: read and taken as if the phone had sent it."""

from __future__ import annotations

import base64
import binascii
import datetime
import json
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from woold.errors import InputError, Problem, WooldError
from woold.store import Store
from woold.store.picture import clean_picture
from woold.trial.entry import Entry, take_entry, tie_photos
from woold.trial.records import TRIAL
from woold.trial.who_typed import typed_by_clock
from woold.words import say

__all__ = ["SCHEMA", "TakenFile", "is_unsent", "read_unsent", "take_unsent"]

SCHEMA = "entries-not-sent"
LARGEST_UNSENT = 300_000_000
"""Of such a file [bytes]."""


class _Cell(BaseModel):
    typed: str = Field(max_length=5_000)
    unit: str = Field("", max_length=32)


_Row = dict[str, _Cell]


class _Body(BaseModel):
    load: _Row = Field(default_factory=dict)
    widths: list[_Row] = Field(default_factory=list, max_length=200)
    pulls: list[_Row] = Field(default_factory=list, max_length=200)
    as_typed: list[str] = Field(default_factory=list, max_length=500)
    reason: str = Field("", max_length=2_000)


class _Unsent(BaseModel):
    id: str = Field(pattern=r"^[A-Za-z0-9_-]{8,64}$")
    trial: str = Field(pattern=r"^[a-z0-9][a-z0-9-]{0,62}$")
    body: _Body
    typed_by: str = Field("", max_length=64)
    typed_at: AwareDatetime | None = None
    clock_s: float | None = Field(None, ge=-1e10, le=1e10, allow_inf_nan=False)
    photos: list[str] = Field(default_factory=list, max_length=50)


class _File(BaseModel):
    model_config = ConfigDict(extra="ignore")

    schema_: str = Field(alias="schema", pattern=f"^{SCHEMA}$")
    entries: list[_Unsent] = Field(max_length=10_000)


@dataclass
class TakenFile:
    """What became of a file's entries.

    Args:
        taken: entries that are in the store now.
        known: entries that were there already.
        refused: why entries were not taken, each problem's field beginning with its load.
    """

    taken: int = 0
    known: int = 0
    refused: list[Problem] = field(default_factory=list)


def is_unsent(path: Path | str) -> bool:
    """Whether a file looks like one of a phone's entries."""
    try:
        with Path(path).open("rb") as stream:
            start = stream.read(2_000)
    except OSError:
        return False
    return start[:1] == b"{" and SCHEMA.encode() in start


def read_unsent(path: Path | str) -> bytes:
    """The content of such a file.

    Raises:
        InputError: it cannot be read.
    """
    try:
        return Path(path).read_bytes()
    except OSError as error:
        reason = error.strerror or say("cannot be read")
        raise InputError.one(
            str(path), reason, say("the file that the phone's form saved"), say("Check the name.")
        ) from None


def take_unsent(store: Store, content: bytes, by: str) -> TakenFile:
    """Take a phone's file into the store: each entry wholly or not at all, and once.

    Args:
        store: where.
        content: the file.
        by: who brings it.

    Raises:
        InputError: not such a file; nothing was taken.
    """
    done = TakenFile()
    for each in _entries(content):
        load = each.body.load.get("load", _Cell(typed="?")).typed
        try:
            _take(store, each, load, by, done)
        except WooldError as error:
            place = say("trial {trial}, load {load}", trial=each.trial, load=load)
            done.refused += [replace(one, field=f"{place}: {one.field}") for one in error.problems]
    return done


def _take(store: Store, each: _Unsent, load: str, by: str, done: TakenFile) -> None:
    if not store.current(each.trial, TRIAL):
        raise InputError.one(
            "trial",
            each.trial,
            say("the key of a trial in this store"),
            say("Import it into the store that the form came from."),
        )
    now = datetime.datetime.now(datetime.UTC)
    at = each.typed_at
    typed = typed_by_clock(each.typed_by or by, at, each.clock_s, now) if at else None
    rows = {"load": [each.body.load] if each.body.load else []}
    rows |= {"width": each.body.widths, "pull": each.body.pulls}
    entry = Entry(
        each.id,
        {kind: [_plain(row) for row in some] for kind, some in rows.items()},
        as_typed=each.body.as_typed,
        reason=each.body.reason,
        typed=typed,
    )
    kept = take_entry(store, each.trial, entry, by)
    done.known += kept.file_known
    done.taken += not kept.file_known
    names = []
    for number, text in enumerate(each.photos, start=1):
        name = say("photo {number}", number=number)
        try:
            picture = clean_picture(base64.b64decode(text, validate=True), name)
        except binascii.Error:
            raise InputError.one(
                "photo",
                name,
                say("a picture as base64"),
                say("Save the file from the phone again."),
            ) from None
        with store.writing(by) as batch:
            names.append(batch.add_photo(picture, name))
    if names:
        tie_photos(store, each.trial, load, names, by, typed)


def _plain(row: _Row) -> dict[str, tuple[str, str]]:
    return {name: (cell.typed, cell.unit) for name, cell in row.items()}


def _entries(content: bytes) -> list[_Unsent]:
    allowed = say("the file that the phone's form saved")
    if len(content) > LARGEST_UNSENT:
        size = say("{count:,} bytes", count=len(content))
        raise InputError.one("file", size, allowed, say("Is it the right file?"))
    try:
        table: Any = json.loads(content)
        return _File.model_validate(table).entries
    except (ValueError, RecursionError) as error:
        first = error.errors()[0] if isinstance(error, ValidationError) else None
        where = ".".join(str(step) for step in (first["loc"] if first else ())) or "file"
        given = repr(first["input"])[:80] if first else say("not JSON")
        raise InputError.one(where, given, allowed, say("Save it anew on the phone.")) from None
