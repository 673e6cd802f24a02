"""`woold carriage`: one film carriage, two side by side, or a shelf of films for one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.carriages.carriage_rows import carriage_blocks
from woold.carriages.compare import compare_carriages
from woold.carriages.comparison import CarriageComparison
from woold.carriages.comparison_rows import answered_blocks
from woold.carriages.match import match_films
from woold.carriages.match_rows import match_blocks
from woold.carriages.study import carriage_report
from woold.case.file import read_case
from woold.case.model import Case
from woold.case.shelf import read_shelf
from woold.cli.blocks import print_blocks
from woold.cli.files import NO_PICTURE, PictureFile
from woold.cli.option_groups import grouped_options
from woold.cli.output import (
    AsTyped,
    CasePath,
    FileFirstGroup,
    JsonFlag,
    Units,
    console,
    new_app,
    of_case_and_shelf,
    print_cautions,
    print_findings,
    print_json,
    table_units,
)
from woold.cli.progress import working
from woold.errors import InputError
from woold.prediction.film_on_load import lacing_of
from woold.rows.wording import Wording
from woold.uncertainty.draws import Correlations
from woold.units import UnitSystem
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["app"]

app = new_app("One film carriage (CASE.toml), two side by side, or films for one.", FileFirstGroup)


@app.command("show")
@grouped_options
def show_carriage(
    case_path: CasePath,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    units: Units = "both",
) -> None:
    """Film path, grip, delivered pre-stretch, forces and power of one carriage."""
    case = read_case(case_path, as_typed or ())
    with working():
        report = carriage_report(case)

    def figure() -> Figure:
        from woold.pictures.carriage_drawing import carriage_figure

        return carriage_figure(report, lacing_of(case).path, units)

    picture.save(figure)
    if as_json:
        print_json(report)
        return
    out = console()
    out.print(report.title or say("A carriage without a title"), style="bold", markup=False)
    out.print()
    print_findings(out, report.findings)
    print_blocks(out, carriage_blocks(report, *_wordings(units)))
    print_cautions(out, report.cautions)


def _wordings(units: UnitSystem) -> tuple[Wording, Wording]:
    """How text and tables are worded: tables in fewer units where the screen is narrow."""
    return Wording(units=units), Wording(units=table_units(console(), units))


@dataclass(frozen=True)
class _Drawing:
    """How unknown inputs are drawn."""

    draws: Annotated[
        int, typer.Option("--draws", metavar="N", help="Random draws behind the intervals.")
    ] = 10_000
    seed: Annotated[int, typer.Option("--seed", metavar="N", help="Seed of the draws.", min=0)] = 1
    correlate: Annotated[
        list[str] | None,
        typer.Option(
            "--correlate",
            metavar="INPUT,INPUT=R",
            help="Correlation of two inputs, -1 to 1; may be given again.",
        ),
    ] = None


@app.command()
@grouped_options
def compare(
    base_path: Annotated[str, typer.Argument(metavar="BASE.toml", help="The case as it is.")],
    candidate_path: Annotated[
        str, typer.Argument(metavar="CANDIDATE.toml", help="A case with the other carriage.")
    ],
    drawing: _Drawing,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    units: Units = "both",
) -> None:
    """Two carriages on one load, and what is saved; ends with 1 if the candidate does not hold."""
    right = as_typed or ()
    base, candidate = read_case(base_path, right), read_case(candidate_path, right)
    comparison = _compare_with_progress(base, candidate, drawing)

    def figure() -> Figure:
        from woold.pictures.carriage_drawing import comparison_figure

        paths = (lacing_of(base).path, lacing_of(candidate).path)

        return comparison_figure(comparison, paths, units)

    picture.save(figure)
    if as_json:
        print_json(comparison)
    else:
        out = console()
        text, brief = _wordings(units)
        answer, *numbers = answered_blocks(comparison, text, brief)
        print_blocks(out, [answer])
        print_findings(out, comparison.findings)
        print_blocks(out, numbers)
        print_cautions(out, comparison.cautions)
    if comparison.candidate_verdict.fails:
        raise typer.Exit(1)


def _compare_with_progress(base: Case, candidate: Case, drawing: _Drawing) -> CarriageComparison:
    """The comparison, with a bar on standard error while it draws."""
    from rich.console import Console
    from rich.progress import Progress

    correlations = _correlations(drawing.correlate or [])
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(say("Drawing"), total=drawing.draws)
        return compare_carriages(
            base,
            candidate,
            drawing.draws,
            drawing.seed,
            correlations,
            lambda done: bar.update(task, completed=done),
        )


def _correlations(texts: list[str]) -> Correlations:
    found = {}
    for text in texts:
        names, _, number = text.partition("=")
        one, _, other = (part.strip() for part in names.partition(","))
        try:
            value = float(number)
        except ValueError:
            value = math.nan
        if not (one and other and -1.0 <= value <= 1.0):
            raise InputError.one(
                "--correlate",
                repr(text),
                say(
                    "two inputs and a number from -1 to 1, such as"
                    ' "film.yield_stress,film.hardening_modulus=0.6"'
                ),
                say("Write it like that; it may be given several times."),
            )
        found[one, other] = value
    return found


@app.command()
def match(
    case_path: CasePath,
    shelf_path: Annotated[
        str, typer.Argument(metavar="SHELF.toml", help="Films to choose from: [[films]] tables.")
    ],
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
    units: Units = "both",
) -> None:
    """Which films of a shelf suit a carriage, and what limits each."""
    of_case, of_shelf = of_case_and_shelf(as_typed)
    case, shelf = read_case(case_path, of_case), read_shelf(shelf_path, of_shelf)
    with working():
        report = match_films(case, shelf)
    if as_json:
        print_json(report)
        return
    out = console()
    print_blocks(out, match_blocks(report, Path(shelf_path).name, *_wordings(units)))
    print_cautions(out, report.cautions)
