"""`woold dancer`: springs and holes, a cycle in motion, tuning, and a recorded trace."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from woold.case.asked import asked_count, asked_quantity, confirmed_names
from woold.case.file import read_case
from woold.cli.files import PictureFile
from woold.cli.option_groups import grouped_options
from woold.cli.output import (
    AsTyped,
    CasePath,
    JsonFlag,
    Units,
    console,
    new_app,
    print_json,
    table_units,
)
from woold.cli.progress import working
from woold.dancer.asked import ASKED_OF_TRACE, ask_about, hole_radius, trace_stops, turning_speed
from woold.errors import InputError
from woold.words import say

if TYPE_CHECKING:
    from woold.case.model import Case
    from woold.dancer.trace_study import TraceAsk
    from woold.dancer.tuning import TuneAsk
    from woold.rows.blocks import Block
    from woold.rows.told import Told
    from woold.rows.wording import Wording

__all__ = ["app"]

app = new_app("The dancer: choose its spring, simulate the corners, read a recorded trace.")

UNFIT = 1
"""Exit status where the dancer is not smooth and was asked to be."""

MustBeSmooth = Annotated[
    bool, typer.Option("--must-be-smooth", help="End with status 1 where it is not smooth.")
]


@dataclass(frozen=True, slots=True)
class SpringInHole:
    """A spring of the case in one of its holes, as it was typed."""

    spring: Annotated[
        int | None, typer.Option("--spring", metavar="N", help="Number of the spring, 1 the first.")
    ] = None
    hole: Annotated[
        str | None,
        typer.Option("--hole", metavar="LENGTH", help='Pivot to hole, such as "140 mm".'),
    ] = None

    @property
    def hole_radius(self) -> float | None:
        """Pivot to hole [m]."""
        return hole_radius(self.hole, "--hole")

    def require_usual(
        self, case: Case, as_typed: Collection[str] = (), speed: str | None = None
    ) -> None:
        """Asks about a spring, hole or turning speed that is not usual, as in a case file."""
        asked = {"dancer.hole": self.hole, "machine.speed": speed}
        names = {"dancer.hole": "--hole", "machine.speed": "--speed"}
        ask_about(case, asked, names, as_typed)


@dataclass(frozen=True, slots=True)
class Shown(PictureFile):
    """How a result is shown."""

    as_json: JsonFlag = False
    units: Units = "both"

    def show(
        self,
        study: Told,
        blocks: Callable[[Any, Wording, Wording], Iterable[Block]],
    ) -> None:
        """The study as a document or in words."""
        if self.as_json:
            print_json(study)
            return
        from woold.cli.blocks import print_blocks
        from woold.rows.wording import Wording

        out = console()
        brief = Wording(table_units(out, self.units))
        print_blocks(out, blocks(study, Wording(self.units), brief))


@app.command()
@grouped_options
def springs(case_path: CasePath, shown: Shown, as_typed: AsTyped = None) -> None:
    """Every spring in every hole, ranked for the case's film and force."""
    from woold.dancer.spring_rows import spring_blocks
    from woold.dancer.springs import spring_table

    case = read_case(case_path, as_typed or ())
    with working():
        table = spring_table(case)

    def figure() -> Any:
        from woold.pictures.dancer import springs_figure

        return springs_figure(case, table, shown.units)

    shown.save(figure)
    shown.show(table, spring_blocks)


@dataclass(frozen=True, slots=True)
class CycleOptions:
    """What is asked of a cycle."""

    speed: Annotated[
        str | None,
        typer.Option("--speed", metavar="SPEED", help='Turning speed, such as "12 rpm".'),
    ] = None
    check: Annotated[
        bool, typer.Option("--check", help="Integrate again by another integrator and compare.")
    ] = False
    must_be_smooth: MustBeSmooth = False


