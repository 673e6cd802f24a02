"""`woold line wear`: parts, roll changes and duty of the drive with one carriage."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

import typer

from woold.case.asked import asked_quantity, confirmed_names
from woold.cli.blocks import print_blocks
from woold.cli.line import LineOptions, LinePath, line_and_catalogue
from woold.cli.line_recipes import app
from woold.cli.option_groups import grouped_options
from woold.cli.output import JsonFlag, Units, console, print_json, table_units
from woold.cli.progress import working
from woold.words import say

__all__ = ["app"]


@app.command()
@grouped_options
def wear(
    path: LinePath,
    reading: LineOptions,
    carriage: Annotated[
        str, typer.Option("--carriage", metavar="NAME", help="The one for every machine.")
    ],
    rethread: Annotated[
        str | None,
        typer.Option(
            "--rethread", help='Time to change a roll with it, "3 min"; as today if none.'
        ),
    ] = None,
    units: Units = "both",
    as_json: JsonFlag = False,
) -> None:
    """Parts in common, roll changes and duty of the drive with one carriage, beside today's."""
    from woold.line.wear import line_wear

    right, others = confirmed_names(reading.as_typed or (), ("rethread_time",))
    line, catalogue = line_and_catalogue(path, replace(reading, as_typed=list(others)))
    time = None
    if rethread is not None:
        time = asked_quantity("rethread_time", rethread, "--rethread", right)
    with working(say("Wrapping every load with both")):
        result = line_wear(line, catalogue, carriage, time)
    if as_json:
        print_json(result)
        return
    out = console()
    print_blocks(out, result.blocks(table_units(out, units)))
