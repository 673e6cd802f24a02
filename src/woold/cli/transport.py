"""`woold transport`: does the stack slide or tip under the rules that the case names."""

from __future__ import annotations

import math
from collections.abc import Iterator

import typer
from rich.padding import Padding
from rich.text import Text

from woold.case.file import read_case
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
    print_table,
    table_units,
)
from woold.prediction.predict import predict
from woold.transport.result import InterfaceResult, ProfileResult, TransportResult
from woold.transport.screen import screen_transport
from woold.units import UnitSystem, show

__all__ = ["app"]

app = new_app()


@app.command()
def transport(
    case_path: CasePath, as_json: JsonFlag = False, plot: PlotPath = None, units: Units = "both"
) -> None:
    """Screen a wrapped load for transport; ends with 1 where film does not hold it."""
    case = read_case(case_path)
    result = screen_transport(case, predict(case))
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.moved_stack import moved_stack_figure

        save_figure(moved_stack_figure(case, result, units), plot)
    if as_json:
        print_json("transport", result.to_json())
    else:
        _print_result(result, units)
    if not result.holds:
        raise typer.Exit(1)


def _print_result(result: TransportResult, units: UnitSystem) -> None:
    out = console()
    narrow = table_units(out, units)
    out.print(result.title or "A case without a title", style="bold", markup=False)
    out.print(Text(result.caution, style="italic"))
    out.print()
    for profile in result.profiles:
        verdict = "film holds it" if profile.holds else "film does not hold it"
        print_table(
            out,
            f"{profile.edition}: {profile.title}: {verdict}",
            (
                "direction",
                "accel-\neration",
                "tier over",
                "needed",
                "film gives\nat most",
                "travel",
            ),
            list(_rows(profile, narrow)),
        )
        out.print(
            Padding(
                Text(f"Source: {profile.source}. Compared with: {profile.basis}."), (0, 0, 1, 2)
            )
        )
    limits = (
        f"Limits: {show(result.slip_limit_m, 'small_length', units)} between tiers,"
        f" {show(result.lean_limit_m, 'small_length', units)} of the top while it lasts,"
        f" {show(result.kept_limit_m, 'small_length', units)} that stays. Film force after"
        f" {show(result.later_s, 'hours')}."
    )
    out.print(Text(limits))
    out.print()
    print_findings(out, result.findings)
    print_cautions(out, result.cautions[1:])


def _rows(profile: ProfileResult, units: UnitSystem) -> Iterator[tuple[str, ...]]:
    """One row for each interface that slips or tips; one for a direction without any."""
    for way in profile.ways:
        name = f"{way.direction} ({math.degrees(way.bearing_rad):.0f}°)"
        share = f"{way.acceleration_g:g} g"
        moving = [each for each in reversed(way.interfaces) if each.slips or each.tips]
        if not moving:
            yield name, share, "all", "friction holds", "", ""
        for each in moving:
            yield name, share, show(each.height_m, "length", units), *_force_cells(each, units)
            name = share = ""


def _force_cells(each: InterfaceResult, units: UnitSystem) -> tuple[str, str, str]:
    travel = "not held" if each.slip_m is None else show(each.slip_m, "small_length", units)
    words = travel if each.slips else "stays"
    return (
        show(each.restraint_needed_n, "force", units),
        show(each.restraint_limit_n, "force", units),
        f"{words}, tips" if each.tips else words,
    )