@app.command()
@grouped_options
def simulate(
    case_path: CasePath,
    chosen: SpringInHole,
    asked: CycleOptions,
    shown: Shown,
    as_typed: AsTyped = None,
) -> None:
    """The dancer over one cycle: tension, swing, stops, slack, resonance."""
    from woold.dancer.cycle import simulate_cycle
    from woold.dancer.cycle_rows import cycle_blocks

    case = read_case(case_path, as_typed or ())
    chosen.require_usual(case, as_typed or (), asked.speed)
    speed = turning_speed(asked.speed, "--speed", as_typed=("speed",))
    with working(say("Simulating")):
        study, motion, dancer = simulate_cycle(
            case, chosen.spring, chosen.hole_radius, speed, asked.check, shown.units
        )

    def figure() -> Any:
        from woold.pictures.dancer import cycle_figure

        return cycle_figure(study, motion, dancer, shown.units)

    shown.save(figure)
    shown.show(study, cycle_blocks)
    if asked.must_be_smooth and not (
        study.fits and study.steady.is_smooth and not study.lower_hits
    ):
        raise typer.Exit(UNFIT)


@dataclass(frozen=True, slots=True)
class TuneOptions:
    """What a tuning tries, as it was typed."""

    slowest: Annotated[
        str | None, typer.Option("--slowest", help="Lowest turning speed tried.")
    ] = None
    fastest: Annotated[
        str | None, typer.Option("--fastest", help="Highest turning speed tried.")
    ] = None
    gains: Annotated[
        tuple[str, str] | None,
        typer.Option("--gains", metavar="LOW HIGH", help='Gains tried, such as "0.3 m/s/rad".'),
    ] = None

    def asked_of(self, chosen: SpringInHole, right: Collection[str]) -> TuneAsk:
        """The same, read; some of it was asked about and is right."""
        from woold.dancer.tuning import TuneAsk

        return TuneAsk(
            chosen.spring,
            chosen.hole_radius,
            turning_speed(self.slowest, "--slowest", "slowest", right),
            turning_speed(self.fastest, "--fastest", "fastest", right),
            _gains(self.gains, right),
        )


@app.command()
@grouped_options
def tune(
    case_path: CasePath,
    chosen: SpringInHole,
    tried: TuneOptions,
    shown: Shown,
    as_typed: AsTyped = None,
) -> None:
    """Highest smooth turning speed, and the spring, hole and gain with the least ripple."""
    from woold.dancer.tuning import tune_case
    from woold.dancer.tuning_rows import tuning_blocks

    right, of_case = confirmed_names(as_typed or (), ("slowest", "fastest", "gain"))
    case = read_case(case_path, of_case)
    chosen.require_usual(case, of_case)
    asked = tried.asked_of(chosen, right)
    with _steps(say("Simulating")) as step:
        study = tune_case(case, asked, step)

    def figure() -> Any:
        from woold.pictures.dancer import tuning_figure

        return tuning_figure(study)

    shown.save(figure)
    shown.show(study, tuning_blocks)


Column = Annotated[str | None, typer.Option(help="Heading or number.")]


@dataclass(frozen=True, slots=True)
class ColumnOptions:
    """Which column of a trace holds what, and in which unit."""

    time_column: Column = None
    position_column: Column = None
    pulse_column: Column = None
    table_column: Annotated[str | None, typer.Option(help="Turntable's angle.")] = None
    time_unit: Annotated[str | None, typer.Option(help="s, ms, us, min or h.")] = None
    position_unit: Annotated[str | None, typer.Option(help="deg, rad, mm, m, in or %.")] = None


