"""The report of a design: the settings that hold with the least film, and the proof of it."""

from __future__ import annotations

from collections.abc import Sequence

from woold.carriages.match import ShelfFilm
from woold.case.model import Case
from woold.design.alternative_rows import alternative_blocks
from woold.design.result import DesignResult, ProgramResult
from woold.design.rows import (
    answer_blocks,
    answer_text,
    proof_blocks,
    settings_blocks,
    target_blocks,
)
from woold.design.settings import with_settings
from woold.physics import bands, interface_friction
from woold.pictures.design_front import design_front_figure
from woold.prediction.input_rows import input_table
from woold.prediction.predict import predict, rests_on
from woold.prediction.result import Prediction
from woold.prediction.yearly import Estimate
from woold.report.making import (
    Making,
    closing_blocks,
    finding_blocks,
    finished,
    placeholder_blocks,
)
from woold.report.model import Report
from woold.report.money_blocks import saving_blocks
from woold.report.prediction_report import prediction_sources
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Bullets, Figure, Heading, Paragraph, Table
from woold.rows.wording import Wording
from woold.uncertainty.spread import DRAWS, Quantity, prediction_spread
from woold.words import to_say

__all__ = ["design_report"]


_METHOD = (
    to_say(
        "Every program of the allowed steps is measured, or ruled out by a bound"
        " that is lower than its score; then force, rise and fall are looked at"
        " between the steps around the best, to 0.1 N and 0.1 mm. The chosen one"
        " is predicted and screened again in full."
    ),
    to_say(
        "The bound is the fewest bands of film that could cover the need at"
        " every height beside what a travelling carriage lays, whatever program"
        " lays them, with the tiers' travel shared in any way."
    ),
    to_say(
        "Transport, where asked for, is screened with rigid tiers, dry"
        " friction and film that shears: an engineering estimate."
    ),
    to_say(
        "The saving's 90 % range is over the ranges of the case's inputs, with"
        " both programs at the same draw."
    ),
)


def design_report(
    case: Case,
    result: DesignResult,
    making: Making,
    shelf: Sequence[ShelfFilm] = (),
    with_figures: bool = True,
    draws: int = DRAWS,
) -> Report:
    """The report of a design.

    Args:
        case: the case that was designed for.
        result: its design.
        making: how the report is made.
        shelf: films that could be chosen.
        with_figures: draw the front, where the design has one.
        draws: of uncertain inputs, for the saving's interval.
    """
    say, chosen = making.say, result.chosen
    blocks: list[Block] = [*answer_blocks(result, say), *finding_blocks(result.findings, say)]
    if chosen is not None:
        blocks += [Heading(say("Settings")), *settings_blocks(result, say, say)]
    blocks += [Heading(say("What must be held")), *target_blocks(result, say, say)]
    if chosen is not None:
        blocks += [Heading(say("Bound, search and limits")), *proof_blocks(result, say)]
    blocks += alternative_blocks(result, say, say)
    if with_figures and result.front:
        svg = figure_svg(design_front_figure(result, say.units), "front", say)
        alt = say(
            "Scatter of the programs that no other beats in film, containment and time at once"
            " ({count}). {answer} The table above gives the numbers.",
            count=len(result.front),
            answer=answer_text(result, say),
        )
        blocks.append(
            Figure(
                svg,
                say(
                    "Film against what is held, cycle time as shades and sizes, with today's"
                    " program, the chosen one and the bound."
                ),
                alt,
            )
        )
    if chosen is not None:
        saved = _saved_per_load(case, shelf, chosen, draws)
        since = making.made_at.date()
        blocks += saving_blocks(case, saved["film"], since, say, cost_per_load=saved.get("cost"))
        blocks += _worth_blocks(case, saved, say)
    blocks += [
        *placeholder_blocks(rests_on(case), say),
        Heading(say("Method and assumptions")),
        Bullets(tuple(say(key) for key in _METHOD)),
        Heading(say("Appendix: every input")),
        input_table(case, say("Inputs and where they are from"), say),
        *closing_blocks(making, _sources(case, result), result.cautions),
    ]
    return finished("design", case.title, blocks, making)


def _saved_per_load(
    case: Case, shelf: Sequence[ShelfFilm], chosen: ProgramResult, draws: int
) -> dict[str, Estimate]:
    """Film [kg], its cost, the cost of machine time, and both, saved on a load.

    Over the ranges of the case's inputs, each film at its own price; what has no price is left out.
    """
    other = next((each for each in shelf if each.name == chosen.settings.film), None)
    before, after = case.film.price, (other or case.film).price
    rate = case.plant.standstill_price

    def saved(drawn: Case, today: Prediction, prices: tuple[float, float], time: float) -> float:
        new = predict(with_settings(drawn, other or drawn.film, chosen.settings))
        film = prices[0] * today.film_mass_kg - prices[1] * new.film_mass_kg
        return film + time * (today.cycle_time_s - new.cycle_time_s)

    quantities: dict[str, Quantity] = {"film": lambda d, t: saved(d, t, (1.0, 1.0), 0.0)}
    if before is not None and after is not None and before.currency == after.currency:
        prices = (before.amount, after.amount)
        quantities["cost"] = lambda d, t: saved(d, t, prices, 0.0)
        if rate is not None and rate.currency == before.currency:
            quantities["both"] = lambda d, t: saved(d, t, prices, rate.amount)
    if rate is not None:
        quantities["time"] = lambda d, t: saved(d, t, (0.0, 0.0), rate.amount)
    return dict(prediction_spread(case, quantities, draws).estimates)


def _worth_blocks(case: Case, saved: dict[str, Estimate], say: Wording) -> list[Block]:
    """Machine time beside the film, since less film can cost more time than it is worth."""
    names = {
        "cost": to_say("film, each at its own price"),
        "time": to_say("machine time"),
        "both": to_say("film and machine time together"),
    }
    if "time" not in saved:
        return [
            Paragraph(
                say(
                    "The case states no price of machine time (plant.standstill_price), so a longer"
                    " or shorter cycle is not counted."
                )
            )
        ]
    loads = case.plant.loads_per_shift * case.plant.shifts_per_year
    rows = tuple(
        (
            say(names[name]),
            say.money(saved[name].value * loads, case.currency),
            say.money_span(saved[name].low * loads, saved[name].high * loads, case.currency),
        )
        for name in names
        if name in saved
    )
    columns = (say("saved"), say("a year"), say("90 % range"))
    return [Table(say("Film and machine time, a year"), columns, rows)]


def _sources(case: Case, result: DesignResult) -> list[tuple[str, object]]:
    used = [*prediction_sources(case), (to_say("fewest bands"), bands.fewest_bands)]
    if result.transport_profiles:
        used.append((to_say("transport screen"), interface_friction.force_beyond_friction))
    return used
