"""Copies of a store that are proven before they count, and the way back from one."""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import os
import shutil
import sqlite3
import tempfile
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine, Table, func, insert, select, text

from woold.errors import InputError, StoreError
from woold.store.engine import open_engine, writing
from woold.store.tables import photo, record, source
from woold.store.web_tables import account, change, known_device, learning, saved_case, thing
from woold.words import say

__all__ = [
    "Contents",
    "back_up",
    "check_store",
    "contents_of",
    "name_of_copy",
    "restore_store",
]

_LASTING: tuple[Table, ...] = (
    source, record, photo, saved_case, thing, learning, account, change, known_device,
)  # fmt: skip
"""What a copy holds, in the order in which rows name each other; who is signed in stays out."""

_ROWS_AT_ONCE = 200


@dataclass(frozen=True, slots=True)
class Contents:
    """What a store holds.

    Args:
        rows: number of rows by table.
        sha256: fingerprint of all of them.
    """

    rows: dict[str, int]
    sha256: str


def contents_of(connection: Connection) -> Contents:
    """Counts and fingerprint of what lasts, the same for every kind of database."""
    digest, rows = hashlib.sha256(), {}
    for table in _LASTING:
        count = 0
        # A picture's name is the fingerprint of its content, which check_store looks at.
        columns = [each for each in table.c if each is not photo.c.content]
        query = select(*columns).order_by(*table.primary_key.columns)
        for row in connection.execute(query.execution_options(yield_per=_ROWS_AT_ONCE)):
            count += 1
            digest.update(repr([table.name, *map(_plain, row)]).encode("utf-8", "surrogatepass"))
        rows[table.name] = count
    return Contents(rows, digest.hexdigest())


def _plain(value: object) -> object:
    """A value that is written alike, whichever database it comes from."""
    if isinstance(value, dict):
        return sorted((name, list(map(_plain, cell))) for name, cell in value.items())
    return float(value) if isinstance(value, int | float) else value


def check_store(engine: Engine) -> tuple[Contents, list[str]]:
    """What a store holds, and what is wrong with it: nothing, where it is sound.

    Args:
        engine: of an opened store.
    """
    wrong: list[str] = []
    with engine.connect() as connection:
        if engine.dialect.name == "sqlite":
            for pragma in ("integrity_check", "foreign_key_check"):
                found = connection.exec_driver_sql(f"PRAGMA {pragma}").fetchmany(20)
                wrong += [str(row[0]) for row in found if row[0] != "ok"]
        lost = select(func.count()).where(
            record.c.replaces.is_not(None),
            record.c.replaces.not_in(select(record.c.number)),
        )
        count = int(connection.execute(lost).scalar() or 0)
        if count:
            wrong.append(say("{count} corrections name a row that is not there", count=count))
        names = set()
        pictures = select(photo.c.sha256, photo.c.content)
        for row in connection.execute(pictures.execution_options(yield_per=10)):
            names.add(row.sha256)
            if hashlib.sha256(row.content).hexdigest() != row.sha256:
                wrong.append(say("picture {name} is not what was kept", name=row.sha256))
        tied = select(record.c.cells).where(record.c.kind == "photo")
        for cells in connection.execute(tied).scalars():
            if cells["photo"][0] not in names:
                wrong.append(say("picture {name} is missing", name=cells["photo"][0]))
        return contents_of(connection), wrong


