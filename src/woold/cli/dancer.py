"""`woold dancer`: springs and holes, a cycle in motion, tuning, and a recorded trace."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Annotated, Any

import typer

from woold.case.file import read_case
from woold.cli.output import CasePath, JsonFlag, PlotPath, Units, new_app, print_json
from woold.errors import InputError
from woold.units import parse_quantity
from woold.words import say

__all__ = ["app"]

app = new_app("The dancer: choose its spring, simulate the corners, read a recorded trace.")

UNFIT = 1
"""Exit status where the dancer is not smooth and was asked to be."""

SpringNumber = Annotated[
    int | None, typer.Option("--spring", metavar="N", help="Number of the spring, 1 the first.")
]
Hole = Annotated[
    str | None, typer.Option("--hole", metavar="LENGTH", help='Pivot to hole, such as "140 mm".')
]
Speed = Annotated[
    str | None, typer.Option("--speed", metavar="SPEED", help='Turning speed, such as "12 rpm".')
]
MustBeSmooth = Annotated[
    bool, typer.Option("--must-be-smooth", help="End with status 1 where it is not smooth.")
]


@app.command()
def springs(
    case_path: CasePath, as_json: JsonFlag = False, plot: PlotPath = None, units: Units = "both"
) -> None:
    """Every spring in every hole, ranked for the case's film and force."""
    from woold.cli.dancer_text import print_springs
    from woold.dancer.study import spring_table

    case = read_case(case_path)
    table = spring_table(case)
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.dancer import springs_figure

        save_figure(springs_figure(case, table, units), plot)
    if as_json:
        print_json("springs", table.to_json())
        return
    print_springs(table, units)


@app.command()
def simulate(
    case_path: CasePath,
    spring: SpringNumber = None,
    hole: Hole = None,
    speed: Speed = None,
    check: Annotated[
        bool, typer.Option("--check", help="Integrate again by another integrator and compare.")
    ] = False,
    must_be_smooth: MustBeSmooth = False,
    as_json: JsonFlag = False,
    plot: PlotPath = None,
    units: Units = "both",
) -> None:
    """The dancer over one cycle: tension, swing, stops, slack, resonance."""
    from woold.cli.dancer_text import print_cycle
    from woold.dancer.study import simulate_cycle

    case = read_case(case_path)
    study, motion, dancer = simulate_cycle(
        case, spring, _length(hole, "--hole"), _speed(speed), check, units
    )
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.dancer import cycle_figure

        save_figure(cycle_figure(study, motion, dancer, units), plot)
    if as_json:
        print_json("cycle", study.to_json())
    else:
        print_cycle(study, units)
    if must_be_smooth and not (study.steady.is_smooth and not study.lower_hits):
        raise typer.Exit(UNFIT)


@app.command()
def tune(
    case_path: CasePath,
    spring: SpringNumber = None,
    hole: Hole = None,
    slowest: Annotated[
        str | None, typer.Option("--slowest", help="Lowest turning speed tried.")
    ] = None,
    fastest: Annotated[
        str | None, typer.Option("--fastest", help="Highest turning speed tried.")
    ] = None,
    gains: Annotated[
        tuple[str, str] | None,
        typer.Option("--gains", metavar="LOW HIGH", help='Gains tried, such as "0.3 m/s/rad".'),
    ] = None,
    as_json: JsonFlag = False,
    plot: PlotPath = None,
    units: Units = "both",
) -> None:
    """Highest smooth turning speed, and the spring, hole and gain with the least ripple."""
    from woold.cli.dancer_text import print_tuning
    from woold.dancer.study import tune_case

    case = read_case(case_path)
    limits = _gains(gains)
    with _steps("Simulating") as step:
        study = tune_case(
            case,
            spring,
            _length(hole, "--hole"),
            _speed(slowest, "--slowest"),
            _speed(fastest, "--fastest"),
            limits,
            step,
        )
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.dancer import tuning_figure

        save_figure(tuning_figure(study), plot)
    if as_json:
        print_json("tuning", study.to_json())
        return
    print_tuning(study, units)


