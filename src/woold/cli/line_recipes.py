"""`woold line recipes`: the fewest recipes for each machine and film."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.case.asked import asked_quantity, confirmed_names
from woold.cli.blocks import print_blocks
from woold.cli.files import Force, must_be_new, write_file
from woold.cli.line import LineOptions, LinePath, line_and_catalogue
from woold.cli.line_release import app
from woold.cli.option_groups import grouped_options
from woold.cli.output import JsonFlag, Units, console, print_json, table_units
from woold.cli.progress import working
from woold.errors import InputError
from woold.words import say

if TYPE_CHECKING:
    from woold.line.catalogue import Catalogue
    from woold.line.line_file import LineFile
    from woold.line.recipe_result import LineRecipes

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
    set_force: Annotated[
        list[str] | None,
        typer.Option("--set-force", help='Force that may be set: "45 N". May be repeated.'),
    ] = None


@app.command()
@grouped_options
def recipes(
    path: LinePath,
    reading: LineOptions,
    asked: RecipeOptions,
    cases: Annotated[
        str | None,
        typer.Option("--cases", metavar="FOLDER", help="Write each recipe's case, for its sheet."),
    ] = None,
    units: Units = "both",
    as_json: JsonFlag = False,
    force: Force = False,
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
            asked_quantity("set_force", each, "--set-force", right)
            for each in asked.set_force or ()
        ),
    )
    with working(say("Trying programs on every load")):
        result = line_recipes(line, catalogue, wanted)
    written = () if cases is None else _write_cases(Path(cases), line, catalogue, result, force)
    if as_json:
        print_json(result)
        return
    out = console()
    print_blocks(out, result.blocks(table_units(out, units)))
    for each in written:
        print(say("Wrote {file}. Next: {command}", file=each, command=f"woold report sheet {each}"))


def _write_cases(
    folder: Path, line: LineFile, catalogue: Catalogue, result: LineRecipes, force: bool
) -> tuple[Path, ...]:
    """Write a case for each recipe, all or none."""
    from woold.case.text import toml_from_table
    from woold.line.recipe_cases import recipe_cases

    files = {folder / name: table for name, table in recipe_cases(line, catalogue, result)}
    must_be_new([str(each) for each in files], force)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError.one(
            "--cases",
            f"{folder} ({error.strerror})",
            say("a folder that can be written"),
            say("Choose another folder, or make room."),
        ) from None
    for path, table in files.items():
        write_file(path, toml_from_table(table).encode(), force)
    return tuple(files)
