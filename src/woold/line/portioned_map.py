"""The map of a line whose catalogue is too large for memory: judged portion by portion.

Each portion is a map of its own in a folder of its own, so that a run that was stopped goes on
where it was. Memory is that of one portion.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from pathlib import Path

import woold
from woold.errors import InputError, errors_in
from woold.line.broken_rows import BrokenRows, joined_rows
from woold.line.catalogue import catalogue_of
from woold.line.catalogue_portions import CataloguePortions, portion_rows
from woold.line.catalogue_rows import find_row_faults, require_answers, require_few_broken
from woold.line.check import CatalogueCounts, LineCheck, catalogue_counts, check_counts
from woold.line.line_file import LineFile
from woold.line.map import MapFiles, MapRun, run_map
from woold.words import say

__all__ = ["PortionedRun", "run_portions"]

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class PortionedFiles(MapFiles):
    """A map whose portions lie in folders of their own."""

    def pattern(self) -> str:
        """Of all files of all portions."""
        return str(self.folder / "portion-*" / "cells-*.parquet")


@dataclass(frozen=True, slots=True)
class PortionedRun:
    """What a run over portions did.

    Args:
        check: what the line and its catalogue hold.
        run: where the map is, and what was judged.
    """

    check: LineCheck
    run: MapRun


def run_portions(
    line: LineFile,
    found: CataloguePortions,
    folder: Path,
    is_fresh: bool = False,
    as_typed: Collection[str] = (),
    progress: Progress | None = None,
) -> PortionedRun:
    """Judge every combination of a line that was not judged yet, portion by portion.

    All rows are looked at before the first is judged: a catalogue of which too much cannot be used
    is refused as a whole.

    Args:
        line: the line.
        found: its catalogue.
        folder: of the map's files.
        is_fresh: begin anew.
        as_typed: columns that were asked about and are right.
        progress: called with the combinations judged, and all.

    Raises:
        InputError: rows that cannot be used, a question about what is not usual, a folder that
            holds something else.
    """
    _look_at_all(line, found, as_typed)
    files = PortionedFiles(folder, _fingerprint(line, found))
    if is_fresh:
        for each in folder.glob("portion-*"):
            shutil.rmtree(each, ignore_errors=True)
    files.begin(is_fresh)
    things = line.things
    choices = len(things.candidates) * len(things.models) * len(things.films)
    total, done, judged, seconds = choices * found.rows, 0, 0, 0.0
    counts: CatalogueCounts | None = None
    seen: set[tuple[str, str]] = set()
    for number, (portion, table) in enumerate(portion_rows(found)):
        with errors_in(portion.path):
            faults = find_row_faults(line, table, (found.twice, seen))
            catalogue = catalogue_of(table, portion.path, faults)
        own = catalogue_counts(line, catalogue)
        counts = own if counts is None else counts.joined(own)
        if not catalogue.loads:
            continue
        begun = done

        def tell(now: int, _: int, begun: int = begun) -> None:
            if progress is not None:
                progress(begun + now, total)

        run = run_map(line, catalogue, folder / f"portion-{number:05d}", is_fresh, tell)
        done, judged, seconds = done + run.cells, judged + run.judged, seconds + run.seconds
    if counts is None or not counts.loads:
        raise InputError.one(
            str(line.catalogue_path), say("no load"), say("a row for each load"),
            say("Fill in its rows."),
        )  # fmt: skip
    counts = replace(counts, source=str(line.catalogue_path))
    return PortionedRun(check_counts(line, counts), MapRun(files, done, judged, seconds))


def _look_at_all(line: LineFile, found: CataloguePortions, as_typed: Collection[str]) -> None:
    """Counts what cannot be used in all portions, and asks about what is not usual.

    Raises:
        InputError: too many rows that cannot be used, or a question.
    """
    broken: tuple[BrokenRows, ...] = ()
    seen: set[tuple[str, str]] = set()
    for portion, table in portion_rows(found):
        with errors_in(portion.path):
            faults = find_row_faults(line, table, (found.twice, seen))
            require_answers(line, table, faults, as_typed)
        broken = joined_rows(broken, faults.rows.broken(table.rows))
    require_few_broken(line, str(line.catalogue_path), found.rows, broken)


def _fingerprint(line: LineFile, found: CataloguePortions) -> str:
    """A hash of all that says which portions there are; each has one of its own for its loads."""
    told = repr((woold.__version__, line.things, line.line.corner_tension, found.portions))
    return hashlib.sha256(told.encode()).hexdigest()
