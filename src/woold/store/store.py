"""The store: adding records in all-or-nothing batches, and reading them back."""

from __future__ import annotations

import datetime
import hashlib
import threading
import uuid
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Engine, bindparam, func, insert, select
from sqlalchemy.exc import IntegrityError

from woold.errors import ConflictError, InputError, Problem
from woold.store.engine import default_url, open_engine, writing
from woold.store.picture import Picture
from woold.store.tables import Cell, Record, cells_from_json, photo, record, source
from woold.words import say

__all__ = ["Batch", "Store", "Typed", "default_url"]

_ROWS_AT_ONCE = 5_000
_KEYS_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Typed:
    """Who typed rows and when, apart from who sends them.

    Args:
        by: who.
        at: when, by the store's clock (UTC, ISO 8601).
        clock_s: what the clock that they were typed by was ahead of the store's [s].
    """

    by: str
    at: str
    clock_s: float | None = None


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
    typed: Typed | None = None
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
                "typed_by": self.typed.by if self.typed else None,
                "typed_at": self.typed.at if self.typed else None,
                "clock_s": self.typed.clock_s if self.typed else None,
            }
        )
        if len(self._waiting) >= _ROWS_AT_ONCE:
            self.flush()

    def flush(self) -> None:
        """Hand the waiting rows to the database, still inside the batch."""
        rows, self._waiting = self._waiting, []
        if rows:
            self._connection.execute(insert(record), rows)

    def current(self, trial: str, kind: str, keys: Collection[str] | None = None) -> list[Record]:
        """As :meth:`Store.current`, with the rows of this batch."""
        self.flush()
        return _current(self._connection, trial, kind, keys)

    def recent(self, trial: str, kind: str, most: int) -> list[Record]:
        """The newest of the records of a kind that stand and count, oldest first."""
        self.flush()
        return _recent(self._connection, trial, kind, most)

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

    def add_photo(self, picture: Picture, name: str) -> str:
        """Keep a picture; the same picture is kept once.

        Returns:
            The SHA-256 of its content, by which a record names it.
        """
        name_of_content = hashlib.sha256(picture.content).hexdigest()
        known = select(photo.c.sha256).where(photo.c.sha256 == name_of_content)
        if self._connection.execute(known).first() is None:
            row = {"sha256": name_of_content, "name": name, "media_type": picture.media_type}
            row |= {"by": self.by, "at": self.at}
            self._connection.execute(insert(photo), {**row, "content": picture.content})
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

    def current(self, trial: str, kind: str, keys: Collection[str] | None = None) -> list[Record]:
        """Records of a kind as they stand, in the order in which they were first written.

        Args:
            trial: key of the trial.
            kind: such as "load".
            keys: only these of the kind; every one when not given.
        """
        with self.engine.connect() as connection:
            return _current(connection, trial, kind, keys)

    def recent(self, trial: str, kind: str, most: int) -> list[Record]:
        """The newest of the records of a kind that stand and count, oldest first."""
        with self.engine.connect() as connection:
            return _recent(connection, trial, kind, most)

    def count(self, trial: str, kind: str) -> int:
        """How many records of a kind stand and count."""
        with self.engine.connect() as connection:
            found = connection.execute(_COUNT, {"of_trial": trial, "of_kind": kind}).scalar()
        return int(found or 0)

    def latest(self, trial: str | None = None) -> int:
        """Number of the last row that was written, of one trial or of all; 0 where none was."""
        query = select(func.max(record.c.number))
        if trial is not None:
            query = query.where(record.c.trial == trial)
        with self.engine.connect() as connection:
            return int(connection.execute(query).scalar() or 0)

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


_RECENT = (
    _CURRENT.where(record.c.void.is_(False))
    .order_by(None)
    .order_by(record.c.number.desc())
    .limit(bindparam("most"))
)
_CURRENT_OF_KEYS = _CURRENT.where(record.c.key.in_(bindparam("of_keys", expanding=True)))
_COUNT = (
    select(func.count())
    .select_from(record)
    .outerjoin(_newer, _newer.c.replaces == record.c.number)
    .where(
        record.c.trial == bindparam("of_trial"),
        record.c.kind == bindparam("of_kind"),
        record.c.void.is_(False),
        _newer.c.number.is_(None),
    )
)


def _current(
    connection: Connection, trial: str, kind: str, keys: Collection[str] | None = None
) -> list[Record]:
    of = {"of_trial": trial, "of_kind": kind}
    if keys is None:
        return [_as_record(row) for row in connection.execute(_CURRENT, of)]
    wanted, found = sorted(set(keys)), []
    for first in range(0, len(wanted), _KEYS_AT_ONCE):
        some = {"of_keys": wanted[first : first + _KEYS_AT_ONCE]}
        found += [_as_record(row) for row in connection.execute(_CURRENT_OF_KEYS, {**of, **some})]
    return sorted(found, key=lambda each: each.number)


def _recent(connection: Connection, trial: str, kind: str, most: int) -> list[Record]:
    of = {"of_trial": trial, "of_kind": kind, "most": most}
    found = [_as_record(row) for row in connection.execute(_RECENT, of)]
    return sorted(found, key=lambda each: each.number)


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
