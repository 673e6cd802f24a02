"""The report of a prediction: what one load takes and holds, why, and how sure that is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from woold.case.model import Case
from woold.physics import demand, film, grip, hold, stretch
from woold.pictures.wrapped_load import wrapped_load_figure
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.prediction.yearly import yearly
from woold.report.making import (
    Making,
    closing_blocks,
    finding_blocks,
    finished,
    input_table,
    placeholder_blocks,
)
from woold.report.model import Block, Bullets, Facts, Figure, Heading, Paragraph, Report, Table
from woold.report.money_blocks import YEARLY, money_blocks
from woold.report.prediction_rows import (
    film_rows,
    height_columns,
    height_rows,
    hold_rows,
    part_columns,
    part_rows,
    roll_rows,
    time_rows,
)
from woold.report.svg import figure_svg
from woold.report.voice import Voice
from woold.uncertainty.sensitivity import Effect, input_effects
from woold.uncertainty.spread import DRAWS, Spread, prediction_spread

__all__ = ["prediction_report", "prediction_sources", "spread_of"]

_VARIED = (
    "film_mass_kg",
    "film_length_m",
    "prestretch_delivered",
    "stretch_on_load",
    "film_width_on_load_m",
    "containment_min_n",
    "containment_later_min_n",
    "pull_plate_reading_n",
    "cycle_time_s",
)
"""Numbers of a prediction that are shown with an interval."""

_MOST_EFFECTS = 12


def prediction_report(
    case: Case, making: Making, with_figures: bool = True, draws: int = DRAWS
) -> Report:
    """The whole report of a case's prediction.

    Args:
        case: a checked case.
        making: how the report is made.
        with_figures: draw the wrapped load.
        draws: of uncertain inputs, for the intervals.

    Raises:
        WooldError: the case cannot be predicted.
    """
    say = making.say
    p = predict(case)
    since = making.made_at.date()
    spread = spread_of(case, since, draws)
    known = spread.estimates
    blocks: list[Block] = [Paragraph(_answer(p, spread, say), is_strong=True)]
    blocks += [Paragraph(case.notes)] if case.notes else []
    blocks += finding_blocks(p.warnings, say)
    blocks += [
        Heading(say("result.heading")),
        Facts(say("film.heading"), tuple(film_rows(p, say, known))),
        Table(say("parts.heading"), part_columns(say), part_rows(p, say)),
        Facts(say("hold.heading"), tuple(hold_rows(p, say, known))),
    ]
    if with_figures:
        svg = figure_svg(wrapped_load_figure(case, p, say.units), "wrapped-load", say)
        blocks.append(Figure(svg, say("picture.wrapped_load"), _picture_text(case, p, say)))
    blocks += [
        Table(say("height.heading"), height_columns(p, say), height_rows(p, say)),
        Facts(say("time.heading"), tuple(time_rows(p, say, known))),
        Facts(say("rolls.heading"), tuple(roll_rows(case, p, say))),
        *money_blocks(case, known, since, say),
        Heading(say("effects.heading")),
        Paragraph(say("effects.says")),
        _effect_table(input_effects(case), say),
        *placeholder_blocks(p.rests_on, say),
        Heading(say("method.heading")),
        Bullets(tuple(say(f"method.{key}") for key in _method(case))),
        Paragraph(_spread_text(spread, say)),
        Heading(say("appendix.heading")),
        input_table(case, say("appendix.inputs"), say),
        *closing_blocks(making, prediction_sources(case), p.cautions),
    ]
    return finished("prediction", case.title, blocks, making)


def spread_of(case: Case, since: date, draws: int = DRAWS) -> Spread:
    """Intervals of what a report of this case shows, a year's money among it.

    Args:
        case: a case that can be predicted.
        since: first day of the twelve months that a tax is added up over.
        draws: of uncertain inputs.
    """

    def of_prediction(name: str) -> Callable[[Case, Prediction], float | None]:
        return lambda _, prediction: getattr(prediction, name)

    def of_year(name: str) -> Callable[[Case, Prediction], float | None]:
        return lambda drawn, prediction: getattr(
            yearly(drawn, prediction.film_mass_kg, since), name
        )

    quantities = {name: of_prediction(name) for name in _VARIED}
    quantities |= {f"yearly.{name}": of_year(name) for name in YEARLY}
    return prediction_spread(case, quantities, draws)


def prediction_sources(case: Case) -> list[tuple[str, object]]:
    """Sources that the prediction of this case used, by key of the catalogue."""
    carriage = case.carriage
    used: list[tuple[str, object]] = [
        (
            ("source.film_points", film.PointsCurve)
            if case.film.test_elongations is not None
            else ("source.film_curve", film.true_stress)
        ),
        ("source.grip", grip.grip_limit),
        ("source.demand", demand.demand_range),
        ("source.force_loss", film.force_loss_per_decade),
    ]
    if carriage.film_width_on_load is None and carriage.neck_down is None:
        used.insert(1, ("source.neck_down", stretch.film_width_after_gap))
    if case.load.diameter is None:
        used.append(("source.pull_plate", hold.pull_factor))
    return used


def _method(case: Case) -> tuple[str, ...]:
    carriage = case.carriage
    is_measured = carriage.film_width_on_load is not None or carriage.neck_down is not None
    width = "width_measured" if is_measured else "width"
    return ("film", width, "demand", "pattern", "hold", "limits")


def _answer(p: Prediction, spread: Spread, say: Voice) -> str:
    mass, force = spread.estimates["film_mass_kg"], spread.estimates["containment_later_min_n"]
    return say(
        "result.answer",
        mass=say.amount(mass.value, "small_mass"),
        mass_range=say.span(mass.low, mass.high, "small_mass"),
        force=say.amount(force.value, "force"),
        force_range=say.span(force.low, force.high, "force"),
        time=say.amount(p.later_s, "hours"),
        cycle=say.amount(p.cycle_time_s, "time"),
    )


def _picture_text(case: Case, p: Prediction, say: Voice) -> str:
    return say(
        "picture.wrapped_load_alt",
        height=say.amount(case.load.height, "length"),
        least=say.number(p.layers_min, 2),
        mean=say.fixed(p.layers_mean, 1),
        force=say.amount(p.containment_min_n, "force"),
        most=say.amount(max(each.force_n for each in p.containment_profile), "force"),
    )


def _effect_table(effects: tuple[Effect, ...], say: Voice) -> Table:
    rows = tuple(
        (
            effect.field,
            say.span(effect.low, effect.high, effect.kind),
            say("word.yes" if effect.is_placeholder else "word.no"),
            _changes(effect.film_mass_low, effect.film_mass_high, say),
            _changes(effect.containment_low, effect.containment_high, say),
        )
        for effect in effects[:_MOST_EFFECTS]
    )
    columns = ("input", "range", "placeholder", "film_mass", "containment")
    heads = tuple(say(f"effects.{name}") for name in columns)
    return Table(say("effects.caption"), heads, rows, words=(0, 2), is_small=True)


def _changes(low: float, high: float, say: Voice) -> str:
    if max(abs(low), abs(high)) < 5e-4:
        return "0"
    signs = [f"{'+' if each > 0 else ''}{say.percent(each)}" for each in (low, high)]
    return say("effects.change", low=signs[0], high=signs[1])


def _spread_text(spread: Spread, say: Voice) -> str:
    if not spread.varied:
        return say("method.no_spread")
    return say(
        "method.spread", draws=spread.draws, seed=spread.seed, inputs=", ".join(spread.varied)
    )
