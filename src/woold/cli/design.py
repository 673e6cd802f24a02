"""`woold design`: the least film that holds, as a setting list with its proof."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import typer
from rich.console import Console
from rich.text import Text

from woold.carriages.match import read_shelf
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
    print_rows,
    print_table,
    table_units,
)
from woold.design.report import Goal
from woold.design.result import DesignResult, ProgramResult
from woold.design.settings import SETTING_NAMES, changed_settings, settings_text
from woold.design.study import design_program
from woold.units import UnitSystem, parse_quantity, show
from woold.words import say

__all__ = ["app"]

app = new_app()

_GOALS: dict[str, str] = {
    "film": "least film",
    "cost": "least cost of film and machine time",
    "time": "shortest cycle",
    "containment": "most containment at the film of today",
}


@app.command()
def design(
    case_path: CasePath,
    goal: Annotated[
        Goal, typer.Option("--goal", help="Least film, cost or time; or most containment.")
    ] = "film",
    shelf: Annotated[
        str | None, typer.Option("--shelf", metavar="FILE", help="Films to choose from as well.")
    ] = None,
    baseline: Annotated[
        str | None,
        typer.Option(
            "--baseline", metavar="CASE", help="For containment: case whose film may be used."
        ),
    ] = None,
    profiled: Annotated[
        bool, typer.Option("--profiled", help="Let the rise vary with height as well.")
    ] = False,
    front: Annotated[
        bool, typer.Option("--front", help="Show the front of film, containment and time.")
    ] = False,
    probability: Annotated[
        str | None,
        typer.Option(
            "--probability", metavar="SHARE", help='Hold this often over all ranges: "95 %".'
        ),
    ] = None,
    as_json: JsonFlag = False,
    plot: PlotPath = None,
    units: Units = "both",
) -> None:
    """Find the least film that holds; ends with 1 where nothing holds within the limits."""
    case = read_case(case_path)
    films = read_shelf(shelf).films if shelf else ()
    other = read_case(baseline) if baseline else None
    share = None if probability is None else _share(probability)
    screen = Console(stderr=True)
    with screen.status("", spinner="line") as status:
        result = design_program(
            case,
            films,
            goal,
            baseline=other,
            profiled=profiled,
            front=front or plot is not None,
            probability=share,
            progress=lambda what: status.update(f"{what} ..."),
        )
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.design_front import design_front_figure

        save_figure(design_front_figure(result, units), plot)
    if as_json:
        print_json("design", result.to_json())
    else:
        _print_result(result, units)
    if not result.possible:
        raise typer.Exit(1)


def _share(text: str) -> float:
    share = parse_quantity(text, "fraction", "--probability")
    if not 0.5 <= share <= 0.99:
        from woold.errors import InputError

        raise InputError.one("--probability", text, say("50 % to 99 %"))
    return share


def _print_result(result: DesignResult, units: UnitSystem) -> None:
    out = console()
    narrow = table_units(out, units)
    out.print(result.title or "A case without a title", style="bold", markup=False)
    out.print(Text(result.cautions[0], style="italic"))
    out.print()
    chosen = result.chosen
    if chosen is None or not result.possible:
        _print_obstacles(result)
    if chosen is not None:
        print_table(
            out,
            f"Settings for {_GOALS[result.objective]}",
            ("setting", "today", "new", ""),
            [
                (
                    SETTING_NAMES[name],
                    settings_text(result.today.settings, name, narrow),
                    settings_text(chosen.settings, name, narrow),
                    "change" if name in result.changed else "",
                )
                for name in SETTING_NAMES
            ],
        )
        print_table(
            out,
            "What they do",
            ("", "today", "new"),
            [
                (name, then, now)
                for (name, then), (_, now) in zip(
                    _program_rows(result.today, narrow, result),
                    _program_rows(chosen, narrow, result),
                    strict=True,
                )
            ],
        )
        if result.dancer_spring is not None and result.dancer_hole_m is not None:
            hole = show(result.dancer_hole_m, "small_length", units)
            out.print(f"Dancer: spring {result.dancer_spring} in the hole at {hole}.", markup=False)
            out.print()
    _print_targets(result, narrow)
    if chosen is not None:
        _print_proof(result, units)
    _print_changes(result, narrow)
    _print_profiled(result, units)
    _print_front(result, narrow)
    print_findings(out, result.findings)
    print_cautions(out, result.cautions[1:])


def _program_rows(
    program: ProgramResult, units: UnitSystem, result: DesignResult
) -> Iterator[tuple[str, str]]:
    yield "film per load", show(program.film_mass_kg, "small_mass", units)
    if result.today.cost is not None:
        cost = "no price" if program.cost is None else f"{program.cost:.3f} {result.currency}"
        yield "film and machine time", cost
    yield "cycle time", show(program.cycle_time_s, "time", units)
    yield "turns", f"{program.turns:.1f}"
    yield "layers at least", f"{program.layers_min:.0f}"
    yield "containment, least", show(program.containment_later_min_n, "force", units)
    if program.corner_force_max_n_per_m is not None:
        yield (
            "force on a corner, most",
            show(program.corner_force_max_n_per_m, "tension_per_width", units),
        )
    yield "peak tension over drawing force", f"{program.tension_peak_share:.0%}"
    verdict = "yes" if program.holds else "no"
    yield "held of what is asked", f"{verdict}, {program.share_of_targets:.0%}"


def _print_targets(result: DesignResult, units: UnitSystem) -> None:
    out = console()
    heading = "What must be held"
    if result.as_today:
        heading += " (nothing is asked for in the case: as much as today's program holds)"
    if result.targets:
        print_table(
            out,
            heading,
            ("zone above the deck", "asked", "today", "new"),
            [
                (
                    f"{show(each.low_m, 'length', units)} to {show(each.high_m, 'length', units)}",
                    show(each.asked_n, "force", units),
                    show(each.held_today_n, "force", units),
                    "-" if each.held_n is None else show(each.held_n, "force", units),
                )
                for each in result.targets
            ],
        )
    if result.transport_profiles:
        out.print(f"And every tier under {', '.join(result.transport_profiles)}.", markup=False)
        out.print()


def _print_proof(result: DesignResult, units: UnitSystem) -> None:
    out = console()
    rows = []
    if result.film_saved is not None and result.film_saved_per_year_kg is not None:
        verb = "less" if result.film_saved >= 0.0 else "more"
        rows.append(
            (
                f"film, {verb} than today",
                f"{abs(result.film_saved):.1%} a load,"
                f" {show(abs(result.film_saved_per_year_kg), 'mass', units)} a year",
            )
        )
    if result.film_bound_kg is not None and result.gap is not None:
        rows.append(
            (
                "no program of any kind, at one force, needs less than",
                f"{show(result.film_bound_kg, 'small_mass', units)}"
                f" ({result.turns_bound:.0f} bands of film); this one is {result.gap:.1%} above",
            )
        )
    rows.append(
        (
            "programs dealt with",
            f"{result.programs_evaluated + result.programs_pruned:,} in"
            f" {result.search_time_s:.1f} s, {result.programs_pruned:,} of them by a bound or a"
            " limit",
        )
    )
    print_rows(out, "How good it is", rows)
    if result.robustness is not None:
        found = result.robustness
        print_rows(
            out,
            f"How often it holds, of {found.draws} draws of what is known only within a range",
            [
                ("today's program", f"{found.today:.0%}"),
                (
                    "the best one at the best guess",
                    f"{found.plain:.0%}, {show(found.plain_film_mass_kg, 'small_mass', units)}",
                ),
                (
                    "this one",
                    f"{found.chosen:.0%} (95 % interval {found.chosen_low:.0%} to"
                    f" {found.chosen_high:.0%}), asked for {found.asked:.0%}",
                ),
                ("varied", ", ".join(found.varied)),
            ],
        )
    if result.binding:
        print_rows(out, "What binds", [(each.field, each.message) for each in result.binding])


def _print_obstacles(result: DesignResult) -> None:
    out = console()
    if result.robustness is not None:
        out.print(
            f"No program was found that holds in {result.robustness.asked:.0%} of the draws; the"
            " best one at the best guess is shown.",
            style="bold",
        )
        out.print()
    if result.obstacles:
        print_rows(
            out,
            "Nothing holds within the limits. What stands in the way:",
            [(each.field, each.message) for each in result.obstacles],
        )


def _print_changes(result: DesignResult, units: UnitSystem) -> None:
    if not result.fewer_changes:
        return
    print_table(
        console(),
        "With fewer changes",
        ("changes", "what to set", "film", "cycle", "saved"),
        [
            (
                str(step.changes),
                "; ".join(
                    f"{SETTING_NAMES[name]} {settings_text(step.program.settings, name, 'si')}"
                    for name in step.changed
                ),
                show(step.program.film_mass_kg, "small_mass", units),
                show(step.program.cycle_time_s, "time", units),
                f"{step.film_saved:.1%}",
            )
            for step in result.fewer_changes
        ],
    )


def _print_profiled(result: DesignResult, units: UnitSystem) -> None:
    if result.profiled is None or result.chosen is None:
        return
    found = result.profiled
    names = changed_settings(result.chosen.settings, found.program.settings)
    print_rows(
        console(),
        "If the rise may vary with height: travel fast, wait where layers are lacking",
        [
            *(
                (SETTING_NAMES[name], settings_text(found.program.settings, name, units))
                for name in names
            ),
            ("film per load", show(found.program.film_mass_kg, "small_mass", units)),
            ("saves over one rise", f"{found.film_saved:.1%}"),
            ("cycle time", show(found.program.cycle_time_s, "time", units)),
            (
                "no program with these ends and this travel needs less than",
                f"{show(found.film_bound_kg, 'small_mass', units)}; this one is {found.gap:.1%}"
                " above",
            ),
        ],
    )


def _print_front(result: DesignResult, units: UnitSystem) -> None:
    if not result.front:
        return
    print_table(
        console(),
        "Front of film, containment and time: no program beats these in all three",
        ("film", "containment\nleast", "of the\ntargets", "cycle", "force", "rise", "fall"),
        [
            (
                show(point.film_mass_kg, "small_mass", units),
                show(point.containment_later_min_n, "force", units),
                f"{point.share_of_targets:.0%}",
                show(point.cycle_time_s, "time", units),
                settings_text(point.settings, "force_to_load_n", units),
                settings_text(point.settings, "rise_per_turn_m", units),
                settings_text(point.settings, "fall_per_turn_m", units),
            )
            for point in result.front
        ],
    )
