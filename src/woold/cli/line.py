"""`woold line`: every carriage, machine, film and load of a plant as one question."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.files import Force, must_be_new, write_file
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, StarterPath, console, new_app, print_json
from woold.cli.progress import counting, working
from woold.cli.starters import Starter, write_starter
from woold.cli.store import StoreUrl
from woold.errors import InputError
from woold.units import show
from woold.watch.fleet_sources import Engine
from woold.words import say

if TYPE_CHECKING:
    from woold.line.catalogue import Catalogue
    from woold.line.line_file import LineFile
    from woold.line.map_result import LineMap

__all__ = ["app"]

app = new_app("One carriage for every machine, film and load of a plant.")

LinePath = Annotated[str, typer.Argument(metavar="LINE.toml", help="The line's file.")]
Sample = Annotated[
    int | None,
    typer.Option("--sample", metavar="N", min=1, help="Look at N loads, evenly picked, not all."),
]


MapFolder = Annotated[
    str | None, typer.Option("--map", metavar="FOLDER", help="Folder of the map's files.")
]


@dataclass(frozen=True, slots=True)
class LineOptions:
    """How a line is read."""

    with_store: Annotated[
        bool, typer.Option("--with-store", help="The store's shelf belongs to the line too.")
    ] = False
    store: StoreUrl = None
    as_typed: AsTyped = None


@dataclass(frozen=True, slots=True)
class CellOptions:
    """Which combination is looked at."""

    carriage: Annotated[str, typer.Option("--carriage", metavar="NAME", help="A carriage.")]
    machine: Annotated[
        str, typer.Option("--machine", metavar="NAME", help="A machine, or a model of one.")
    ]
    film: Annotated[str, typer.Option("--film", metavar="NAME", help="A film.")]
    load: Annotated[str, typer.Option("--load", metavar="NAME", help="A load of the catalogue.")]


@dataclass(frozen=True, slots=True)
class SearchOptions:
    """How carriages are compared, and where those go that are found."""

    draws: Annotated[
        int, typer.Option("--draws", metavar="N", help="Random draws behind the ranges.")
    ] = 1000
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of draws and of the search.")] = 1
    found: Annotated[
        str | None,
        typer.Option("--found", metavar="FILE", help="Write carriages found in [[envelopes]]."),
    ] = None


@dataclass(frozen=True, slots=True)
class LargeCatalogue:
    """What reads a catalogue that is too large for memory."""

    engine: Annotated[
        Engine | None,
        typer.Option("--engine", help="Read a catalogue in Parquet files by it, in portions."),
    ] = None
    portion: Annotated[int, typer.Option("--portion", metavar="N", help="Rows of a portion.")] = (
        20_000
    )


@app.command()
def new(path: StarterPath = None, as_json: JsonFlag = False, force: Force = False) -> None:
    """Write a commented line file to start from."""
    from woold.line.line_file import Line
    from woold.line.starter import starter_text

    starter = Starter("line", Line, say("A line"), starter_text())
    write_starter(path, starter, "woold line check", as_json, force)


@app.command()
@grouped_options
def check(path: LinePath, reading: LineOptions, as_json: JsonFlag = False) -> None:
    """Check a line's file and its catalogue of loads, and list what is there."""
    from woold.line.check import check_line

    line, catalogue = line_and_catalogue(path, reading)
    result = check_line(line, catalogue)
    if as_json:
        print_json(result)
        return
    print_blocks(console(), result.blocks())


@app.command("map")
@grouped_options
def map_command(
    path: LinePath,
    reading: LineOptions,
    large: LargeCatalogue,
    map_folder: MapFolder = None,
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Begin anew; what an earlier run left is taken away.")
    ] = False,
    sample: Sample = None,
    as_json: JsonFlag = False,
) -> None:
    """Judge every carriage, machine, film and load; go on where an earlier run was stopped."""
    from woold.line.check import check_line
    from woold.line.map import run_map
    from woold.line.map_result import line_map

    folder = map_in(path, map_folder)
    if large.engine is None:
        line, catalogue = line_and_catalogue(path, reading, sample)
        with counting(say("Combinations")) as tell:
            run = run_map(line, catalogue, folder, fresh, tell)
        result = line_map(check_line(line, catalogue), run)
    else:
        result = _map_in_portions(path, reading, (large, sample), folder, fresh)
    if as_json:
        print_json(result)
        return
    print_blocks(console(), result.blocks())
    judged, time = f"{result.judged:,}", show(result.seconds_s, "time")
    print(say("{count} combinations were judged now, in {time}.", count=judged, time=time))


