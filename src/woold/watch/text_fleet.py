"""A fleet whose records are text tables, read as those of its machines are."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woold.errors import InputError
from woold.tables.parquet import is_parquet
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["fleet_of_records", "is_text_fleet"]


def is_text_fleet(sources: Sequence[str]) -> bool:
    """Whether the sources are text tables, as watch loads reads them, and not Parquet."""
    files = [Path(each) for each in sources]
    return all(file.is_file() and not is_parquet(file) for file in files)


def fleet_of_records(frame: pl.DataFrame) -> Any:
    """The fleet's table of cycle records that were read from text, their bad rows set aside.

    Args:
        frame: as :func:`woold.watch.records.read_records` gives it.

    Raises:
        InputError: the engine is not installed.
    """
    try:
        import ibis

        return ibis.memtable(frame.to_arrow())
    except ImportError as error:
        given = say("needs {package}, which is missing", package=error.name)
        todo = say("Install {extra}.", extra="woold[fleet]")
        raise InputError.one("fleet", given, say("an installed engine"), todo) from None
