"""Where a fleet's records are: Parquet files for an engine, or a table of a database.

Rows keep their place where the engine knows it, so that one that cannot be used can be named.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from woold.errors import InputError
from woold.tables.parquet import require_sound_parquet
from woold.words import say

__all__ = ["FILE", "ROW", "Engine", "open_fleet", "require_sound_options"]

Engine = Literal["duckdb", "spark"]

_LEAST_MEMORY = 100
FILE, ROW = "woold_file", "woold_row"
"""Columns that hold a row's file or table, and its number or address there."""


def open_fleet(
    sources: Sequence[str], engine: Engine = "duckdb", table: str = "", memory: str = "3GB"
) -> Any:
    """The fleet's table.

    Args:
        sources: Parquet files or patterns (``cycles/*.parquet``), or one ``postgres://...``.
        engine: for Parquet.
        table: name of the table of a database.
        memory: that DuckDB may use before it spills to disk.

    Raises:
        InputError: the engine is not installed, or there is nothing to read.
    """
    require_sound_options(sources, table, memory)
    try:
        import ibis

        if any("://" in source for source in sources):
            return _database_table(ibis.connect(sources[0]), table)
        if engine == "spark":
            return _spark_table(sources)
        for source in sources:
            if Path(source).is_file():
                require_sound_parquet(Path(source), most_rows=2**62)
        connection = ibis.duckdb.connect()
        # Its progress bar would go to standard output, in the middle of a JSON document.
        connection.raw_sql("SET enable_progress_bar = false")
        connection.raw_sql("SET TimeZone = 'UTC'; SET preserve_insertion_order = false")
        connection.raw_sql(f"SET memory_limit = '{memory}'")
        return _numbered(connection, sources)
    except ImportError as error:
        extra = {"spark": "pyspark, and Java", "duckdb": "woold[fleet]"}[engine]
        if any("://" in source for source in sources):
            extra = "woold[fleet-postgresql]"
        given = say("needs {package}, which is missing", package=error.name)
        raise InputError.one(
            "fleet", given, say("an installed engine"), say("Install {extra}.", extra=extra)
        ) from None
    except InputError:
        raise
    except Exception as error:  # each engine has errors of its own, without a common base
        raise InputError.one(
            "source",
            _without_password(f"{', '.join(sources)} ({str(error).splitlines()[0][:120]})"),
            say("Parquet files or a table"),
            say("Check the names, the rights and the connection."),
        ) from None


def _without_password(text: str) -> str:
    return re.sub(r"(://[^:/@\s]*):[^@\s]*@", r"\1:...@", text)


def require_sound_options(sources: Sequence[str], table: str, memory: str) -> None:
    """Refuses a table or an amount of memory that no source can be read with.

    Args:
        sources, table, memory: as for :func:`open_fleet`.

    Raises:
        InputError: any of these.
    """
    addresses = [source for source in sources if "://" in source]
    if addresses and len(sources) > 1:
        raise InputError.one(
            "source",
            say("a database and {count} more", count=len(sources) - 1),
            say("one database, or files"),
            say("Watch them one by one."),
        )
    if addresses and re.match(r"postgres(ql)?://", addresses[0]) is None:
        raise InputError.one(
            "source",
            _without_password(addresses[0]),
            say("files, or an address that begins with postgres://"),
            say("Export the records of any other database to Parquet files."),
        )
    if bool(addresses) != bool(table):
        given = say("{table!r}, and files", table=table) if table else say("nothing")
        raise InputError.one(
            "--table",
            given,
            say("the name of the table of a database"),
            say("Leave it out.") if table else say("Name the table with --table."),
        )
    amount = re.fullmatch(r"(\d{1,6}(?:\.\d+)?)\s?([MG])i?B", memory)
    megabytes = 0.0 if amount is None else float(amount[1]) * (1000.0 if amount[2] == "G" else 1.0)
    if megabytes < _LEAST_MEMORY:
        raise InputError.one(
            "--memory",
            repr(memory),
            say('an amount such as "3GB", at least {least} MB', least=_LEAST_MEMORY),
            say("Write a number with MB or GB."),
        )


def _spark() -> tuple[Any, Any]:
    """A connection to a local Spark, quiet, in UTC, and its session."""
    import ibis
    from pyspark.sql import SparkSession

    session = (
        SparkSession.builder.master("local[2]")
        .appName("woold")
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.sql.shuffle.partitions", "8")
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    return ibis.pyspark.connect(session), session


def _numbered(connection: Any, sources: Sequence[str]) -> Any:
    """DuckDB's table of Parquet files, each row with its file and number."""
    names = connection.read_parquet(list(sources)).columns
    if {"file_row_number", FILE} & set(names):  # columns of the records' own
        return connection.read_parquet(list(sources))
    read = connection.read_parquet(list(sources), filename=FILE, file_row_number=True)
    return read.mutate(**{ROW: (read.file_row_number + 1).cast("string")}).drop("file_row_number")


def _spark_table(sources: Sequence[str]) -> Any:
    """Spark's table of Parquet files, each row with its file and number."""
    connection, session = _spark()
    frame = session.read.parquet(*sources)
    places = f"_metadata.file_path AS {FILE}", f"string(_metadata.row_index + 1) AS {ROW}"
    frame.selectExpr("*", *places).createOrReplaceTempView("woold_fleet")
    return connection.table("woold_fleet")


def _database_table(connection: Any, table: str) -> Any:
    """A table of a database; PostgreSQL also says where in it a row is."""
    import ibis

    found = connection.table(table)
    if connection.name == "postgres":
        connection.raw_sql("SET TIME ZONE 'UTC'").close()
        quoted = table.replace('"', '""')
        view = f'CREATE TEMPORARY VIEW woold_fleet AS SELECT *, ctid::text AS {ROW} FROM "{quoted}"'
        try:
            connection.raw_sql(view).close()
            return connection.table("woold_fleet").mutate(**{FILE: ibis.literal(table)})
        except Exception:  # a view, whose rows have no address, or no right to make one
            connection.con.rollback()
            return found
    return found