def _map_in_portions(
    path: str,
    reading: LineOptions,
    asked: tuple[LargeCatalogue, int | None],
    folder: Path,
    fresh: bool,
) -> LineMap:
    """The map of a catalogue that an engine reads in portions."""
    from woold.line.catalogue_portions import open_portions
    from woold.line.map_result import line_map
    from woold.line.portioned_map import run_portions

    large, sample = asked
    assert large.engine is not None
    if sample is not None:
        raise InputError.one(
            "--sample", f"{sample}", say("no sample of a catalogue that an engine reads"),
            say("Leave out --engine, or --sample."),
        )  # fmt: skip
    columns, fields = as_typed_of(reading)
    with working(say("Reading")):
        line = _line_at(path, reading, fields)
        found = open_portions(line, large.engine, large.portion)
    with counting(say("Combinations")) as tell:
        run = run_portions(line, found, folder, fresh, columns, tell)
    return line_map(run.check, run.run)


@app.command()
@grouped_options
def cell(
    path: LinePath,
    which: CellOptions,
    reading: LineOptions,
    case: Annotated[
        str | None, typer.Option("--case", metavar="FILE", help="Write it as a case file.")
    ] = None,
    as_json: JsonFlag = False,
    force: Force = False,
) -> None:
    """Look at one combination of the map, and write its case for the bench."""
    from woold.line.cell import line_cell, named_cell

    if case is not None:
        must_be_new([case], force)
    line, catalogue = line_and_catalogue(path, reading)
    names = (which.carriage, which.machine, which.film, which.load)
    found = named_cell(line, catalogue, names)
    if case is not None:
        from woold.case.text import toml_from_table
        from woold.line.case_table import case_table

        table = case_table(line.things, found.choice, found.load)
        write_file(Path(case), toml_from_table(table).encode(), force)
    with working():
        result = line_cell(line, found, catalogue, case)
    if as_json:
        print_json(result)
        return
    print_blocks(console(), result.blocks())
    if case is not None:
        print(say("Wrote {file}. Next: {command}", file=case, command=f"woold predict {case}"))


@app.command("carriage")
@grouped_options
def carriage_command(
    path: LinePath,
    reading: LineOptions,
    asked: SearchOptions,
    sample: Sample = None,
    as_json: JsonFlag = False,
    force: Force = False,
) -> None:
    """Compare carriages as the only one of the line; search free dimensions ([[envelopes]])."""
    from woold.line.found_carriage import found_text
    from woold.line.one_carriage import line_carriages

    if asked.found is not None:
        must_be_new([asked.found], force)
    line, catalogue = line_and_catalogue(path, reading, sample)
    if line.line.envelopes:
        with counting(say("Searching free dimensions")) as tell:
            result = line_carriages(
                line, catalogue, asked.draws, asked.seed, lambda done: tell(done, 100)
            )
    else:
        with working():
            result = line_carriages(line, catalogue, asked.draws, asked.seed)
    if asked.found is not None:
        write_file(Path(asked.found), found_text(line.things, result.envelopes).encode(), force)
    if as_json:
        print_json(result)
        return
    print_blocks(console(), result.blocks())
    if asked.found is not None:
        print(say("Wrote {file}: carriages for a shelf or a line's file.", file=asked.found))


def map_in(path: str, folder: str | None) -> Path:
    """Where a line's map is kept.

    Args:
        path: the line's file.
        folder: that was asked for; one beside the line's file if None.
    """
    return Path(folder) if folder is not None else Path(path).with_name(f"{Path(path).stem}-map")


def line_and_catalogue(
    path: str, reading: LineOptions, sample: int | None = None
) -> tuple[LineFile, Catalogue]:
    """A line and its loads.

    Args:
        path: the line's file.
        reading: fields and columns of the catalogue that are right, and the store.
        sample: so many loads, evenly picked; all if none.
    """
    from woold.line.catalogue import read_catalogue

    columns, fields = as_typed_of(reading)
    with working(say("Reading")):
        line = _line_at(path, reading, fields)
        catalogue = read_catalogue(line, columns)
    return line, catalogue if sample is None else catalogue.sample(sample)


def as_typed_of(reading: LineOptions) -> tuple[list[str], list[str]]:
    """Columns of the catalogue that are right as they were typed, and fields of the line's file.

    Args:
        reading: how the line is read.
    """
    from woold.line.catalogue_columns import AMOUNTS

    given = reading.as_typed or ()
    columns = {f"catalogue.{name}": name for name in AMOUNTS}
    found = [columns[each] for each in given if each in columns]
    return found, [each for each in given if each not in columns]


def _line_at(path: str, reading: LineOptions, fields: list[str]) -> LineFile:
    """A line, with the store's shelf where it was asked for."""
    from woold.line.line_file import read_line

    if not reading.with_store:
        return read_line(path, fields)
    from woold.cli.shelf import no_shelf
    from woold.shelf.kept import KeptShelf
    from woold.store import Store

    opened = Store(reading.store)
    beside = KeptShelf(opened.engine).shelf()
    opened.close()
    if beside is None:
        raise no_shelf()
    return read_line(path, fields, beside)
