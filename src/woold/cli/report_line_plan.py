"""`woold report line-plan`: what a line was asked, as a page and on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from woold.case.asked import cells_of
from woold.cli.line import LineOptions, line_and_catalogue
from woold.cli.line_release import TrialsSource
from woold.cli.option_groups import grouped_options
from woold.cli.progress import working
from woold.cli.report import ReportOptions, app, write_report
from woold.errors import InputError
from woold.words import say

if TYPE_CHECKING:
    from woold.report.line_plan_report import LineResult

__all__ = ["app"]

Question = Literal["kits", "recipes", "wear", "release"]

_DEFAULT = ReportOptions()
_OF_STORE = TrialsSource()


@app.command("line-plan")
@grouped_options
def line_plan(
    question: Annotated[
        Question, typer.Argument(metavar="QUESTION", help="kits, recipes, wear or release.")
    ],
    path: Annotated[
        str, typer.Argument(metavar="FILE.toml", help="The line's file; that of a release.")
    ],
    table_path: Annotated[
        str | None,
        typer.Argument(metavar="[SITES.csv]", help="Trials of a release; the store's if none."),
    ] = None,
    source: TrialsSource = _OF_STORE,
    carriage: Annotated[
        str | None, typer.Option("--carriage", metavar="NAME", help="The carriage asked about.")
    ] = None,
    machine: Annotated[
        str | None, typer.Option("--machine", metavar="NAME", help="Recipes of this model alone.")
    ] = None,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """Report of a line's plan: spring kits, recipes, parts and wear, or which machines first."""
    from woold.report.line_plan_report import line_plan_report

    words = ["line-plan", question, path, *([table_path] if table_path else [])]
    for option, value in (("--carriage", carriage), ("--machine", machine)):
        words += [option, value] if value else []
    words += source.words()
    stem = f"{Path(path).stem}-{question}"
    making = asked.making(words, [path, *([table_path] if table_path else [])], stem)
    with working():
        if question == "release":
            result = _release((path, table_path), source, asked)
        else:
            result = _answer(question, path, carriage, machine, asked)
        report = line_plan_report(result, making)
    write_report(report, stem, asked)


def _release(
    paths: tuple[str, str | None], source: TrialsSource, asked: ReportOptions
) -> LineResult:
    """Which machines come first, as `woold line release` says it."""
    from woold.line.release import release
    from woold.line.release_file import read_release

    cells, fields = cells_of(asked.as_typed or ())
    read = read_release(Path(paths[0]), fields)
    return release(read, source.read(read.asked, paths[1], cells))


def _answer(
    question: Question,
    path: str,
    carriage: str | None,
    machine: str | None,
    asked: ReportOptions,
) -> LineResult:
    """What the line is asked, as its command without a report asks it."""
    line, catalogue = line_and_catalogue(path, LineOptions(as_typed=asked.as_typed))
    if question == "kits":
        from woold.line.spring_kits import spring_kits

        return spring_kits(line, catalogue, carriage)
    if question == "wear":
        from woold.line.wear import line_wear

        return line_wear(line, catalogue, _given(carriage, "--carriage"))
    from woold.line.recipes import RecipesAsked, line_recipes

    return line_recipes(line, catalogue, RecipesAsked(carriage=carriage, machine=machine))


def _given(value: str | None, name: str) -> str:
    if value is None:
        raise InputError.one(
            name, say("nothing"), say("a value for this question"), say("Add it to the command.")
        )
    return value
