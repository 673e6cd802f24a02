"""`woold report`: reports and set-up sheets as a page (HTML) and on paper (PDF)."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from woold.case.file import read_case
from woold.case.model import Case
from woold.cli.files import Force, must_be_new, write_file
from woold.cli.line import MapFolder, Sample
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
    speak,
)
from woold.cli.printing import ENDINGS, Comma, PaperSize, Time, time_of
from woold.cli.progress import working
from woold.cli.trial_output import StoreUrl, TrialKey, trial_store
from woold.errors import InputError
from woold.report.making import Making, file_hash, layout_options
from woold.report.model import Report
from woold.rows.blocks import to_data
from woold.rows.wording import Wording
from woold.words import say

if TYPE_CHECKING:
    from woold.cli.documents import ReportDocument

__all__ = ["ReportOptions", "app", "rendered", "write_report"]

app = new_app("Reports and set-up sheets, as a page (.html) or on paper (.pdf).")

_ReportOfCase = Callable[[Case, Making], Report]

Goal = Literal["film", "cost", "time", "containment"]

OutPaths = Annotated[
    list[str] | None,
    typer.Option("--out", metavar="FILE", help="File to write, .html or .pdf; may be repeated."),
]
Language = Annotated[
    str | None,
    typer.Option("--language", metavar="TAG", help="Language, such as en; that of the command."),
]


@dataclass(frozen=True, slots=True)
class ReportOptions:
    """What every report is asked for."""

    out: OutPaths = None
    as_json: JsonFlag = False
    units: Units = "both"
    paper: PaperSize = "a4"
    language: Language = None
    decimal_comma: Comma = False
    time: Time = None
    as_typed: AsTyped = None
    force: Force = False

    def paths(self, stem: str) -> list[Path]:
        """Files to write; by default beside where we are, both kinds."""
        return [Path(name) for name in self.out or (f"{stem}.html", f"{stem}.pdf")]

    def read(self, path: str) -> Case:
        """The case in a file, with what was asked about and is right."""
        return read_case(path, of_case_and_shelf(self.as_typed)[0])

    def making(
        self, words: Sequence[str], inputs: Sequence[str], stem: str, command: str = ""
    ) -> Making:
        """How to make the report of these input files with `woold report` and these words.

        Args:
            words: behind `woold report`.
            inputs: files that it is made from.
            stem: of the files' names where none was given.
            command: that makes it, where it is another one.
        """
        if self.language is not None:
            speak(self.language)
        for name in self.out or ():
            if Path(name).suffix.lower() not in ENDINGS:
                raise InputError.one(
                    "--out", name, say("a file name ending in .html or .pdf"), say("Rename it.")
                )
        must_be_new(self.paths(stem), self.force)
        made_at = time_of(self.time)
        wording = Wording(self.units, self.decimal_comma)
        options = layout_options(wording, self.paper, made_at, self.as_typed or ())
        return Making(
            say=wording,
            made_at=made_at,
            paper=self.paper,
            inputs=tuple(file_hash(path) for path in inputs),
            command=command or shlex.join(["woold", "report", *words, *options]),
        )


_DEFAULT = ReportOptions()


@app.command()
@grouped_options
def prediction(
    case_path: CasePath,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """Report of what one wrapped load takes and holds; ends with 1 where it does not hold."""
    from woold.report.prediction_report import prediction_report

    _of_one_case(case_path, asked, "prediction", "report", prediction_report)


@app.command()
@grouped_options
def sheet(
    case_path: CasePath,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """One-page set-up sheet for the operator; ends with 1 where the load does not hold."""
    from woold.report.setup_sheet import setup_sheet

    _of_one_case(case_path, asked, "sheet", "sheet", setup_sheet)


@app.command()
@grouped_options
def transport(
    case_path: CasePath,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """Report of a load on its way: screen and motion; ends with 1 where it does not hold."""
    from woold.report.transport_report import transport_report

    _of_one_case(case_path, asked, "transport", "transport", transport_report)


@app.command()
@grouped_options
def carriages(
    base_path: Annotated[str, typer.Argument(metavar="BASE.toml", help="Case as it is.")],
    candidate_path: Annotated[
        str, typer.Argument(metavar="CANDIDATE.toml", help="Case whose carriage is compared.")
    ],
    draws: Annotated[int, typer.Option("--draws", help="Draws of uncertain inputs.")] = 10_000,
    seed: Annotated[int, typer.Option("--seed", help="Of the draws.")] = 1,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """Report of two film carriages on one load; ends with 1 where it does not hold."""
    from woold.carriages.compare import compare_carriages
    from woold.report.carriages_report import carriages_report

    words = ["carriages", base_path, candidate_path, "--draws", str(draws), "--seed", str(seed)]
    stem = f"{Path(base_path).stem}-{Path(candidate_path).stem}-report"
    making = asked.making(words, [base_path, candidate_path], stem)
    base, candidate = asked.read(base_path), asked.read(candidate_path)
    with working():
        comparison = compare_carriages(base, candidate, draws, seed)
        report = carriages_report(base, candidate, comparison, making)
    write_report(report, stem, asked)
    if comparison.candidate_verdict.fails:
        raise typer.Exit(1)


@app.command()
@grouped_options
def line(
    line_path: Annotated[str, typer.Argument(metavar="LINE.toml", help="The line's file.")],
    draws: Annotated[int, typer.Option("--draws", help="Draws of uncertain inputs.")] = 1000,
    sample: Sample = None,
    map_folder: MapFolder = None,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """Report of a line: what each carriage serves as the only one, and what works where."""
    from woold.cli.line import LineOptions, line_and_catalogue, map_in
    from woold.line.check import check_line
    from woold.line.map import run_map
    from woold.line.map_result import line_map
    from woold.line.one_carriage import line_carriages
    from woold.report.line_report import line_report

    words = ["line", line_path, "--draws", str(draws)]
    words += ["--sample", str(sample)] if sample is not None else []
    words += ["--map", map_folder] if map_folder is not None else []
    stem = f"{Path(line_path).stem}-report"
    must_be_new(asked.paths(stem), asked.force)
    read, catalogue = line_and_catalogue(line_path, LineOptions(as_typed=asked.as_typed), sample)
    inputs = [line_path, *([] if read.catalogue_path is None else [str(read.catalogue_path)])]
    making = asked.making(words, inputs, stem)
    with working():
        run = run_map(read, catalogue, map_in(line_path, map_folder))
        report = line_report(
            line_carriages(read, catalogue, draws),
            line_map(check_line(read, catalogue), run),
            making,
        )
    write_report(report, stem, asked)


@app.command()
@grouped_options
def trial(
    key: TrialKey,
    resamples: Annotated[
        int, typer.Option("--resamples", min=1000, max=1_000_000, help="Of the bootstrap.")
    ] = 10_000,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of the bootstrap.")] = 1,
    store_url: StoreUrl = None,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """Report of a trial that is kept in the store, raw records included."""
    from woold.report.trial_report import trial_report
    from woold.trial.analysis import analyse
    from woold.trial.records import trial_records

    words = ["trial", key, "--resamples", str(resamples), "--seed", str(seed)]
    stem = f"{key}-report"
    making = asked.making(words, [], stem)
    with trial_store(store_url) as store:
        records = trial_records(store, key)
    with working():
        report = trial_report(records, analyse(records, resamples, seed), making)
    write_report(report, stem, asked)


@app.command()
@grouped_options
def design(
    case_path: CasePath,
    goal: Annotated[
        Goal | None,
        typer.Option(
            "--goal",
            help="Least cost, film or time; or most containment. Least cost if prices are given.",
        ),
    ] = None,
    shelf: Annotated[
        str | None, typer.Option("--shelf", metavar="FILE", help="Films to choose from as well.")
    ] = None,
    profiled: Annotated[
        bool, typer.Option("--profiled", help="Let the rise vary with height as well.")
    ] = False,
    front: Annotated[
        bool, typer.Option("--front", help="Show the front of film, containment and time.")
    ] = False,
    asked: ReportOptions = _DEFAULT,
) -> None:
    """Report of the program of least cost that holds; ends with 1 where nothing holds."""
    from woold.case.shelf import read_shelf
    from woold.design.study import design_program
    from woold.design.task import DesignTask
    from woold.report.design_report import design_report

    words = ["design", case_path, *([] if goal is None else ["--goal", goal])]
    words += ["--shelf", shelf] if shelf else []
    words += ["--profiled"] if profiled else []
    words += ["--front"] if front else []
    stem = f"{Path(case_path).stem}-design"
    making = asked.making(words, [case_path, *([shelf] if shelf else [])], stem)
    case = asked.read(case_path)
    right = of_case_and_shelf(asked.as_typed)[1]
    films = read_shelf(shelf, right).films_now() if shelf else ()
    with working() as tell:
        task = DesignTask(goal, profiled=profiled, front=front)
        result = design_program(case, films, task, progress=tell)
        report = design_report(case, result, making)
    write_report(report, stem, asked)
    if not result.possible or (result.chosen is not None and result.chosen.verdict.fails):
        raise typer.Exit(1)


def _of_one_case(
    case_path: str, asked: ReportOptions, command: str, ending: str, made: _ReportOfCase
) -> None:
    """Write a report of one case, and end as `woold predict` does: with 1 unless it holds."""
    from woold.prediction.predict import predict
    from woold.verdict.verdict import verdict_of

    stem = f"{Path(case_path).stem}-{ending}"
    making = asked.making([command, case_path], [case_path], stem)
    case = asked.read(case_path)
    with working():
        report = made(case, making)
    write_report(report, stem, asked)
    if verdict_of(case, predict(case)).fails:
        raise typer.Exit(1)


def write_report(report: Report, stem: str, asked: ReportOptions) -> None:
    """Write the report to the files asked for."""
    paths = asked.paths(stem)
    with working(say("Laying out")):
        made = [(path, rendered(report, path)) for path in paths]
    for path, content in made:
        write_file(path, content, asked.force)
    if asked.as_json:
        print_json(_document(report, paths))
        return
    out = console()
    out.print(f"{report.subtitle}: {report.title}", style="bold", markup=False)
    for path in paths:
        out.print(say("Wrote {file}.", file=path), markup=False, soft_wrap=True)


def rendered(report: Report, path: Path | str) -> bytes:
    """The content of a file with the report in it, by the file's ending."""
    if Path(path).suffix.lower() == ".html":
        from woold.report.html import report_html

        return report_html(report).encode()
    from woold.report.pdf import report_pdf

    return report_pdf(report)


def _document(report: Report, paths: Sequence[Path]) -> ReportDocument:
    """The report as data, its pictures left out."""
    from woold.cli.documents import ReportDocument

    data: dict[str, Any] = to_data(report)
    data["blocks"] = _without_pictures(data["blocks"])
    data["inputs"] = report.inputs
    return ReportDocument(**data, files=tuple(str(path) for path in paths))


def _without_pictures(data: Any) -> Any:
    if isinstance(data, list):
        return [_without_pictures(each) for each in data]
    if isinstance(data, dict):
        return {key: _without_pictures(each) for key, each in data.items() if key != "svg"}
    return data
