"""`woold line kits`: the fewest springs and holes that serve the line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.line import LinePath, ThingsOfStore, app, line_and_catalogue
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, Units, console, print_json, table_units
from woold.cli.progress import working
from woold.cli.store import StoreUrl
from woold.words import say

if TYPE_CHECKING:
    from woold.line.catalogue import Catalogue
    from woold.line.line_file import LineFile

__all__ = ["LineSource", "app"]


@dataclass(frozen=True, slots=True)
class LineSource:
    """Where the things of a line stand besides its file, and what of them is right."""

    with_store: ThingsOfStore = False
    store: StoreUrl = None
    as_typed: AsTyped = None

    def read(self, path: str) -> tuple[LineFile, Catalogue]:
        """The line and its loads."""
        store = self.store if self.with_store else None
        return line_and_catalogue(path, self.as_typed, store, self.with_store)


@app.command()
@grouped_options
def kits(
    source: LineSource,
    path: LinePath,
    carriage: Annotated[
        str | None,
        typer.Option(
            "--carriage", metavar="NAME", help="This one alone; all with springs if none."
        ),
    ] = None,
    by_machine: Annotated[
        bool,
        typer.Option("--by-machine", help="Each machine may have its own spring for a film."),
    ] = False,
    units: Units = "both",
    as_json: JsonFlag = False,
) -> None:
    """The fewest springs and holes that serve every film and force, smooth at every speed."""
    from woold.line.spring_kits import spring_kits

    line, catalogue = source.read(path)
    with working(say("Trying springs in motion")):
        result = spring_kits(line, catalogue, carriage, by_machine)
    if as_json:
        print_json(result)
        return
    out = console()
    print_blocks(out, result.blocks(table_units(out, units)))
