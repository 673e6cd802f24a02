"""`woold line recipes`: the fewest recipes for each machine and film."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

import typer

from woold.case.asked import asked_quantity, confirmed_names
from woold.cli.blocks import print_blocks
from woold.cli.line import LineOptions, LinePath, line_and_catalogue
from woold.cli.line_release import app
from woold.cli.option_groups import grouped_options
from woold.cli.output import JsonFlag, Units, console, print_json, table_units
from woold.cli.progress import working
from woold.words import say

__all__ = ["app"]


@dataclass(frozen=True, slots=True)
class RecipeOptions:
    """What recipes are asked for, as it was typed."""

    loss: Annotated[
        str, typer.Option("--loss", help="Film that fewer recipes may cost, in all.")
    ] = "3 %"
    margin: Annotated[
        str, typer.Option("--margin", help="Hold over what is asked, on each load.")
    ] = "5 %"
    carriage: Annotated[
        str | None,
        typer.Option("--carriage", metavar="NAME", help="On all machines; today's if none."),
    ] = None
    machine: Annotated[
        str | None, typer.Option("--machine", metavar="NAME", help="This model alone.")
    ] = None
    film: Annotated[str | None, typer.Option("--film", metavar="NAME", help="This film alone.")] = (
        None
    )
    force: Annotated[
        list[str] | None,
        typer.Option("--force", help='Force that may be set: "45 N". May be repeated.'),
    ] = None


@app.command()
@grouped_options
def recipes(
    path: LinePath,
    reading: LineOptions,
    asked: RecipeOptions,
    units: Units = "both",
    as_json: JsonFlag = False,
) -> None:
    """The fewest recipes for each machine and film within a loss of film; none breaks a hold."""
    from woold.line.recipes import RecipesAsked, line_recipes

    right, others = confirmed_names(
        reading.as_typed or (), ("film_loss", "hold_margin", "set_force")
    )
    line, catalogue = line_and_catalogue(path, replace(reading, as_typed=list(others)))
    wanted = RecipesAsked(
        loss=asked_quantity("film_loss", asked.loss, "--loss", right),
        margin=asked_quantity("hold_margin", asked.margin, "--margin", right),
        carriage=asked.carriage,
        machine=asked.machine,
        film=asked.film,
        forces=tuple(
            asked_quantity("set_force", each, "--force", right) for each in asked.force or ()
        ),
    )
    with working(say("Trying programs on every load")):
        result = line_recipes(line, catalogue, wanted)
    if as_json:
        print_json(result)
        return
    out = console()
    print_blocks(out, result.blocks(table_units(out, units)))