def back_up(engine: Engine, path: Path | str) -> Contents:
    """Copy a store into a new SQLite file while it is in use, and prove the copy.

    Args:
        engine: of an opened store of any kind.
        path: a file that does not exist yet.

    Returns:
        What the copy holds.

    Raises:
        InputError: the file is there already, or cannot be written.
        StoreError: the copy is not what the store held.
    """
    target = Path(path)
    if target.exists():
        raise InputError.one(
            str(target), say("a file that exists"), say("a new file name"),
            say("Nothing was changed."),
        )  # fmt: skip
    part = target.with_name(f".{target.name}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        held = _copy_sqlite(engine, part) if _is_sqlite(engine) else _copy_rows(engine, part)
        _prove(part, held)
        with part.open("rb") as stream:
            os.fsync(stream.fileno())
        os.replace(part, target)
    except (OSError, sqlite3.Error) as error:
        raise InputError.one(
            str(target),
            str(getattr(error, "strerror", None) or error),
            say("a file that can be written, and room for it"),
            say("Choose another place, or make room."),
        ) from None
    finally:
        with contextlib.suppress(OSError):
            for ending in ("", "-wal", "-shm", "-journal"):
                part.with_name(part.name + ending).unlink(missing_ok=True)
    return held


def _is_sqlite(engine: Engine) -> bool:
    return engine.dialect.name == "sqlite"


def _copy_sqlite(engine: Engine, part: Path) -> Contents:
    """By SQLite's own online copy, within one reading transaction."""
    with engine.connect() as connection:
        held = contents_of(connection)
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        with contextlib.closing(sqlite3.connect(part)) as copy:
            raw.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
            # Who is signed in is nobody's business who gets hold of a copy.
            copy.execute("DELETE FROM web_session")
            copy.commit()
    return held


def _copy_rows(engine: Engine, part: Path) -> Contents:
    copy = open_engine(str(part))
    try:
        with engine.connect().execution_options(isolation_level="REPEATABLE READ") as connection:
            held = contents_of(connection)
            with writing(copy) as to:
                _pour(connection, to)
        with copy.connect() as to:
            to.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    finally:
        copy.dispose()
    return held


def _pour(connection: Connection, to: Connection) -> None:
    for table in _LASTING:
        query = select(table).order_by(*table.primary_key.columns)
        found = connection.execute(query.execution_options(yield_per=_ROWS_AT_ONCE))
        for rows in found.partitions(_ROWS_AT_ONCE):
            to.execute(insert(table), [dict(row._mapping) for row in rows])


def _prove(part: Path, held: Contents) -> None:
    copy = open_engine(str(part))
    try:
        found, wrong = check_store(copy)
    finally:
        copy.dispose()
    if wrong or found != held:
        raise StoreError.one(
            "backup",
            wrong[0] if wrong else say("a copy that is not what the store held"),
            say("a sound copy"),
            say("Run woold store check; the copy was thrown away."),
        )


def restore_store(path: Path | str, url: str) -> Contents:
    """Make a new store from a copy, and prove it.

    Args:
        path: as :func:`back_up` wrote it.
        url: of a store that holds nothing yet: a new file, or an empty PostgreSQL database.

    Raises:
        InputError: there is something already, or the copy cannot be read.
        StoreError: the copy is damaged, or of a newer woold.
    """
    given = Path(path)
    with tempfile.TemporaryDirectory(prefix="woold-") as folder:
        # Of a copy, since a copy from an older woold is brought up to date on the way.
        try:
            work = shutil.copy(given, Path(folder) / "copy.sqlite")
        except OSError as error:
            reason = error.strerror or say("cannot be read")
            raise InputError.one(
                str(given),
                reason,
                say("a copy of a store"),
                say("Name a file that woold store backup wrote."),
            ) from None
        copy, target = open_engine(str(work)), open_engine(url)
        try:
            held, wrong = check_store(copy)
            if wrong:
                raise StoreError.one(
                    str(given), wrong[0], say("a sound copy"), say("Take another.")
                )
            with writing(target) as to:
                if any(contents_of(to).rows.values()):
                    raise InputError.one(
                        "--store", say("a store that holds something"), say("an empty store"),
                        say("Give a new file, or an empty database. Nothing was changed."),
                    )  # fmt: skip
                with copy.connect() as connection:
                    _pour(connection, to)
                if to.dialect.name == "postgresql":
                    _count_on(to)
                if contents_of(to) != held:
                    raise StoreError.one(
                        "restore", say("a store that is not what the copy holds"),
                        say("an equal one"), say("Nothing was changed."),
                    )  # fmt: skip
        finally:
            copy.dispose()
            target.dispose()
    return held


def _count_on(connection: Connection) -> None:
    """Lets PostgreSQL number new rows after those that were poured in."""
    for table in (source, record, saved_case, learning, change):
        name = table.name
        connection.execute(
            text(
                f"SELECT setval(pg_get_serial_sequence('{name}', 'number'), "
                f"(SELECT COALESCE(MAX(number), 0) + 1 FROM {name}), false)"
            )
        )


def name_of_copy(now: datetime.datetime) -> str:
    """File name of a copy; names sort by time."""
    return f"woold-{now.astimezone(datetime.UTC):%Y%m%dT%H%M%SZ}.sqlite"
