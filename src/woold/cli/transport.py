"""`woold transport`: does the stack slide or tip under the rules that the case names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from woold.case.asked import cells_of
from woold.case.file import read_case
from woold.case.model import Case
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
    print_cautions,
    print_findings,
    print_json,
    table_units,
)
from woold.cli.progress import working
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.rows.wording import Wording
from woold.transport.calibration import TransportCalibration
from woold.transport.measured import MeasuredRow, given_rows, how_read, read_recording
from woold.transport.result import TransportResult
from woold.transport.rows import transport_blocks
from woold.transport.screen import screen_transport
from woold.transport.sensitivity import TransportEffect, transport_effects
from woold.transport.simulation import TransportSimulation
from woold.transport.simulation_rows import (
    calibration_blocks,
    simulation_blocks,
    transport_effect_blocks,
)
from woold.units import UnitSystem
from woold.verdict.result import Verdict
from woold.verdict.rows import verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from woold.physics.stack_motion import BaseMotion

__all__ = ["app"]

app = new_app()


@dataclass(frozen=True, slots=True)
class AskedOfTransport:
    """What is asked beyond the screen."""

    simulate: Annotated[
        bool,
        typer.Option("--simulate", help="Move the stack over time as well; --plot shows that."),
    ] = False
    recording: Annotated[
        str | None,
        typer.Option(
            metavar="FILE",
            help="Simulate a recorded trip: columns time [s], acceleration [m/s^2] or [g].",
        ),
    ] = None
    slips: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FILE",
            help="Slips of a real test, to calibrate film and friction: a table with columns"
            " acceleration, ramp [s], hold [s], height [mm], largest [mm], kept [mm], or such a row"
            " typed with commas; may be given several times.",
        ),
    ] = None


@app.command()
@grouped_options
def transport(
    case_path: CasePath,
    asked: AskedOfTransport,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    units: Units = "both",
) -> None:
    """Screen a wrapped load for transport; ends with 1 where it does not hold."""
    cells, fields = cells_of(as_typed or ())
    case = read_case(case_path, fields)
    rows = [row for each in asked.slips or () for row in given_rows(each, cells)]
    moves = asked.simulate or asked.recording
    with working():
        prediction = predict(case)
        result = screen_transport(case, prediction)
        effects = transport_effects(case, prediction)
        base = read_recording(asked.recording, cells) if asked.recording else None
        simulation = _simulation(case, prediction, result, base) if moves else None
        verdict = verdict_of(case, prediction, result, simulation=simulation)
    read_as = how_read([*(asked.slips or ()), *([asked.recording] if asked.recording else [])])
    result = replace(result, findings=(*read_as, *result.findings))
    calibration = _calibration(case, prediction, rows) if rows else None
    picture.save(lambda: _figure(case, result, simulation, units))
    if as_json:
        from woold.cli.documents import TransportDocument

        more = {"simulation": simulation, "calibration": calibration}
        print_json(TransportDocument.with_more(result, verdict=verdict, effects=effects, **more))
    else:
        _print_result(result, verdict, effects, simulation, calibration, units)
    if verdict.fails:
        raise typer.Exit(1)


def _simulation(
    case: Case, prediction: Prediction, result: TransportResult, base: BaseMotion | None
) -> TransportSimulation:
    from woold.transport.simulation import simulate_transport

    return simulate_transport(case, prediction, result, base)


def _calibration(
    case: Case, prediction: Prediction, rows: Sequence[MeasuredRow]
) -> TransportCalibration:
    from rich.console import Console
    from rich.progress import Progress

    from woold.transport.calibration import calibrate_transport

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(say("Trying inputs"))
        return calibrate_transport(
            case,
            prediction,
            rows,
            progress=lambda done, all_: bar.update(task, completed=done, total=all_),
        )


def _figure(
    case: Case,
    result: TransportResult,
    simulation: TransportSimulation | None,
    units: UnitSystem,
) -> Figure:
    from woold.pictures.moved_stack import moved_stack_figure
    from woold.pictures.stack_motion import stack_motion_figure

    if simulation is not None:
        return stack_motion_figure(simulation, units)
    return moved_stack_figure(case, result, units)


def _print_result(
    result: TransportResult,
    verdict: Verdict,
    effects: Sequence[TransportEffect],
    simulation: TransportSimulation | None,
    calibration: TransportCalibration | None,
    units: UnitSystem,
) -> None:
    out = console()
    out.print(result.title or say("A case without a title"), style="bold", markup=False)
    out.print(Text(say(result.caution), style="italic"))
    out.print()
    text, brief = Wording(units=units), Wording(units=table_units(out, units))
    print_blocks(out, verdict_blocks(verdict, text, brief))
    print_findings(out, [*result.findings, *(calibration.findings if calibration else ())])
    print_blocks(out, transport_blocks(result, text, brief))
    print_blocks(out, transport_effect_blocks(effects, text, brief))
    if simulation is not None:
        print_blocks(out, simulation_blocks(simulation, text, brief))
    if calibration is not None:
        print_blocks(out, calibration_blocks(calibration, text))
    print_cautions(out, result.cautions[1:])
