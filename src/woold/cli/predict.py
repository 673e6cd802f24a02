"""`woold predict`: a case file becomes a prediction, as text, JSON or a picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

import typer
from rich.text import Text

from woold.case import Case
from woold.case_file import read_case
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
from woold.predict import predict
from woold.prediction import HeightPoint, Prediction
from woold.sensitivity import Effect, input_effects
from woold.units import UnitSystem, show, show_range, significant

__all__ = ["app"]

app = new_app()


@app.command()
def predict_case(
    case_path: CasePath,
    as_json: JsonFlag = False,
    plot: PlotPath = None,
    units: Units = "both",
    sensitivity: Annotated[
        bool, typer.Option("--sensitivity", help="Rank the inputs by what they change.")
    ] = False,
) -> None:
    """Film use, cover, hold and time of one wrapped load."""
    case = read_case(case_path)
    prediction = predict(case)
    effects = input_effects(case) if sensitivity else ()
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.wrapped_load import wrapped_load_figure

        save_figure(wrapped_load_figure(case, prediction, units), plot)
    if as_json:
        document = prediction.to_json()
        if sensitivity:
            document["sensitivity"] = [effect.to_json() for effect in effects]
        print_json(document)
        return
    _print_prediction(case, prediction, units)
    if sensitivity:
        _print_effects(effects, units)
    else:
        _print_placeholders(prediction, units)
    print_cautions(console(), prediction.cautions)


def _print_prediction(case: Case, p: Prediction, units: UnitSystem) -> None:
    out = console()
    narrow = table_units(out, units)
    out.print(p.title or "A case without a title", style="bold", markup=False)
    out.print()
    print_rows(out, "Film", _film_rows(p, units))
    print_table(
        out,
        "Turns",
        ("part of the program", "turns", "film length", "film mass", "time"),
        [
            (
                part.part,
                f"{part.turns:.2f}",
                show(part.film_length_m, "film_length", narrow),
                show(part.film_mass_kg, "small_mass", narrow),
                show(part.time_s, "time", units),
            )
            for part in p.parts
        ],
    )
    print_rows(out, "Cover and hold", _hold_rows(p, units))
    later = show(p.later_s, "hours")
    print_table(
        out,
        "Over the height",
        ("above the deck", "layers", "force now", f"force after {later}", "range"),
        [
            (
                show(point.height_m, "length", narrow),
                significant(point.layers_min, 2),
                show(point.force_n, "force", narrow),
                show(point.force_later_n, "force", narrow),
                show_range(point.force_later_low_n, point.force_later_high_n, "force", narrow),
            )
            for point in _steps(p.containment_profile)
        ],
    )
    print_rows(out, "Time", _time_rows(p, units))
    print_rows(out, "Rolls", _roll_rows(case, p))
    print_findings(out, p.warnings)


def _film_rows(p: Prediction, units: UnitSystem) -> Iterator[tuple[str, str]]:
    cost = "" if p.film_cost is None else f", {p.film_cost:.3f} {p.currency}"
    yield "film per load", f"{show(p.film_mass_kg, 'small_mass', units)}{cost}"
    yield "film length per load", show(p.film_length_m, "film_length", units)
    yearly = "" if p.film_cost_per_year is None else f", {p.film_cost_per_year:,.0f} {p.currency}"
    yield "film per year", f"{show(p.film_mass_per_year_kg, 'mass', units)}{yearly}"
    yield "pre-stretch set", show(p.prestretch_set, "elongation")
    yield "pre-stretch delivered", show(p.prestretch_delivered, "elongation")
    yield "stretch on the load", show(p.stretch_on_load, "elongation")
    yield "film width on the load", show(p.film_width_on_load_m, "small_length", units)
    yield "neck-down", show(p.neck_down_m, "small_length", units)
    yield (
        "film speed round a turn",
        (
            f"{show(p.film_speed_min_m_per_s, 'speed', units)} to"
            f" {show(p.film_speed_max_m_per_s, 'speed', units)}, mean"
            f" {show(p.film_speed_mean_m_per_s, 'speed', units)}"
        ),
    )


def _hold_rows(p: Prediction, units: UnitSystem) -> Iterator[tuple[str, str]]:
    width = p.film_width_on_load_m
    down = ""
    if p.overlap_down is not None:
        down = f", down {_overlap_text(p.overlap_down, width, units)}"
    yield "rise per turn", show(p.rise_per_turn_m, "small_length", units)
    if p.fall_per_turn_m is not None:
        yield "fall per turn", show(p.fall_per_turn_m, "small_length", units)
    yield "overlap", f"up {_overlap_text(p.overlap_up, width, units)}{down}"
    yield "layers", f"{significant(p.layers_min, 2)} at least, {p.layers_mean:.1f} on average"
    yield "containment force, least", show(p.containment_min_n, "force", units)
    later = show(p.later_s, "hours")
    yield (
        f"containment force after {later}, least",
        (
            f"{show(p.containment_later_min_n, 'force', units)}, range"
            f" {show_range(p.containment_later_low_n, p.containment_later_high_n, 'force', units)}"
        ),
    )
    yield "hoop tension, most", show(p.hoop_tension_max_n_per_m, "tension_per_width", units)
    if p.corner_force_max_n_per_m is not None:
        corner = show(p.corner_force_max_n_per_m, "tension_per_width", units)
        yield "force on a corner, most", corner
    if p.pull_plate_reading_n is not None:
        reading = (
            f"{show(p.pull_plate_reading_n, 'force', units)} at"
            f" {show(p.pull_plate_height_m, 'length', units)}"
        )
        note = "(a check of quality, no predictor of transit survival)"
        yield "pull-plate reading to expect", f"{reading} {note}"
    if p.film_below_deck_m:
        yield (
            "film on the pallet",
            (
                f"{show(p.film_below_deck_m, 'small_length', units)} below the deck,"
                f" {significant(p.pallet_lock_layers_min, 2)} layers,"
                f" {show(p.pallet_lock_force_n, 'force', units)}"
            ),
        )
    if p.overhang_m is not None:
        yield "overhang over the pallet", show(p.overhang_m, "small_length", units)


def _overlap_text(overlap: float, film_width: float, units: UnitSystem) -> str:
    if overlap >= 0.0:
        return show(overlap, "fraction")
    return f"none, {show(-overlap * film_width, 'small_length', units)} bare between turns"


def _time_rows(p: Prediction, units: UnitSystem) -> Iterator[tuple[str, str]]:
    yield "cycle time", show(p.cycle_time_s, "time", units)
    yield "turning at full speed", show(p.wrapping_time_s, "time", units)
    yield "speeding up, slowing down", show(p.ramp_time_s, "time", units)
    if p.pause_time_s:
        yield "pauses", show(p.pause_time_s, "time", units)
    yield "load and film handling", show(p.end_time_s, "time", units)


def _roll_rows(case: Case, p: Prediction) -> Iterator[tuple[str, str]]:
    yield "loads per roll", f"{p.loads_per_roll:.0f}"
    yield (
        "roll changes",
        (
            f"{p.roll_changes_per_shift:.1f} a shift, {p.roll_changes_per_year:,.0f} a year"
            f" (at {case.plant.loads_per_shift:g} loads a shift,"
            f" {case.plant.shifts_per_year:g} shifts)"
        ),
    )
    cost = ""
    if p.rethread_cost_per_year is not None:
        cost = f", {p.rethread_cost_per_year:,.0f} {p.currency} a year"
    yield (
        "lacing new rolls",
        (
            f"{p.rethread_time_per_shift_s / 60:.0f} min a shift,"
            f" {p.rethread_time_per_year_s / 3600:,.0f} h a year{cost}"
        ),
    )


def _steps(points: Sequence[HeightPoint]) -> list[HeightPoint]:
    """Points at which the least layers change, the lowest and the highest, from the top down."""
    kept = [points[-1]]
    for point in reversed(points[:-1]):
        if point.layers_min != kept[-1].layers_min or point is points[0]:
            kept.append(point)
    return kept


def _print_placeholders(p: Prediction, units: UnitSystem) -> None:
    out = console()
    units = table_units(out, units)
    print_table(
        out,
        f"Rests on {len(p.rests_on)} placeholders that nobody measured (--sensitivity ranks them)",
        ("input", "value", "may lie in"),
        [
            (
                each.field,
                show(each.value, each.kind, units),
                "not known"
                if each.low is None or each.high is None
                else show_range(each.low, each.high, each.kind, units),
            )
            for each in p.rests_on
        ],
    )


def _print_effects(effects: Sequence[Effect], units: UnitSystem) -> None:
    out = console()
    units = table_units(out, units)
    print_table(
        out,
        "What each input changes, alone (* nobody measured it: over its range; others by 5 %)",
        ("input", "from, to", "film mass", "containment"),
        [
            (
                effect.field + (" *" if effect.is_placeholder else ""),
                show_range(effect.low, effect.high, effect.kind, units),
                _changes(effect.film_mass_low, effect.film_mass_high),
                _changes(effect.containment_low, effect.containment_high),
            )
            for effect in effects
        ],
    )
    for effect in effects:
        if effect.refused:
            out.print(Text(f"{effect.field} could not be moved that far: {effect.refused}"))


def _changes(low: float, high: float) -> str:
    """Two changes in few letters; a dash where nothing moves."""
    if max(abs(low), abs(high)) < 5e-4:
        return "-"
    return f"{100 * low:+.1f}/{100 * high:+.1f}\N{NO-BREAK SPACE}%"
