"""`woold line`: every carriage, machine, film and load of a plant as one question."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.files import Force
from woold.cli.output import AsTyped, JsonFlag, StarterPath, console, new_app, print_json
from woold.cli.starters import Starter, write_starter
from woold.cli.store import StoreUrl
from woold.words import say

if TYPE_CHECKING:
    from woold.line.catalogue import Catalogue
    from woold.line.line_file import LineFile

__all__ = ["app"]

app = new_app("One carriage for every machine, film and load of a plant.")

LinePath = Annotated[str, typer.Argument(metavar="LINE.toml", help="The line's file.")]
ThingsOfStore = Annotated[
    bool, typer.Option("--with-store", help="The store's shelf belongs to the line too.")
]


@app.command()
def new(path: StarterPath = None, as_json: JsonFlag = False, force: Force = False) -> None:
    """Write a commented line file to start from."""
    from woold.line.line_file import Line
    from woold.line.starter import starter_text

    starter = Starter("line", Line, say("A line"), starter_text())
    write_starter(path, starter, "woold line check", as_json, force)


@app.command()
def check(
    path: LinePath,
    with_store: ThingsOfStore = False,
    store: StoreUrl = None,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
) -> None:
    """Check a line's file and its catalogue of loads, and list what is there."""
    from woold.line.check import check_line

    line, catalogue = line_and_catalogue(path, as_typed, store if with_store else None, with_store)
    result = check_line(line, catalogue)
    if as_json:
        print_json(result)
        return
    print_blocks(console(), result.blocks())


def line_and_catalogue(
    path: str, as_typed: Sequence[str] | None, store: str | None, with_store: bool
) -> tuple[LineFile, Catalogue]:
    """A line and its loads.

    Args:
        path: the line's file.
        as_typed: fields and columns of the catalogue that are right.
        store: the store's address; the usual one if None.
        with_store: whether the store's shelf belongs to the line.
    """
    from woold.line.catalogue import read_catalogue
    from woold.line.catalogue_columns import AMOUNTS
    from woold.line.line_file import read_line

    given = as_typed or ()
    columns = {f"catalogue.{name}": name for name in AMOUNTS}
    beside = None
    if with_store:
        from woold.shelf.kept import KeptShelf
        from woold.store import Store

        opened = Store(store)
        beside = KeptShelf(opened.engine).shelf()
        opened.close()
    line = read_line(path, [each for each in given if each not in columns], beside)
    return line, read_catalogue(line, [columns[each] for each in given if each in columns])
