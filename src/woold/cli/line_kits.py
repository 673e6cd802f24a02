"""`woold line kits`: the fewest springs and holes that serve the line."""

from __future__ import annotations

from typing import Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.line import LineOptions, LinePath, app, line_and_catalogue
from woold.cli.option_groups import grouped_options
from woold.cli.output import JsonFlag, Units, console, print_json, table_units
from woold.cli.progress import working
from woold.words import say

__all__ = ["app"]


@app.command()
@grouped_options
def kits(
    path: LinePath,
    reading: LineOptions,
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

    line, catalogue = line_and_catalogue(path, reading)
    with working(say("Trying springs in motion")):
        result = spring_kits(line, catalogue, carriage, by_machine)
    if as_json:
        print_json(result)
        return
    out = console()
    print_blocks(out, result.blocks(table_units(out, units)))
