"""`woold dancer tags` and `woold dancer video`: tags to print, and a film judged as a trace is."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from woold.case.asked import asked_quantity, confirmed_names
from woold.case.file import read_case
from woold.cli.dancer import (
    UNFIT,
    ColumnOptions,
    Shown,
    SpringInHole,
    TraceOptions,
    app,
)
from woold.cli.files import Force, must_be_new, write_file
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, Units
from woold.cli.progress import working
from woold.dancer.asked import ASKED_OF_FILM
from woold.errors import InputError
from woold.rows.typeset import Paper
from woold.words import say

if TYPE_CHECKING:
    from woold.filmed.film_study import FilmAsk, FilmResult
    from woold.filmed.point_tracks import PickedPoints

__all__ = ["app"]


@dataclass(frozen=True, slots=True)
class TagOptions:
    """What sheet of tags is asked for."""

    out: Annotated[
        str, typer.Option("--out", metavar="FILE", help="File to write, .pdf or .html.")
    ] = "dancer-tags.pdf"
    paper: Annotated[Paper, typer.Option("--paper", help="Paper: a4 or letter.")] = "a4"
    side: Annotated[
        str,
        typer.Option("--side", metavar="LENGTH", help="Side of the frame's and the arm's tags."),
    ] = "60 mm"
    as_json: JsonFlag = False
    units: Units = "both"
    force: Force = False

    @property
    def side_length(self) -> float:
        """Side of the small tags [m]."""
        return asked_quantity("tag_side", self.side, "--side")


@app.command()
@grouped_options
def tags(asked: TagOptions) -> None:
    """Tags to print and stick on frame, arm and load, with instructions to film the dancer."""
    from woold.cli.report import ReportOptions, write_report
    from woold.report.tag_sheet import tag_sheet

    options = ReportOptions(
        out=[asked.out],
        as_json=asked.as_json,
        units=asked.units,
        paper=asked.paper,
        force=asked.force,
    )
    side = asked.side_length
    making = options.making([], [], "dancer-tags")
    with working(say("Laying out")):
        report = tag_sheet(side, making)
    write_report(report, "dancer-tags", options)


@dataclass(frozen=True, slots=True)
class FilmOptions:
    """What is known of a film, as it was typed."""

    start: Annotated[
        float, typer.Option("--from", metavar="SECONDS", min=0, help="Begin of what is looked at.")
    ] = 0.0
    end: Annotated[
        float | None, typer.Option("--to", metavar="SECONDS", min=0, help="End of it.")
    ] = None
    pivot_at: Annotated[
        tuple[float, float] | None,
        typer.Option("--pivot-at", metavar="X Y", help="Pivot in the first picture, no tags [px]."),
    ] = None
    arm_at: Annotated[
        tuple[float, float] | None,
        typer.Option("--arm-at", metavar="X Y", help="Arm's far end in it [px]."),
    ] = None
    arm_length: Annotated[
        str | None,
        typer.Option("--arm-length", metavar="LENGTH", help="Pivot to roller: show lengths."),
    ] = None
    stop_times: Annotated[
        tuple[float, float] | None,
        typer.Option(
            "--stop-times",
            metavar="LOW HIGH",
            help="Seconds at which the arm lay at its lower and its upper stop.",
        ),
    ] = None

    def asked_of(
        self, trace: TraceOptions, chosen: SpringInHole, right: Collection[str]
    ) -> FilmAsk:
        """The same, read; some of it was asked about and is right."""
        from woold.filmed.film_study import FilmAsk

        if self.end is not None and self.end <= self.start:
            raise InputError.one(
                "--to", f"{self.end:g}", say("a time after --from"), say("Give a later time.")
            )
        return FilmAsk(
            trace=trace.asked_of(ColumnOptions(), chosen, right),
            picked=self._picked(),
            start=self.start,
            end=self.end,
            arm_length=self._length(right),
            stop_times=self.stop_times,
        )

    def _picked(self) -> PickedPoints | None:
        from woold.filmed.point_tracks import PickedPoints

        if self.pivot_at is None and self.arm_at is None:
            return None
        if self.pivot_at is None or self.arm_at is None:
            raise InputError.one(
                "--pivot-at, --arm-at",
                say("one of the two"),
                say("both points, or neither"),
                say("Read both off the first picture, in pixels."),
            )
        return PickedPoints(self.pivot_at, self.arm_at)

    def _length(self, right: Collection[str]) -> float | None:
        if self.arm_length is None:
            return None
        return asked_quantity("arm_length", self.arm_length, "--arm-length", right)


@dataclass(frozen=True, slots=True)
class FilmFiles:
    """What else is written of a film."""

    still: Annotated[
        str | None,
        typer.Option(
            "--still", metavar="FILE", help="A frame with what was followed (.png, .svg)."
        ),
    ] = None
    trace_out: Annotated[
        str | None,
        typer.Option("--trace", metavar="FILE.csv", help="The trace, as recorders write it."),
    ] = None
    report_out: Annotated[
        str | None, typer.Option("--report", metavar="FILE", help="A report (.html or .pdf).")
    ] = None

    def require_new(self, shown: Shown) -> None:
        """Refuses names that cannot be written, before the film is read."""
        for name, path, endings in (
            ("--still", self.still, (".png", ".svg", ".pdf")),
            ("--report", self.report_out, (".html", ".pdf")),
        ):
            if path is not None and Path(path).suffix.lower() not in endings:
                raise InputError.one(
                    name,
                    path,
                    say("a file name ending in {endings}", endings=", ".join(endings)),
                    say("Rename it."),
                )
        written = [self.still, self.trace_out, self.report_out, shown.plot]
        must_be_new([each for each in written if each is not None], shown.force)

    def save(self, result: FilmResult, film: str, shown: Shown) -> None:
        """Writes what was asked for."""
        if self.trace_out is not None:
            from woold.filmed.trace_table import trace_table

            write_file(self.trace_out, trace_table(result), shown.force)
        if self.still is not None:
            with working(say("Drawing the picture")):
                from woold.pictures.canvas import figure_bytes
                from woold.pictures.film_still import still_figure

                picture = figure_bytes(still_figure(result.reading), Path(self.still).suffix)
            write_file(self.still, picture, shown.force)
        if self.report_out is not None:
            from woold.cli.report import ReportOptions, rendered
            from woold.report.film_report import film_report

            options = ReportOptions(out=[self.report_out], units=shown.units, force=shown.force)
            making = options.making([], [film], "film", shlex.join(["woold", *sys.argv[1:]]))
            with working(say("Laying out")):
                page = rendered(film_report(result, making), self.report_out)
            write_file(self.report_out, page, shown.force)


@app.command()
@grouped_options
def video(
    film: Annotated[str, typer.Argument(metavar="FILM", help="The film, as the phone wrote it.")],
    seen: FilmOptions,
    asked: TraceOptions,
    chosen: SpringInHole,
    files: FilmFiles,
    shown: Shown,
    as_typed: AsTyped = None,
) -> None:
    """A film of the arm with printed tags on: the same verdict as on a recorded trace."""
    from woold.dancer.trace_study import require_case_for_fit
    from woold.filmed.film_rows import film_blocks
    from woold.filmed.film_study import study_reading
    from woold.filmed.reading import read_film

    right, of_case = confirmed_names(as_typed or (), ASKED_OF_FILM)
    ask = seen.asked_of(asked, chosen, right)
    files.require_new(shown)
    case = read_case(asked.case_path, of_case) if asked.case_path else None
    if case is not None:
        chosen.require_usual(case, of_case, asked.speed)
    require_case_for_fit(ask.trace, case)
    with _frames(say("Reading the film")) as progress:
        reading = read_film(film, ask.picked, (ask.start, ask.end), progress)
    with working(say("Judging the recording")):
        result = study_reading(reading, ask, case, str(film))

    def figure() -> Any:
        from woold.pictures.dancer_trace import trace_figure

        if result.study.trace is None or result.analysis is None:
            raise InputError.one(
                "--plot",
                say("a trace with too many gaps"),
                say("a trace that can be judged"),
                say("Film again with the tags in sight all the time."),
            )
        return trace_figure(result.study.trace, result.analysis)

    files.save(result, film, shown)
    shown.save(figure)
    shown.show(result.study, film_blocks)
    if asked.must_be_smooth and result.study.verdict != "smooth":
        raise typer.Exit(UNFIT)


@contextmanager
def _frames(words: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on standard error that follows the frames read."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=Console(stderr=True, highlight=False),
        transient=True,
        disable=not sys.stderr.isatty(),
    ) as bar:
        task = bar.add_task(words, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total or None)
