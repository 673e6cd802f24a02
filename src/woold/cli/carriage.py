"""`woold carriage`: one film carriage, two side by side, or a shelf of films for one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from woold.carriages.compare import compare_carriages
from woold.carriages.comparison import CarriageComparison, ComparedCarriage
from woold.carriages.match import MatchReport, match_films, read_shelf
from woold.carriages.saving import COVERAGE
from woold.carriages.study import CarriageReport, carriage_report
from woold.case.file import read_case
from woold.case.model import Case
from woold.cli.output import (
    CasePath,
    FileFirstGroup,
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
from woold.errors import InputError
from woold.prediction.film_on_load import lacing_of
from woold.uncertainty.draws import Correlations
from woold.units import UnitSystem, show
from woold.words import say

__all__ = ["app"]

app = new_app("One film carriage (CASE.toml), two side by side, or films for one.", FileFirstGroup)


@app.command("show")
def show_carriage(
    case_path: CasePath,
    as_json: JsonFlag = False,
    plot: PlotPath = None,
    units: Units = "both",
) -> None:
    """Film path, grip, delivered pre-stretch, forces and power of one carriage."""
    case = read_case(case_path)
    report = carriage_report(case)
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.carriage_drawing import carriage_figure

        save_figure(carriage_figure(report, lacing_of(case).path, units), plot)
    if as_json:
        print_json("carriage", report.to_json())
        return
    _print_report(report, units)


def _print_report(r: CarriageReport, units: UnitSystem) -> None:
    out = console()
    narrow = table_units(out, units)
    out.print(r.title or "A carriage without a title", style="bold", markup=False)
    out.print()
    print_rows(out, "Pre-stretch", _stretch_rows(r, units))
    print_rows(out, "Grip", _grip_rows(r, units))
    if r.rollers:
        print_table(
            out,
            f"Film path, {show(r.film_inside_m or 0.0, 'length', units)} of film inside",
            ("roller", "side", "contact", "film on it", "free after", "tension before, after"),
            [
                (
                    row.name,
                    row.side,
                    show(row.contact_angle_rad, "angle"),
                    show(row.film_on_it_m, "small_length", narrow),
                    show(row.free_film_after_m, "small_length", narrow),
                    f"{show(row.tension_before_n, 'force', narrow)},"
                    f" {show(row.tension_after_n, 'force', narrow)}",
                )
                for row in r.rollers
            ],
        )
    print_table(
        out,
        "Drive, losses left out (minus: the film drives the roller)",
        ("film speed", "behind the fast roller", "slow roller", "fast roller", "drive"),
        [
            (
                row.at,
                show(row.film_speed_m_per_s, "speed", narrow),
                _torque(row.torque_slow_n_m, row.power_slow_w),
                _torque(row.torque_fast_n_m, row.power_fast_w),
                show(row.power_drive_w, "power"),
            )
            for row in r.drive
        ],
    )
    print_findings(out, r.findings)
    print_cautions(out, r.cautions)


def _percent(share: float, decimals: int = 0) -> str:
    return f"{100.0 * share:.{decimals}f} %"


def _torque(torque: float | None, power: float) -> str:
    words = show(power, "power")
    return words if torque is None else f"{show(torque, 'torque', 'si')}, {words}"


def _stretch_rows(r: CarriageReport, units: UnitSystem) -> Iterator[tuple[str, str]]:
    yield "set", show(r.prestretch_set, "elongation")
    if r.prestretch_geared != r.prestretch_set:
        yield "by teeth and diameters", show(r.prestretch_geared, "elongation")
    yield (
        "delivered",
        f"{show(r.prestretch_delivered, 'elongation')}, set by the {r.prestretch_governed_by}",
    )
    yield (
        "if the grip falls a tenth short",
        show(r.prestretch_with_tenth_less_grip, "elongation"),
    )
    yield "film draws evenly above", show(r.natural_draw_stretch, "elongation")
    yield "stretch on the load", show(r.stretch_on_load, "elongation")
    yield "gap", show(r.gap_m, "small_length", units)
    yield (
        "film width on the load",
        f"{show(r.film_width_on_load_m, 'small_length', units)}, neck-down"
        f" {show(r.neck_down_m, 'small_length', units)}",
    )


def _grip_rows(r: CarriageReport, units: UnitSystem) -> Iterator[tuple[str, str]]:
    yield "force that stretches the film", show(r.drawing_force_n, "force", units)
    yield "force that the set pre-stretch asks for", show(r.geared_force_n, "force", units)
    for name, angle, limit, margin in (
        ("slow", r.contact_angle_slow_rad, r.grip_limit_slow_n, r.grip_margin_slow),
        ("fast", r.contact_angle_fast_rad, r.grip_limit_fast_n, r.grip_margin_fast),
    ):
        yield (
            f"{name} roller holds",
            f"{show(limit, 'force', units)} over {math.degrees(angle):.0f}°,"
            f" {margin:.2f} times what is asked for",
        )
    yield (
        "pre-stretch is held from",
        f"{show(r.force_to_load_min_n, 'force', units)} to the load (now"
        f" {show(r.force_to_load_n, 'force', units)}) and"
        f" {show(r.unwind_tension_min_n, 'force', units)} off the roll (now"
        f" {show(r.unwind_tension_n, 'force', units)})",
    )
    for row in r.air:
        yield (
            f"air under the film, {row.roller} roller",
            f"{show(row.air_film_m, 'roughness')} at the fastest, {_percent(row.traction_left)}"
            " of the friction left",
        )


@app.command()
def compare(
    base_path: Annotated[str, typer.Argument(metavar="BASE.toml", help="The case as it is.")],
    candidate_path: Annotated[
        str, typer.Argument(metavar="CANDIDATE.toml", help="A case with the other carriage.")
    ],
    as_json: JsonFlag = False,
    plot: PlotPath = None,
    units: Units = "both",
    draws: Annotated[
        int, typer.Option("--draws", metavar="N", help="Random draws behind the intervals.")
    ] = 10_000,
    seed: Annotated[int, typer.Option("--seed", metavar="N", help="Seed of the draws.", min=0)] = 1,
    correlate: Annotated[
        list[str] | None,
        typer.Option(
            "--correlate",
            metavar="INPUT,INPUT=R",
            help="Correlation of two inputs, -1 to 1; may be given again.",
        ),
    ] = None,
) -> None:
    """Two carriages on one load: film, turns and time, the saving by cause and how to spend it."""
    base, candidate = read_case(base_path), read_case(candidate_path)
    correlations = _correlations(correlate or [])
    comparison = _compare_with_progress(base, candidate, draws, seed, correlations)
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.carriage_drawing import comparison_figure

        paths = (lacing_of(base).path, lacing_of(candidate).path)
        save_figure(comparison_figure(comparison, paths, units), plot)
    if as_json:
        print_json("carriage-comparison", comparison.to_json())
        return
    _print_comparison(comparison, units)


def _compare_with_progress(
    base: Case, candidate: Case, draws: int, seed: int, correlations: Correlations
) -> CarriageComparison:
    """The comparison, with a bar on standard error while it draws."""
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Drawing", total=draws)
        return compare_carriages(
            base,
            candidate,
            draws,
            seed,
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
            )
        found[one, other] = value
    return found


def _print_comparison(c: CarriageComparison, units: UnitSystem) -> None:
    out = console()
    narrow = table_units(out, units)
    print_table(
        out,
        "Same load, same force to load, same overlap",
        ("", "base", "candidate"),
        _arm_rows(c.base, c.candidate, c.currency, narrow),
    )
    print_table(
        out,
        f"Film saved, of the base's; ranges hold {_percent(COVERAGE)} of {c.draws:,} draws",
        ("cause", "if changed alone", "its part", "range"),
        [
            (
                cause.cause,
                _percent(cause.alone, 1),
                _percent(cause.share, 1),
                f"{_percent(cause.interval.low, 1)} to {_percent(cause.interval.high, 1)}",
            )
            for cause in c.causes
        ],
    )
    out.print(
        Text(
            f"The candidate uses less film in {_percent(c.candidate_uses_less_share)} of the draws;"
            f" film slips in {_percent(c.slips_share_base)} of them with the base and"
            f" {_percent(c.slips_share_candidate)} with the candidate. The ranges cover inputs that"
            " are not known exactly, not the neck-down model: measure the film's width on the load."
        )
    )
    out.print()
    print_rows(out, "Two ways to spend it", _spending_rows(c, units))
    print_findings(out, c.findings)
    print_cautions(out, c.cautions)


def _arm_rows(
    base: ComparedCarriage, candidate: ComparedCarriage, currency: str, units: UnitSystem
) -> list[tuple[str, str, str]]:
    def row(name: str, key: str, kind: str) -> tuple[str, str, str]:
        ours, theirs = (show(getattr(arm, key), kind, units) for arm in (base, candidate))
        return name, ours, theirs

    rows = [
        row("pre-stretch set", "prestretch_geared", "elongation"),
        row("pre-stretch delivered", "prestretch_delivered", "elongation"),
        ("set by", base.prestretch_governed_by, candidate.prestretch_governed_by),
        row("gap", "gap_m", "small_length"),
        row("contact angle, the smaller", "contact_angle_rad", "angle"),
        row("film width on the load", "film_width_on_load_m", "small_length"),
        row("rise per turn", "rise_per_turn_m", "small_length"),
        ("turns", f"{base.turns:.1f}", f"{candidate.turns:.1f}"),
        row("film length", "film_length_m", "film_length"),
        row("film mass", "film_mass_kg", "small_mass"),
        row("cycle time", "cycle_time_s", "time"),
        row("containment force, least", "containment_min_n", "force"),
    ]
    if base.film_cost is not None and candidate.film_cost is not None:
        ours, theirs = (f"{cost:.3f} {currency}" for cost in (base.film_cost, candidate.film_cost))
        rows.insert(-2, ("film cost", ours, theirs))
    return rows


def _spending_rows(c: CarriageComparison, units: UnitSystem) -> Iterator[tuple[str, str]]:
    s = c.spending
    cost = ""
    if s.cost_saved_per_year is not None:
        cost = f", {s.cost_saved_per_year:,.0f} {c.currency}"
    yield (
        "less film, same containment",
        f"{show(s.film_saved_kg, 'small_mass', units)} a load,"
        f" {show(s.film_saved_per_year_kg, 'mass', units)} a year{cost}",
    )
    words = f"{s.extra_turns:.1f} more turns"
    if s.overlap_at_equal_film is not None and s.layers_mean_at_equal_film is not None:
        words += (
            f"; spread evenly, an overlap of {_percent(s.overlap_at_equal_film)} instead of"
            f" {_percent(c.candidate.overlap_up)} and {s.layers_mean_at_equal_film:.1f} layers"
            f" instead of {c.base.layers_mean:.1f} on average"
        )
    yield "more turns, same film", words


@app.command()
def match(
    case_path: CasePath,
    shelf_path: Annotated[
        str, typer.Argument(metavar="SHELF.toml", help="Films to choose from: [[films]] tables.")
    ],
    as_json: JsonFlag = False,
    units: Units = "both",
) -> None:
    """Which films of a shelf suit a carriage, and what limits each."""
    report = match_films(read_case(case_path), read_shelf(shelf_path))
    if as_json:
        print_json("film-match", report.to_json())
        return
    _print_matches(report, Path(shelf_path).name, units)


def _print_matches(report: MatchReport, shelf: str, units: UnitSystem) -> None:
    out = console()
    narrow = table_units(out, units)

    def margin(value: float | None) -> str:
        return "-" if value is None else f"{value:.2f}"

    print_table(
        out,
        f"{shelf} on: {report.title or 'a carriage without a title'}",
        (
            "film",
            "suits",
            "delivered",
            "margin to\nrating",
            "margin to\nbreak",
            "grip",
            "dancer",
            "per load",
        ),
        [
            (
                each.name,
                "yes" if each.fits else "no",
                show(each.prestretch_delivered, "elongation"),
                margin(each.rated_margin),
                margin(each.break_margin),
                f"{min(each.grip_margin_slow, each.grip_margin_fast):.2f}",
                {True: "yes", False: "no", None: "-"}[each.in_dancer_range],
                show(each.film_mass_kg, "small_mass", narrow),
            )
            for each in report.films
        ],
    )
    for each in report.films:
        if each.limited_by:
            out.print(Text(f"  {each.name} is limited by: {each.limited_by}"))
    for refused in report.refused:
        out.print(Text(f"  {refused.name} cannot be computed: {refused.reason}"))
    out.print(
        Text(
            "Margins are stretch ratios over the one asked for, grip the force held over the one"
            " asked for: below 1 is too little. Dancer: whether some spring in some hole holds the"
            " force to load. A dash is not known."
        )
    )
    out.print()
    print_cautions(out, report.cautions)
