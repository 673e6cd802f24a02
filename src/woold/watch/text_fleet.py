"""A fleet whose records are few enough to be read as those of its machines are."""

from __future__ import annotations

from collections.abc import Sequence
from glob import glob
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woold.errors import InputError
from woold.tables.parquet import is_parquet, quiet_engine, require_sound_parquet
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["fleet_of_records", "small_fleet"]

MOST_LOADS = 2_000_000
"""Loads of Parquet files that are held at once."""


def small_fleet(sources: Sequence[str], most_loads: int = MOST_LOADS) -> list[Path]:
    """Files that are read as watch loads reads them; none where an engine must do it.

    Text tables always are. Parquet files are up to two million loads in all, so that bad cells
    are named with their rows; beyond that an engine reduces them without holding them.

    Args:
        sources: files or patterns.
        most_loads: loads of Parquet files in all; 0 where an engine was chosen for them.
    """
    files: list[Path] = []
    for each in sources:
        names = [each] if Path(each).is_file() else sorted(glob(each))
        found = [Path(name) for name in names]
        if not found or not all(file.is_file() for file in found):
            return []
        files += found
    parquet = [file for file in files if is_parquet(file)]
    few = not parquet or 0 < sum(_rows(file) for file in parquet) <= most_loads
    return files if few else []


def _rows(path: Path) -> int:
    import polars as pl

    require_sound_parquet(path, most_rows=2**62)
    with quiet_engine():
        try:
            return int(pl.scan_parquet(path).select(pl.len()).collect().item())
        except Exception:  # damaged in whatever way: reading it says so
            return 0


def fleet_of_records(frame: pl.DataFrame) -> Any:
    """The fleet's table of cycle records that were read, their bad rows set aside.

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
