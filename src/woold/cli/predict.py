"""`woold predict`: a case file becomes a prediction, as text, JSON or a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from woold.case.file import read_case
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
from woold.prediction.machine_rows import machine_blocks
from woold.prediction.placeholder_rows import placeholder_rows
from woold.prediction.predict import predict
from woold.prediction.rows import (
    NO_SPREAD,
    Estimates,
    film_and_hold_blocks,
    key_rows,
    time_and_roll_blocks,
)
from woold.rows.blocks import Facts
from woold.rows.wording import Wording
from woold.verdict.rows import verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from woold.case.model import Case
    from woold.prediction.result import Prediction
    from woold.uncertainty.sensitivity import Effect
    from woold.uncertainty.spread import Spread
    from woold.units import UnitSystem
    from woold.verdict.result import Sureness, Verdict

__all__ = ["app"]

app = new_app()


@dataclass(frozen=True, slots=True)
class AskedOfPrediction:
    """What is asked beyond the prediction."""

    sensitivity: Annotated[
        bool, typer.Option("--sensitivity", help="Rank the inputs by what they change.")
    ] = False
    ranges: Annotated[
        bool, typer.Option("--ranges", help="90 % ranges, by random draws; takes a second or two.")
    ] = False
    everything: Annotated[
        bool, typer.Option("--all", help="Every number, and what it rests on.")
    ] = False
    sure: Annotated[
        bool, typer.Option("--sure", help="Say how sure the verdict is, by random draws.")
    ] = False


@app.command()
@grouped_options
def predict_case(
    case_path: CasePath,
    asked: AskedOfPrediction,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    units: Units = "both",
) -> None:
    """Film use, cover, hold and time of one load; ends with 1 where it does not hold."""
    case = read_case(case_path, as_typed or ())
    prediction = predict(case)
    verdict = verdict_of(case, prediction, sure=_sureness(case) if asked.sure else None)
    spread = _spread(case) if asked.ranges else None
    effects: Sequence[Effect] = ()
    if asked.sensitivity:
        from woold.uncertainty.sensitivity import input_effects

        effects = input_effects(case)

    def figure() -> Figure:
        from woold.pictures.wrapped_load import wrapped_load_figure

        return wrapped_load_figure(case, prediction, units)

    picture.save(figure)
    if as_json:
        from woold.cli.documents import PredictionDocument

        ends = {} if spread is None else spread.estimates
        document = PredictionDocument.with_more(
            prediction,
            verdict=verdict,
            sensitivity=effects if asked.sensitivity else None,
            ranges=None if spread is None else {key: (e.low, e.high) for key, e in ends.items()},
            law_shares=None if spread is None else spread.law_shares,
        )
        print_json(document)
    else:
        known = NO_SPREAD if spread is None else spread.estimates
        told = (prediction, known)
        if asked.everything or asked.ranges:
            _print_all(case, told, verdict, effects, units)
        else:
            _print_shortly(prediction, verdict, effects, units)
    if verdict.fails:
        raise typer.Exit(1)


def _sureness(case: Case) -> Sureness | None:
    """How sure the verdict is, with a bar on standard error while it draws."""
    from rich.console import Console
    from rich.progress import Progress

    from woold.verdict.chance import DRAWS, sureness
    from woold.verdict.parts import asking_fields

    if not asking_fields(case):
        return None
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(say("Drawing"), total=DRAWS)
        return sureness(case, progress=lambda done: bar.update(task, completed=done))


def _spread(case: Case) -> Spread:
    from woold.uncertainty.spread import SHOWN, prediction_spread

    return prediction_spread(case, SHOWN)


def _print_shortly(
    prediction: Prediction, verdict: Verdict, effects: Sequence[Effect], units: UnitSystem
) -> None:
    """What fits a screen: the verdict, what must be known, the numbers to read first."""
    out = console()
    text, brief = Wording(units=units), Wording(units=table_units(out, units))
    out.print(prediction.title or say("A case without a title"), style="bold", markup=False)
    out.print()
    print_blocks(out, verdict_blocks(verdict, text, brief))
    print_findings(out, prediction.findings)
    print_blocks(out, [Facts(say("At a glance"), tuple(key_rows(prediction, text)))])
    if effects:
        from woold.uncertainty.rows import effect_blocks

        print_blocks(out, effect_blocks(effects, text, brief))
    print_cautions(out, prediction.cautions)
    count = len(prediction.rests_on)
    rests = say("Values measured by nobody here: {count}.", count=count) if count else ""
    more = say("--all shows every number, --sensitivity what to measure first.")
    out.print(Text(f"{rests} {more}".strip()))


def _print_all(
    case: Case,
    predicted: tuple[Prediction, Estimates],
    verdict: Verdict,
    effects: Sequence[Effect],
    units: UnitSystem,
) -> None:
    prediction, spread = predicted
    out = console()
    text, brief = Wording(units=units), Wording(units=table_units(out, units))
    out.print(prediction.title or say("A case without a title"), style="bold", markup=False)
    out.print()
    print_blocks(out, verdict_blocks(verdict, text, brief))
    print_findings(out, prediction.findings)
    print_blocks(out, film_and_hold_blocks(prediction, text, brief, spread))
    print_blocks(out, time_and_roll_blocks(case, prediction, text, brief, spread))
    print_blocks(out, machine_blocks(case))
    if effects:
        from woold.uncertainty.rows import effect_blocks

        print_blocks(out, effect_blocks(effects, text, brief))
    else:
        print_blocks(out, placeholder_rows(prediction.rests_on, text, brief))
        out.print(
            Text(say("--sensitivity says what to measure first, --ranges how far it is off."))
        )
        out.print()
    print_cautions(out, prediction.cautions)
