"""The report of a design: the settings that hold with the least film, and the proof of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from woold.carriages.match import ShelfFilm
from woold.case.model import Case
from woold.design.alternative_rows import alternative_blocks
from woold.design.costs import Costs
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
        " between the steps around the best, to {force} and {length}. The chosen one"
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
            "Scatter of the programs that no other beats in film, hold and time at once"
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
        blocks += saving_blocks(case, saved["mass"], since, say, cost_per_load=saved.get("film"))
        blocks += _worth_blocks(case, saved, say)
    blocks += [
        *placeholder_blocks(rests_on(case), say),
        Heading(say("Method and assumptions")),
        Bullets(
            tuple(
                say(key, force=say.amount(0.1, "force"), length=say.amount(1e-4, "small_length"))
                for key in _METHOD
            )
        ),
        Heading(say("Appendix: every input")),
        input_table(case, say("Inputs and where they are from"), say),
        *closing_blocks(making, _sources(case, result), result.cautions),
    ]
    return finished("design", case.title, blocks, making)


def _saved_per_load(
    case: Case, shelf: Sequence[ShelfFilm], chosen: ProgramResult, draws: int
) -> dict[str, Estimate]:
    """Film [kg] and each part of the cost that is saved on a load, and the cost in all.

    Over the ranges of the case's inputs, each film at its own price; without prices film alone.
    """
    other = next((each for each in shelf if each.name == chosen.settings.film), None)
    priced = other or case.film
    before, after = case.film.price, priced.price
    last: list[tuple[Case, dict[str, float]]] = []

    def saved(drawn: Case, today: Prediction) -> dict[str, float]:
        if not last or last[0][0] is not drawn:
            film = other or drawn.film
            new = predict(with_settings(drawn, film, chosen.settings))
            costs = Costs(drawn, (drawn.film, film), today.turns)
            parts = [
                costs.parts(place, each.film_mass_kg, each.cycle_time_s, each.turns)
                for place, each in enumerate((today, new))
            ]
            found = {"mass": today.film_mass_kg - new.film_mass_kg}
            if parts[0] is not None and parts[1] is not None:
                names = ("film", "machine_time", "roll_changes", "breaks", "total")
                found |= {name: getattr(parts[0], name) - getattr(parts[1], name) for name in names}
            elif before is not None and after is not None:
                found["film"] = before.amount * today.film_mass_kg
                found["film"] -= after.amount * new.film_mass_kg
            last[:] = [(drawn, found)]
        return last[0][1]

    names = ["mass"]
    if before is not None and after is not None and before.currency == after.currency:
        names.append("film")
        if case.plant.standstill_price is not None:
            names += ["machine_time", "roll_changes", "breaks", "total"]
    quantities: dict[str, Quantity] = {name: _of_name(saved, name) for name in names}
    return dict(prediction_spread(case, quantities, draws).estimates)


def _of_name(saved: Callable[[Case, Prediction], dict[str, float]], name: str) -> Quantity:
    return lambda drawn, today: saved(drawn, today)[name]


def _worth_blocks(case: Case, saved: dict[str, Estimate], say: Wording) -> list[Block]:
    """Machine time and standstill beside the film: less film can cost more time than it saves."""
    names = {
        "film": to_say("film, each at its own price"),
        "machine_time": to_say("machine time"),
        "roll_changes": to_say("roll changes"),
        "breaks": to_say("film breaks, as often in a turn as today"),
        "total": to_say("all together"),
    }
    if "total" not in saved:
        return [
            Paragraph(
                say(
                    "The case states no price of machine time (plant.standstill_price), or not of"
                    " every film, so a longer or shorter cycle, roll changes and breaks are not"
                    " counted."
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
    return [Table(say("Film, machine time and standstill, a year"), columns, rows)]


def _sources(case: Case, result: DesignResult) -> list[tuple[str, object]]:
    used = [*prediction_sources(case), (to_say("fewest bands"), bands.fewest_bands)]
    if result.transport_profiles:
        used.append((to_say("transport screen"), interface_friction.force_beyond_friction))
    return used
