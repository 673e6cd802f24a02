"""The report of a prediction: what one load takes and holds, why, and how sure that is."""

from __future__ import annotations

from datetime import date

from woold.case.model import Case
from woold.physics import demand, film, film_points, grip, hold, neck_down
from woold.pictures.wrapped_load import wrapped_load_figure
from woold.prediction.input_rows import input_table
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.prediction.rows import film_and_hold_blocks, time_and_roll_blocks
from woold.prediction.yearly import yearly
from woold.report.making import (
    Making,
    closing_blocks,
    finding_blocks,
    finished,
    placeholder_blocks,
)
from woold.report.model import Report
from woold.report.money_blocks import YEARLY, money_blocks
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Bullets, Figure, Heading, Paragraph
from woold.rows.wording import Wording
from woold.uncertainty.rows import RANGE_MEANING, effect_blocks
from woold.uncertainty.sensitivity import input_effects
from woold.uncertainty.spread import DRAWS, SHOWN, Quantity, Spread, prediction_spread
from woold.verdict.chance import DRAWS as VERDICT_DRAWS
from woold.verdict.chance import sureness
from woold.verdict.parts import asking_fields
from woold.verdict.result import Sureness
from woold.verdict.rows import verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.words import to_say

__all__ = ["prediction_report", "prediction_sources", "spread_of", "sureness_of"]

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
    verdict = verdict_of(case, p, sure=sureness_of(case, draws))
    blocks: list[Block] = [*verdict_blocks(verdict, say, say), Paragraph(_answer(p, spread, say))]
    if spread.law_shares:
        blocks.append(Paragraph(_law_text(spread, say)))
    blocks += [Paragraph(case.notes)] if case.notes else []
    blocks += finding_blocks(p.findings, say)
    blocks += [
        Heading(say("Result")),
        *film_and_hold_blocks(p, say, spread=known),
    ]
    if with_figures:
        svg = figure_svg(wrapped_load_figure(case, p, say.units), "wrapped-load", say)
        blocks.append(
            Figure(
                svg,
                say(
                    "The load's side unrolled over one turn, with the layers of film on it,"
                    " and the containment force over its height."
                ),
                _picture_text(case, p, say),
            )
        )
    blocks += [
        *time_and_roll_blocks(case, p, say, spread=known),
        *money_blocks(case, known, since, say),
        Heading(say("What each input changes")),
        *effect_blocks(input_effects(case), say, most=_MOST_EFFECTS),
        *placeholder_blocks(p.rests_on, say),
        Heading(say("Method and assumptions")),
        Bullets(tuple(say(key) for key in _method(case))),
        Paragraph(_spread_text(spread, say)),
        Heading(say("Appendix: every input")),
        input_table(case, say("Inputs and where they are from"), say),
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

    def of_year(name: str) -> Quantity:
        return lambda drawn, prediction: getattr(
            yearly(drawn, prediction.film_mass_kg, since), name
        )

    quantities = {**SHOWN, **{f"yearly.{name}": of_year(name) for name in YEARLY}}
    return prediction_spread(case, quantities, draws)


def prediction_sources(case: Case) -> list[tuple[str, object]]:
    """Sources that the prediction of this case used, by key of the catalogue."""
    used: list[tuple[str, object]] = [
        (
            (to_say("film's curve through test points"), film_points.PointsCurve)
            if case.film.test_elongations is not None
            else (to_say("film's curve"), film.true_stress)
        ),
        (to_say("grip of the rollers"), grip.grip_limit),
        (to_say("film demand"), demand.demand_range),
        (to_say("loss of force with time"), film.force_loss_per_decade),
    ]
    if not case.width_is_measured:
        used.insert(1, (to_say("neck-down"), neck_down.width_loss_factor))
    if case.load.diameter is None:
        used.append((to_say("pull-plate reading"), hold.pull_factor))
    return used


def _method(case: Case) -> tuple[str, ...]:
    width = (
        to_say("The film's width on the load was measured and is taken as it is.")
        if case.width_is_measured
        else to_say(
            "The film's width on the load follows from the gap between the rollers, the arc of the"
            " slow roller on which film is drawn already, and the stretch, by a law fitted to"
            " two-dimensional computations of film that hardens. The true law of film is not"
            " known: its error is drawn along, twice as wide to the narrow side."
        )
    )
    return (
        to_say(
            "The film is followed from roll to load: it is stretched between the slow and the"
            " fast roller as far as gears and grip deliver, and springs back to the force to"
            " load."
        ),
        width,
        to_say(
            "A turn takes as much film as the load's outline is long; corners that poke out"
            " are bridged."
        ),
        to_say(
            "Layers are counted exactly from the path of the film's lower edge. The least"
            " containment is over a patch that a hand can feel; the table over the height gives"
            " the least single point round the load."
        ),
        to_say(
            "The containment force is the sum of the forces of all layers at a height. Film"
            " loses force with time; the loss is fitted to two published points, so it carries"
            " a range."
        ),
        to_say(
            "Film's moduli are those at 23 degC. Colder film pulls harder, warmer film less, by a"
            " share that is a placeholder (polyethylene's yield stress falls evenly towards its"
            " melting point); the loss of force is that of the hold's temperature, measured at"
            " 23 and 38 degC. Speed of drawing is left out."
        ),
        to_say("The load is taken as rigid: film laid later does not slacken film below it.")
        if case.load.hoop_stiffness is None
        else to_say(
            "Each new layer presses the load in and slackens those below, as springs do (an"
            " estimate, good to half of the film's own strain)."
        ),
        to_say("Not in it: film that sticks, tears or is folded, and loads that lean or shrink."),
    )


def sureness_of(case: Case, draws: int) -> Sureness | None:
    """How sure the verdict is; None where nothing is asked.

    Args:
        case: the case.
        draws: at most so many.
    """
    if not asking_fields(case):
        return None
    return sureness(case, min(draws, VERDICT_DRAWS))


def _answer(p: Prediction, spread: Spread, say: Wording) -> str:
    mass, force = spread.estimates["film_mass_kg"], spread.estimates["containment_later_min_n"]
    return say(
        "One load takes {mass} of film (90 % range {mass_range}) in {cycle}. {time} after"
        " wrapping, film holds it with at least {force} wherever a hand can feel (range"
        " {force_range}).",
        mass=say.amount(mass.value, "small_mass"),
        mass_range=say.span(mass.low, mass.high, "small_mass"),
        force=say.amount(force.value, "force"),
        force_range=say.span(force.low, force.high, "force"),
        time=say.amount(p.later_s, "hours"),
        cycle=say.amount(p.cycle_time_s, "time"),
    )


def _picture_text(case: Case, p: Prediction, say: Wording) -> str:
    return say(
        "Two drawings. Left: the side of a load {height} high, unrolled; shades show {least}"
        " layers at the least and {mean} on average. Right: the containment force over the"
        " height, {force} where it is least and {most} where it is most. The table below gives"
        " the same numbers.",
        height=say.amount(case.load.height, "length"),
        least=say.number(p.layers_min, 2),
        mean=say.fixed(p.layers_mean, 1),
        force=say.amount(p.containment_min_n, "force"),
        most=say.amount(max(each.force_n for each in p.containment_profile), "force"),
    )


def _spread_text(spread: Spread, say: Wording) -> str:
    if not spread.varied:
        return say(
            "No input of this case states a range, so no interval can be given: every number"
            " is as certain as its inputs."
        )
    text = say(
        "A 90 % range is the middle of {draws} predictions (seed {seed}) in which every input"
        " with a known range varied over it, independently: {inputs}.",
        draws=spread.draws,
        seed=spread.seed,
        inputs=", ".join(spread.varied),
    )
    return f"{text} {say(RANGE_MEANING)}"


def _law_text(spread: Spread, say: Wording) -> str:
    """How much of the ranges is the law of neck-down, and how much the inputs."""
    shares = spread.law_shares
    return say(
        "Of what is open (its variance) the law of neck-down makes {width} for the width on the"
        " load, {mass} for the film and {force} for the containment force; the inputs make the"
        " rest. One measured width takes the law's part away.",
        width=say.amount(shares.get("film_width_on_load_m", 0.0), "fraction"),
        mass=say.amount(shares.get("film_mass_kg", 0.0), "fraction"),
        force=say.amount(shares.get("containment_later_min_n", 0.0), "fraction"),
    )
