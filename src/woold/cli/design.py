"""`woold design`: the least cost or film that holds, as a setting list with its proof."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from woold.case.asked import asked_quantity
from woold.case.file import read_case
from woold.case.shelf import read_shelf
from woold.cli.blocks import print_blocks
from woold.cli.files import NO_PICTURE, PictureFile
from woold.cli.option_groups import grouped_options
from woold.cli.output import (
    AsTyped,
    CasePath,
    JsonFlag,
    Units,
    console,
    new_app,
    of_case_and_shelf,
    print_json,
    table_units,
)
from woold.cli.progress import working
from woold.design.rows import design_blocks
from woold.design.study import design_program
from woold.design.task import DesignTask, Goal
from woold.physics.compiled import load_compiler
from woold.rows.wording import Wording

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["app"]

app = new_app()


@dataclass(frozen=True, slots=True)
class TaskOptions:
    """What a design is asked for, as it was typed."""

    goal: Annotated[
        Goal | None,
        typer.Option(
            "--goal",
            help="Least cost, film or time; or most containment. Least cost if prices are given.",
        ),
    ] = None
    baseline: Annotated[
        str | None,
        typer.Option(
            "--baseline", metavar="CASE", help="For containment: case whose film may be used."
        ),
    ] = None
    profiled: Annotated[
        bool, typer.Option("--profiled", help="Let the rise vary with height as well.")
    ] = False
    front: Annotated[
        bool, typer.Option("--front", help="Show the front of film, containment and time.")
    ] = False
    probability: Annotated[
        str | None,
        typer.Option(
            "--probability", metavar="SHARE", help='Hold this often over all ranges: "95 %".'
        ),
    ] = None
    as_typed: AsTyped = None

    def task(self, with_front: bool) -> DesignTask:
        """The same, read."""
        return DesignTask(
            goal=self.goal,
            baseline=read_case(self.baseline, of_case_and_shelf(self.as_typed)[0])
            if self.baseline
            else None,
            profiled=self.profiled,
            front=self.front or with_front,
            probability=None
            if self.probability is None
            else asked_quantity("probability", self.probability, "--probability"),
        )


@app.command()
@grouped_options
def design(
    case_path: CasePath,
    asked: TaskOptions,
    shelf: Annotated[
        str | None, typer.Option("--shelf", metavar="FILE", help="Films to choose from as well.")
    ] = None,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    units: Units = "both",
) -> None:
    """Find the program of least cost that holds; ends with 1 where nothing holds."""
    of_case, of_shelf = of_case_and_shelf(asked.as_typed)
    case = read_case(case_path, of_case)
    films = read_shelf(shelf, of_shelf).films_now() if shelf else ()
    task = asked.task(with_front=picture.plot is not None)
    load_compiler()
    with working() as tell:
        result = design_program(case, films, task, progress=tell)

    def figure() -> Figure:
        from woold.pictures.design_front import design_front_figure

        return design_front_figure(result, units)

    picture.save(figure)
    if as_json:
        print_json(result)
    else:
        out = console()
        brief = Wording(table_units(out, units))
        print_blocks(out, design_blocks(result, Wording(units), brief))
    if not result.possible or (result.chosen is not None and result.chosen.verdict.fails):
        raise typer.Exit(1)
