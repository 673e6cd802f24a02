"""Opening a database so that a committed record survives, with its tables up to date."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import platformdirs
from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from woold.errors import InputError
from woold.store.failures import newer_schema, on_failure
from woold.words import say

__all__ = ["LATEST", "default_url", "open_engine", "writing"]

MIGRATIONS = Path(__file__).parent / "migrations"
KNOWN = ("0001", "0002", "0003", "0004", "0005")
LATEST = KNOWN[-1]
_WAIT_FOR_OTHERS_S = 30


def default_url() -> str:
    """The store in the user's data folder."""
    return f"sqlite:///{platformdirs.user_data_path('woold') / 'records.sqlite'}"


def open_engine(url: str | None = None) -> Engine:
    """Engine of a store whose tables are up to date; the file is made where there is none.

    Args:
        url: database URL, or the path of an SQLite file; the user's own store when not given.

    Raises:
        InputError: the URL cannot be read, the driver is missing, or the database cannot be opened.
        StoreError: it is full, read-only, held by somebody else, or of a newer woold.
    """
    given = url or default_url()
    allowed = 'a path, or a URL such as "sqlite:////data/records.sqlite" or "postgresql://..."'
    try:
        target = make_url(given if "://" in given else f"sqlite:///{given}")
        if target.drivername == "postgresql":
            target = target.set(drivername="postgresql+psycopg")
        if target.get_backend_name() == "sqlite" and target.database not in (None, "", ":memory:"):
            Path(str(target.database)).parent.mkdir(parents=True, exist_ok=True)
        # What somebody typed belongs in no message and no log.
        engine = create_engine(target, hide_parameters=True)
        event.listen(engine, "handle_error", on_failure)
        if engine.dialect.name == "sqlite":
            event.listen(engine, "connect", _on_sqlite_connect)
            event.listen(engine, "begin", _on_sqlite_begin)
        _bring_up_to_date(engine)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        todo = "For PostgreSQL: pip install 'woold[postgresql]'."
        raise InputError.one("--store", f"{_hidden(given)} ({error})", allowed, todo) from None
    except OSError as error:
        raise InputError.one(
            "--store", f"{_hidden(given)} ({error.strerror})", allowed, say("Check the folder.")
        ) from None
    except DBAPIError as error:
        raise InputError.one(
            "--store",
            f"{_hidden(given)} ({error.orig})",
            allowed,
            say("Check that it can be opened."),
        ) from None
    return engine


def _hidden(url: str) -> str:
    """The URL without its password."""
    try:
        return make_url(url).render_as_string(hide_password=True)
    except ArgumentError:
        return url


def _on_sqlite_connect(connection: sqlite3.Connection, _record: Any) -> None:
    # SQLAlchemy says BEGIN itself (below), so that a writer locks before it reads.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {_WAIT_FOR_OTHERS_S * 1000}")
    cursor.execute("PRAGMA journal_mode = WAL")
    # FULL: a commit is on the disk when it returns, through a power cut too.
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def _on_sqlite_begin(connection: Connection) -> None:
    begin = "BEGIN IMMEDIATE" if connection.get_execution_options().get("writes") else "BEGIN"
    connection.exec_driver_sql(begin)


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees the newest state and lets no other writer in until it ends."""
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("LOCK TABLE record IN SHARE ROW EXCLUSIVE MODE")
        yield connection


def _bring_up_to_date(engine: Engine) -> None:
    from sqlalchemy import inspect, text

    with engine.connect() as connection:
        if inspect(connection).has_table("alembic_version"):
            version = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            if version == LATEST:
                return
            if version not in KNOWN:
                raise newer_schema(str(version), LATEST)
    # Imported here: reading an up-to-date store needs none of it.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
