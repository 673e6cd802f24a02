"""`woold transport`: does the stack slide or tip under the rules that the case names."""

from __future__ import annotations

import typer
from rich.text import Text

from woold.case.file import read_case
from woold.cli.blocks import print_blocks
from woold.cli.output import (
    CasePath,
    JsonFlag,
    PlotPath,
    Units,
    console,
    new_app,
    print_cautions,
    print_findings,
    print_json,
    table_units,
)
from woold.prediction.predict import predict
from woold.rows.wording import Wording
from woold.transport.result import TransportResult
from woold.transport.rows import transport_blocks
from woold.transport.screen import screen_transport
from woold.units import UnitSystem
from woold.verdict.result import Verdict
from woold.verdict.rows import verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.words import say

__all__ = ["app"]

app = new_app()


@app.command()
def transport(
    case_path: CasePath, as_json: JsonFlag = False, plot: PlotPath = None, units: Units = "both"
) -> None:
    """Screen a wrapped load for transport; ends with 1 where it does not hold."""
    case = read_case(case_path)
    prediction = predict(case)
    result = screen_transport(case, prediction)
    verdict = verdict_of(case, prediction, result)
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.moved_stack import moved_stack_figure

        save_figure(moved_stack_figure(case, result, units), plot)
    if as_json:
        print_json("transport", result.to_json() | {"verdict": verdict.to_json()})
    else:
        _print_result(result, verdict, units)
    if verdict.fails:
        raise typer.Exit(1)


def _print_result(result: TransportResult, verdict: Verdict, units: UnitSystem) -> None:
    out = console()
    out.print(result.title or say("A case without a title"), style="bold", markup=False)
    out.print(Text(say(result.caution), style="italic"))
    out.print()
    text, brief = Wording(units=units), Wording(units=table_units(out, units))
    print_blocks(out, verdict_blocks(verdict, text, brief))
    print_blocks(out, transport_blocks(result, text, brief))
    print_findings(out, result.findings)
    print_cautions(out, result.cautions[1:])