@app.command()
def trace(
    trace_path: Annotated[str, typer.Argument(metavar="FILE.csv", help="The recorded trace.")],
    case_path: Annotated[
        str | None, typer.Option("--case", metavar="CASE.toml", help="Case of this dancer.")
    ] = None,
    speed: Speed = None,
    stops: Annotated[
        tuple[str, str] | None,
        typer.Option("--stops", metavar="LOW HIGH", help='Stops, such as "-30 deg" "30 deg".'),
    ] = None,
    reverse: Annotated[
        bool, typer.Option("--reverse", help="Growing positions give film away.")
    ] = False,
    corners: Annotated[int, typer.Option("--corners", min=1, help="Corners of the load.")] = 4,
    time_column: Annotated[str | None, typer.Option(help="Heading or number.")] = None,
    position_column: Annotated[str | None, typer.Option(help="Heading or number.")] = None,
    pulse_column: Annotated[str | None, typer.Option(help="Heading or number.")] = None,
    table_column: Annotated[str | None, typer.Option(help="Turntable's angle.")] = None,
    time_unit: Annotated[str | None, typer.Option(help="s, ms, us, min or h.")] = None,
    position_unit: Annotated[str | None, typer.Option(help="deg, rad, mm, m, in or %.")] = None,
    limit: Annotated[
        list[str] | None,
        typer.Option("--limit", metavar="NAME=VALUE", help="Threshold of the verdict; repeatable."),
    ] = None,
    fit: Annotated[
        str | None,
        typer.Option("--fit", metavar="NAMES", help="Such as inertia,damping,film_stiffness."),
    ] = None,
    spring: SpringNumber = None,
    hole: Hole = None,
    must_be_smooth: MustBeSmooth = False,
    as_json: JsonFlag = False,
    plot: PlotPath = None,
    units: Units = "both",
) -> None:
    """A recorded trace: what comes with the corners, what rings, a verdict, what to try first."""
    from woold.cli.dancer_text import print_trace
    from woold.dancer.trace_file import Columns
    from woold.dancer.trace_study import TraceAsk, read_thresholds, study_trace

    turning_speed = _speed(speed)
    if turning_speed is not None and not turning_speed > 0:
        raise InputError.one("--speed", speed, say("more than 0 rpm"))
    ask = TraceAsk(
        columns=Columns(
            time_column, position_column, pulse_column, table_column, time_unit, position_unit
        ),
        turn_period=6.283185307179586 / turning_speed if turning_speed else None,
        stops=_stops(stops),
        reverse=reverse,
        corners=corners,
        thresholds=read_thresholds(limit or ()),
        fit=tuple(name.strip() for name in fit.split(",")) if fit else (),
        spring=spring,
        hole=_length(hole, "--hole"),
    )
    case = read_case(case_path) if case_path else None
    with _bytes("Reading") as progress:
        study, analysis = study_trace(trace_path, ask, case, progress)
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.dancer_trace import trace_figure

        save_figure(trace_figure(study, analysis), plot)
    if as_json:
        print_json("trace", study.to_json())
    else:
        print_trace(study, units)
    if must_be_smooth and study.verdict != "smooth":
        raise typer.Exit(UNFIT)


def _length(text: str | None, field: str) -> float | None:
    if text is None:
        return None
    length = parse_quantity(text, "small_length", field)
    if not length > 0:
        raise InputError.one(field, text, say("a length above zero"))
    return length


def _speed(text: str | None, field: str = "--speed") -> float | None:
    if text is None:
        return None
    speed = parse_quantity(text, "turning_speed", field)
    if not speed > 0:
        raise InputError.one(field, text, say("a turning speed above zero"))
    return speed


def _gains(texts: tuple[str, str] | None) -> tuple[float, float, int] | None:
    if texts is None:
        return None
    low, high = (parse_quantity(text, "drive_gain", "--gains") for text in texts)
    if not 0 < low < high:
        raise InputError.one(
            "--gains", " to ".join(texts), say("two gains above zero, the lower first")
        )
    return low, high, 13


def _stops(texts: tuple[str, str] | None) -> tuple[float, float] | None:
    """Two stops, of whatever kind the trace is: an angle, a length or a share of the travel."""
    if texts is None:
        return None
    for kind in ("angle", "small_length", "fraction"):
        try:
            low, high = (parse_quantity(text, kind, "--stops") for text in texts)
        except InputError:
            continue
        return low, high
    raise InputError.one(
        "--stops", " to ".join(texts), say('two positions such as "-30 deg" "30 deg"')
    )


@contextmanager
def _bytes(words: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on standard error that follows the bytes read."""
    with _bar() as bar:
        task = bar.add_task(words, total=None)

        def follow(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)
            if done >= total:
                bar.update(task, description="Analysing", total=None)

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
