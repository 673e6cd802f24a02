"""`woold predict`: a case file becomes a prediction, as text, JSON or a picture."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import typer
from rich.text import Text

from woold.case.file import read_case
from woold.case.model import Case
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
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.prediction.rows import (
    film_rows,
    height_columns,
    height_rows,
    hold_rows,
    part_columns,
    part_rows,
    roll_rows,
    time_rows,
)
from woold.rows.wording import Wording
from woold.uncertainty.sensitivity import Effect, input_effects
from woold.units import UnitSystem, show, show_range

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
        print_json("prediction", document)
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
    say, brief = Wording(units=units), Wording(units=narrow)
    print_rows(out, say("Film"), film_rows(p, say))
    print_table(out, say("Turns"), part_columns(say), part_rows(p, brief))
    print_rows(out, say("Cover and hold"), hold_rows(p, say))
    print_table(out, say("Over the height"), height_columns(p, say), height_rows(p, brief))
    print_rows(out, say("Time"), time_rows(p, say))
    print_rows(out, say("Rolls"), roll_rows(case, p, say))
    print_findings(out, p.findings)


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
