"""Parquet files looked at before they are read: whole, and no larger unpacked than they may be."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from woold.errors import InputError
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["is_parquet", "parquet_frame", "quiet_engine", "require_sound_parquet"]

_MARK = b"PAR1"
_LARGEST_FOOTER = 64_000_000
_MOST_ROWS = 5_000_000
LONGEST = 60
"""Time in which a file must be read by the process that looks at it first [s]."""
MOST_MEMORY = 4 << 30
"""Address space of that process, most of which the engine only sets aside [bytes]."""
_MOST_CELLS = 100_000_000
"""A repeated value takes next to nothing in the file, and its whole place in memory."""
_LONGEST_TEXT = 10_000
"""Of a cell [bytes]."""


@contextmanager
def quiet_engine() -> Iterator[None]:
    """Keeps an engine's own account of its panic off standard error; our message says it."""
    kept = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nowhere)
        os.close(kept)


def is_parquet(path: Path) -> bool:
    """Whether a file is Parquet, by its ending or its first bytes.

    Raises:
        OSError: it cannot be read.
    """
    if path.suffix.lower() in (".parquet", ".pq"):
        return True
    with path.open("rb") as stream:
        return stream.read(4) == _MARK


def require_sound_parquet(path: Path, most_rows: int = _MOST_ROWS) -> None:
    """Refuses a Parquet file that is cut off, whose end is damaged, or that unpacks to too much.

    Args:
        path: the file.
        most_rows: more rows than this are not read into memory.

    Raises:
        InputError: any of these.
    """
    allowed = say("a whole Parquet file")
    size = path.stat().st_size
    with path.open("rb") as stream:
        first = stream.read(4)
        stream.seek(max(size - 8, 0))
        last = stream.read(8)
    length = int.from_bytes(last[:4], "little")
    if size < 12 or first != _MARK or last[4:] != _MARK:
        raise InputError.one(
            str(path), say("cut off, or no Parquet"), allowed, say("Copy it again.")
        )
    if not 0 < length <= min(size - 12, _LARGEST_FOOTER):
        raise InputError.one(
            str(path), say("a damaged end, which lists what it holds"), allowed,
            say("Copy it again."),
        )  # fmt: skip
    import polars

    try:
        with quiet_engine():
            rows = polars.scan_parquet(path).select(polars.len()).collect().item()
    except (Exception, polars.exceptions.PanicException) as error:  # as many ways as bytes
        raise InputError.one(
            str(path), str(error).splitlines()[0][:120], allowed, say("Copy it again.")
        ) from None
    if rows > most_rows:
        raise InputError.one(
            str(path),
            say("{rows:,} rows", rows=rows),
            say("at most {most:,} rows in memory", most=most_rows),
            say("Use: woold watch fleet"),
        )


def parquet_frame(path: Path, most_rows: int = _MOST_ROWS) -> pl.DataFrame:
    """The columns of a Parquet file; one of lists, tables or bytes is read as if it were empty.

    Args:
        path: the file.
        most_rows: more rows than this are not read into memory.

    Raises:
        InputError: damaged, or more than is worth its memory.
    """
    _require_survived(path)
    return _frame(path, most_rows)


def _require_survived(path: Path) -> None:
    """Lets a process of its own read the file first, which may take only so much.

    The engine trusts the sizes that stand in a file: it ends the whole process where there is no
    memory for one of them.

    Raises:
        InputError: that process was lost.
    """
    is_lost = True
    with suppress(subprocess.TimeoutExpired):
        done = subprocess.run(
            [sys.executable, "-c", "from woold.tables.parquet import main; main()", str(path)],
            capture_output=True, timeout=LONGEST, check=False,
            env={
                **os.environ, "POLARS_MAX_THREADS": "2",
                "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
            },
        )  # fmt: skip
        is_lost = done.returncode != 0
    if is_lost:
        raise InputError.one(
            str(path), say("damaged, or more than is worth its memory"),
            say("a whole Parquet file"), say("Copy it again."),
        )  # fmt: skip


def main() -> None:
    """Reads the file that is named; what is wrong with it, whoever waits finds out by itself."""
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    except ImportError:  # systems that have no such limits
        pass
    with suppress(InputError):
        _frame(Path(sys.argv[1]), _MOST_ROWS)


def _frame(path: Path, most_rows: int) -> pl.DataFrame:
    import polars as pl

    require_sound_parquet(path, most_rows)
    allowed = say("a whole Parquet file")
    try:
        with quiet_engine():
            scan = pl.scan_parquet(path)
            kinds = scan.collect_schema()
            rows = scan.select(pl.len()).collect().item()
            given = say("{rows:,} rows of {columns:,} columns", rows=rows, columns=len(kinds))
            if rows * len(kinds) > _MOST_CELLS:
                raise InputError.one(
                    str(path), given, say("at most {most:,} cells", most=_MOST_CELLS),
                    say("Leave out the columns that are not needed."),
                )  # fmt: skip
            plain = [name for name, kind in kinds.items() if not _holds_more(kind)]
            scan = scan.select(
                pl.col(name) if name in plain else pl.lit(None).alias(name) for name in kinds
            )
            texts = [name for name, kind in kinds.items() if kind == pl.String]
            for name in texts:
                longest = scan.select(pl.col(name).str.len_bytes().max()).collect().item() or 0
                if longest > _LONGEST_TEXT:
                    raise InputError.one(
                        f"{path.name}.{name}",
                        say("a cell of {count:,} letters", count=longest),
                        say("at most {count:,} letters", count=_LONGEST_TEXT),
                        say("Leave out the columns that are not needed."),
                    )
            return scan.collect()
    except InputError:
        raise
    except (Exception, pl.exceptions.PanicException) as error:  # as many ways as bytes
        raise InputError.one(
            str(path), str(error).splitlines()[0][:120], allowed, say("Copy it again.")
        ) from None


def _holds_more(kind: pl.DataType) -> bool:
    """Whether a cell of a column may hold any number of values, or what is no text."""
    import polars as pl

    return kind.is_nested() or kind in (pl.Binary, pl.Object)