@dataclass(frozen=True, slots=True)
class TraceOptions:
    """What is known of a trace and asked of it, as it was typed."""

    case_path: Annotated[
        str | None, typer.Option("--case", metavar="CASE.toml", help="Case of this dancer.")
    ] = None
    speed: Annotated[
        str | None,
        typer.Option("--speed", metavar="SPEED", help='Turning speed, such as "12 rpm".'),
    ] = None
    stops: Annotated[
        tuple[str, str] | None,
        typer.Option("--stops", metavar="LOW HIGH", help='Stops, such as "-30 deg" "30 deg".'),
    ] = None
    reverse: Annotated[
        bool,
        typer.Option(
            "--reverse", help="Higher readings mean that the dancer has given film to the load."
        ),
    ] = False
    corners: Annotated[int, typer.Option("--corners", min=1, help="Corners of the load.")] = 4
    limit: Annotated[
        list[str] | None,
        typer.Option("--limit", metavar="NAME=VALUE", help="Threshold of the verdict; repeatable."),
    ] = None
    fit: Annotated[
        str | None,
        typer.Option("--fit", metavar="NAMES", help="Such as inertia,damping,film_stiffness."),
    ] = None
    must_be_smooth: MustBeSmooth = False

    def asked_of(
        self, columns: ColumnOptions, chosen: SpringInHole, right: Collection[str]
    ) -> TraceAsk:
        """The same, read; some of it was asked about and is right."""
        from woold.dancer.trace_file import TraceColumns
        from woold.dancer.trace_study import TraceAsk, read_thresholds

        # With a case it is asked about as its machine's.
        judged = ("speed",) if self.case_path else right
        speed = turning_speed(self.speed, "--speed", as_typed=judged)
        return TraceAsk(
            columns=TraceColumns(
                columns.time_column,
                columns.position_column,
                columns.pulse_column,
                columns.table_column,
                columns.time_unit,
                columns.position_unit,
            ),
            turn_period=2.0 * math.pi / speed if speed else None,
            stops=trace_stops(self.stops, "--stops", right),
            reverse=self.reverse,
            corners=asked_count("corners", self.corners, "--corners", right),
            thresholds=read_thresholds(self.limit or ()),
            fit=tuple(name.strip() for name in self.fit.split(",")) if self.fit else (),
            spring=chosen.spring,
            hole=chosen.hole_radius,
        )


@app.command()
@grouped_options
def trace(
    trace_path: Annotated[str, typer.Argument(metavar="FILE.csv", help="The recorded trace.")],
    asked: TraceOptions,
    columns: ColumnOptions,
    chosen: SpringInHole,
    shown: Shown,
    as_typed: AsTyped = None,
) -> None:
    """A recorded trace: what comes with the corners, what rings, a verdict, what to try first."""
    from woold.dancer.trace_rows import trace_blocks
    from woold.dancer.trace_study import study_trace

    right, of_case = confirmed_names(as_typed or (), ASKED_OF_TRACE)
    ask = asked.asked_of(columns, chosen, right)
    case = read_case(asked.case_path, of_case) if asked.case_path else None
    if case is not None:
        chosen.require_usual(case, of_case, asked.speed)
    with _bytes(say("Reading")) as progress:
        study, analysis = study_trace(trace_path, ask, case, progress)

    def figure() -> Any:
        from woold.pictures.dancer_trace import trace_figure

        return trace_figure(study, analysis)

    shown.save(figure)
    shown.show(study, trace_blocks)
    if asked.must_be_smooth and study.verdict != "smooth":
        raise typer.Exit(UNFIT)


def _gains(
    texts: tuple[str, str] | None, right: Collection[str]
) -> tuple[float, float, int] | None:
    if texts is None:
        return None
    low, high = (asked_quantity("gain", text, "--gains", right) for text in texts)
    if not low < high:
        raise InputError.one(
            "--gains",
            ", ".join(texts),
            say("two gains above zero, the lower first"),
            say("Give --gains twice, the lower value first."),
        )
    return low, high, 13


@contextmanager
def _bytes(words: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on standard error that follows the bytes read."""
    with _bar() as bar:
        task = bar.add_task(words, total=None)

        def follow(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)
            if done >= total:
                bar.update(task, description=say("Analysing"), total=None)

        yield follow


@contextmanager
def _steps(words: str) -> Iterator[Callable[[], None]]:
    """A counter on standard error."""
    with _bar() as bar:
        task = bar.add_task(words, total=None)
        yield lambda: bar.advance(task)


def _bar() -> Any:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    out = Console(stderr=True, highlight=False)
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=out,
        transient=True,
        disable=not sys.stderr.isatty(),
    )
