"""The store: adding records in all-or-nothing batches, and reading them back."""

from __future__ import annotations

import datetime
import hashlib
import threading
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Engine, bindparam, insert, select
from sqlalchemy.exc import IntegrityError

from woold.errors import ConflictError, InputError, Problem
from woold.store.engine import default_url, open_engine, writing
from woold.store.tables import Cell, Record, cells_from_json, photo, record, source
from woold.words import say

__all__ = ["Batch", "Store", "default_url"]

LARGEST_PHOTO = 25_000_000
"""More than any phone camera's picture [bytes]."""

_PICTURES = {
    b"\xff\xd8\xff": "image/jpeg",
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"RIFF": "image/webp",
}

_ROWS_AT_ONCE = 5_000


@dataclass(frozen=True, slots=True)
class _Put:
    """A row to write: a new thing, or with `replaces` and `reason` a correction of one."""

    trial: str
    kind: str
    key: str
    cells: Mapping[str, Cell]
    replaces: int | None = None
    reason: str = ""
    void: bool = False


@dataclass
class Batch:
    """Rows to be added together; what it sees of the store is the newest state.

    Made by :meth:`Store.writing`. Nothing is kept unless the whole batch is.
    """

    _connection: Connection
    by: str
    at: str
    source: int | None = None
    _waiting: list[dict[str, Any]] = field(default_factory=list)

    def from_file(self, trial: str, content_sha256: str, name: str) -> bool:
        """Say that the rows come from a file. False where that file was read before."""
        known = select(source.c.number).where(
            source.c.trial == trial, source.c.sha256 == content_sha256
        )
        if self._connection.execute(known).first() is not None:
            return False
        row = {"trial": trial, "sha256": content_sha256, "name": name, "by": self.by, "at": self.at}
        result = self._connection.execute(insert(source), row)
        assert result.inserted_primary_key is not None
        self.source = int(result.inserted_primary_key[0])
        return True

    def source_named(self, trial: str, name: str) -> str | None:
        """SHA-256 of what was taken in under a name; None where nothing was."""
        query = select(source.c.sha256).where(source.c.trial == trial, source.c.name == name)
        return self._connection.execute(query.limit(1)).scalar()

    def has_photo(self, sha256: str) -> bool:
        """Whether a picture is kept."""
        query = select(photo.c.sha256).where(photo.c.sha256 == sha256)
        return self._connection.execute(query).first() is not None

    def add(
        self,
        trial: str,
        kind: str,
        key: str,
        cells: Mapping[str, Cell],
    ) -> None:
        """Add a thing that was not written down before."""
        self._put(_Put(trial, kind, key, cells))

    def correct(
        self,
        current: Record,
        cells: Mapping[str, Cell],
        reason: str,
        void: bool = False,
    ) -> None:
        """Add a correction of a record.

        Args:
            current: the record as it stands; if someone corrected it meanwhile, the batch fails.
            cells: the cells that change; the others are carried over.
            reason: why.
            void: the thing does not count any more.
        """
        if not reason.strip():
            raise InputError.one(
                "reason", say("nothing"), say("a reason"), say("Say why it is corrected.")
            )
        merged = {**current.cells, **cells}
        self._put(
            _Put(
                current.trial,
                current.kind,
                current.key,
                merged,
                current.number,
                reason.strip(),
                void,
            )
        )

    def _put(self, row: _Put) -> None:
        self._waiting.append(
            {
                "id": uuid.uuid4().hex,
                "trial": row.trial,
                "kind": row.kind,
                "key": row.key,
                "cells": dict(row.cells),
                "void": row.void,
                "by": self.by,
                "at": self.at,
                "source": self.source,
                "replaces": row.replaces,
                "reason": row.reason,
            }
        )
        if len(self._waiting) >= _ROWS_AT_ONCE:
            self.flush()

    def flush(self) -> None:
        """Hand the waiting rows to the database, still inside the batch."""
        rows, self._waiting = self._waiting, []
        if rows:
            self._connection.execute(insert(record), rows)

    def current(self, trial: str, kind: str) -> list[Record]:
        """As :meth:`Store.current`, with the rows of this batch."""
        self.flush()
        return _current(self._connection, trial, kind)

    def versions(self, current: Record) -> list[Record]:
        """Every row of the thing that a record is about, oldest first."""
        self.flush()
        query = (
            select(record)
            .where(
                record.c.trial == current.trial,
                record.c.kind == current.kind,
                record.c.key == current.key,
            )
            .order_by(record.c.number)
        )
        return [_as_record(row) for row in self._connection.execute(query)]

    def add_photo(self, content: bytes, name: str) -> str:
        """Keep a picture; the same picture is kept once.

        Returns:
            Its SHA-256, by which a record names it.

        Raises:
            InputError: too large, or no JPEG, PNG or WebP.
        """
        media_type = next(
            (kind for start, kind in _PICTURES.items() if content.startswith(start)), ""
        )
        if not media_type or len(content) > LARGEST_PHOTO:
            size = f"{len(content):,}"
            given = (
                say("{name}, {size} bytes", name=name, size=size)
                if media_type
                else say("{name}, {size} bytes, no picture", name=name, size=size)
            )
            raise InputError.one(
                "photo", given, say("a JPEG, PNG or WebP up to 25 MB"), say("Make it so.")
            )
        name_of_content = hashlib.sha256(content).hexdigest()
        known = select(photo.c.sha256).where(photo.c.sha256 == name_of_content)
        if self._connection.execute(known).first() is None:
            self._connection.execute(
                insert(photo),
                {
                    "sha256": name_of_content,
                    "name": name,
                    "media_type": media_type,
                    "content": content,
                    "by": self.by,
                    "at": self.at,
                },
            )
        return name_of_content


class Store:
    """An append-only store of records.

    Args:
        url: database URL or path of an SQLite file; the user's own store when not given.
    """

    def __init__(self, url: str | None = None) -> None:
        self.engine: Engine = open_engine(url)
        # SQLite has one writer at a time; waiting here is quicker than asking it again and again.
        self._writer = threading.Lock()

    @contextmanager
    def writing(self, by: str) -> Iterator[Batch]:
        """A batch of rows by one person, kept wholly or not at all.

        Raises:
            ConflictError: a thing that is there already, or a record corrected by someone else.
        """
        now = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        try:
            with self._writer, writing(self.engine) as connection:
                batch = Batch(connection, by=by, at=now)
                yield batch
                batch.flush()
        except IntegrityError as error:
            raise ConflictError.many([_conflict(str(error.orig))]) from None

    def current(self, trial: str, kind: str) -> list[Record]:
        """Records of a kind as they stand, in the order in which they were first written."""
        with self.engine.connect() as connection:
            return _current(connection, trial, kind)

    def history(self, trial: str | None = None) -> Iterator[Record]:
        """Every row ever written, of one trial or of all, oldest first."""
        query = select(record).order_by(record.c.number)
        if trial is not None:
            query = query.where(record.c.trial == trial)
        with self.engine.connect().execution_options(stream_results=True) as connection:
            for row in connection.execute(query):
                yield _as_record(row)

    def sources(self, trial: str) -> list[dict[str, Any]]:
        """Files that a trial's records were read from."""
        query = select(source).where(source.c.trial == trial).order_by(source.c.number)
        with self.engine.connect() as connection:
            return [dict(row._mapping) for row in connection.execute(query)]

    def trials(self) -> list[str]:
        """Keys of the trials, in alphabetical order."""
        query = select(record.c.trial).distinct().order_by(record.c.trial)
        with self.engine.connect() as connection:
            return list(connection.execute(query).scalars())

    def photo(self, sha256: str) -> tuple[bytes, str]:
        """A picture and its media type.

        Raises:
            InputError: none of that name.
        """
        query = select(photo.c.content, photo.c.media_type).where(photo.c.sha256 == sha256)
        with self.engine.connect() as connection:
            row = connection.execute(query).first()
        if row is None:
            raise InputError.one(
                "photo", sha256, say("the SHA-256 of a kept picture"), say("Check it.")
            )
        return row[0], row[1]

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


_newer = record.alias("newer")
_CURRENT = (
    select(record)
    .outerjoin(_newer, _newer.c.replaces == record.c.number)
    .where(
        record.c.trial == bindparam("of_trial"),
        record.c.kind == bindparam("of_kind"),
        _newer.c.number.is_(None),
    )
    .order_by(record.c.number)
)


def _current(connection: Connection, trial: str, kind: str) -> list[Record]:
    rows = connection.execute(_CURRENT, {"of_trial": trial, "of_kind": kind})
    return [_as_record(row) for row in rows]


def _as_record(row: Any) -> Record:
    values = dict(row._mapping)
    values["cells"] = cells_from_json(values["cells"])
    return Record(**values)


def _conflict(message: str) -> Problem:
    if "replaces" in message:
        return Problem(
            "record",
            say("corrected by someone else meanwhile"),
            say("a correction of the newest state"),
            say("Read it again, then correct."),
        )
    return Problem(
        "record",
        say("already in the store"),
        say("each thing written down once"),
        say("Correct it, with a reason."),
    )
