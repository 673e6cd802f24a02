"""The report of a design: the settings that hold with the least film, and the proof of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from woold.carriages.match import ShelfFilm
from woold.case.model import Case
from woold.design.result import DesignResult, ProgramResult
from woold.design.settings import SETTING_NAMES, settings_text, with_settings
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
from woold.rows.blocks import Block, Bullets, Facts, Figure, Heading, Note, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.uncertainty.spread import DRAWS, Quantity, prediction_spread
from woold.words import to_say

__all__ = ["design_report"]


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
    blocks: list[Block] = [Paragraph(_answer(result, say), is_strong=True)]
    blocks += [Note(each.field, say.sentence(each.message)) for each in result.obstacles]
    blocks += finding_blocks(result.findings, say)
    if chosen is not None:
        blocks += [
            Heading(say("Settings")),
            _settings_table(result, chosen, say),
            _program_table(result, chosen, say),
        ]
    blocks += [Heading(say("What must be held")), *_target_blocks(result, say)]
    if chosen is not None:
        rows = tuple(_proof_rows(result, say))
        blocks += [Heading(say("How good it is")), Facts(say("Bound, search and limits"), rows)]
    blocks += [*_alternative_blocks(result, say)]
    if with_figures and result.front:
        svg = figure_svg(design_front_figure(result, say.units), "front", say)
        alt = say(
            "Scatter of {count} programs that no other beats in film, containment and time at"
            " once. {answer} The table above gives the numbers.",
            count=len(result.front),
            answer=_answer(result, say),
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
        saved, cost = _saved_per_load(case, shelf, chosen, draws)
        since = making.made_at.date()
        blocks += saving_blocks(case, saved, since, say, cost_per_load=cost)
    blocks += [
        *placeholder_blocks(rests_on(case), say),
        Heading(say("Method and assumptions")),
        Bullets(
            tuple(
                say(key)
                for key in (
                    to_say(
                        "Every program of the allowed settings is measured, or ruled out by a"
                        " bound that is lower than its film; the chosen one is predicted again"
                        " in full."
                    ),
                    to_say(
                        "The bound is the fewest bands of film that could cover the need at"
                        " every height, whatever program lays them."
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
            )
        ),
        Heading(say("Appendix: every input")),
        input_table(case, say("Inputs and where they are from"), say),
        *closing_blocks(making, _sources(case, result), result.cautions),
    ]
    return finished("design", case.title, blocks, making)


def _answer(result: DesignResult, say: Wording) -> str:
    chosen = result.chosen
    if chosen is None or not result.possible:
        return say(
            "No program within the limits holds what is asked. What stands in the way: {count}"
            " limits, below.",
            count=len(result.obstacles),
        )
    values = {
        "mass": say.amount(chosen.film_mass_kg, "small_mass"),
        "today": say.amount(result.today.film_mass_kg, "small_mass"),
        "share": say.percent(abs(result.film_saved or 0.0)),
        "gap": say.percent(result.gap or 0.0),
    }
    less = to_say(
        "The program below holds what is asked with {mass} of film a load, {share} less than"
        " today's {today}."
    )
    more = to_say(
        "Holding what is asked takes {mass} of film a load, {share} more than today's {today}."
    )
    text = say(less if (result.film_saved or 0.0) >= 0.0 else more, **values)
    near = say("It is {gap} above the least that any program of any kind could need.", **values)
    return f"{text} {near}" if result.gap is not None else text


def _settings_table(result: DesignResult, chosen: ProgramResult, say: Wording) -> Table:
    rows = tuple(
        (
            SETTING_NAMES[name],
            say.sentence(settings_text(result.today.settings, name, say.units)),
            say.sentence(settings_text(chosen.settings, name, say.units)),
            say("change") if name in result.changed else "",
        )
        for name in SETTING_NAMES
    )
    columns = (say("setting"), say("today"), say("new"), say("what to do"))
    return Table(say("What to set"), columns, rows, words=(0, 1, 2, 3))


def _program_table(result: DesignResult, chosen: ProgramResult, say: Wording) -> Table:
    today = {row.label: row.value for row in _program_rows(result.today, result, say)}
    rows = tuple(
        (row.label, today.get(row.label, ""), row.value)
        for row in _program_rows(chosen, result, say)
    )
    columns = (say("result"), say("today"), say("new"))
    return Table(say("What these settings do"), columns, rows)


def _program_rows(program: ProgramResult, result: DesignResult, say: Wording) -> Iterator[Row]:
    yield Row(say("film per load"), say.amount(program.film_mass_kg, "small_mass"))
    if program.cost is not None:
        yield Row(say("film and machine time"), f"{say.fixed(program.cost, 3)} {result.currency}")
    yield Row(say("cycle time"), say.amount(program.cycle_time_s, "time"))
    yield Row(say("turns"), say.fixed(program.turns, 1))
    yield Row(say("layers"), say.number(program.layers_min, 2))
    yield Row(say("containment, least"), say.amount(program.containment_later_min_n, "force"))
    if program.corner_force_max_n_per_m is not None:
        corner = say.amount(program.corner_force_max_n_per_m, "tension_per_width")
        yield Row(say("force on a corner, most"), corner)
    yield Row(say("peak tension over drawing force"), say.percent(program.tension_peak_share, 0))
    yield Row(say("holds what is asked"), say(to_say("yes") if program.holds else to_say("no")))


def _target_blocks(result: DesignResult, say: Wording) -> Iterator[Block]:
    if result.as_today:
        yield Paragraph(
            say(
                "The case asks for nothing: as much as today's program holds is taken as the"
                " target."
            )
        )
    rows = tuple(
        (
            say.span(each.low_m, each.high_m, "length"),
            say.amount(each.asked_n, "force"),
            say.amount(each.held_today_n, "force"),
            "" if each.held_n is None else say.amount(each.held_n, "force"),
        )
        for each in result.targets
    )
    columns = tuple(
        say(name)
        for name in (to_say("zone above the deck"), to_say("asked"), to_say("today"), to_say("new"))
    )
    if rows:
        yield Table(say("Targets by zone"), columns, rows)
    if result.transport_profiles:
        yield Paragraph(
            say(
                "And every tier must stand under {profiles}.",
                profiles=", ".join(result.transport_profiles),
            )
        )


def _proof_rows(result: DesignResult, say: Wording) -> Iterator[Row]:
    if result.film_bound_kg is not None and result.gap is not None:
        yield Row(
            say("no program needs less than"),
            say(
                "{mass} ({turns} bands of film); this one is {gap} above",
                mass=say.amount(result.film_bound_kg, "small_mass"),
                turns=say.fixed(result.turns_bound or 0.0, 0),
                gap=say.percent(result.gap),
            ),
        )
    # How long it took is no part of a report that can be made again.
    programs = result.programs_evaluated + result.programs_pruned
    yield Row(
        say("programs dealt with"),
        say(
            "{count}, of which {pruned} by a bound or a limit",
            count=say.fixed(programs, 0),
            pruned=say.fixed(result.programs_pruned, 0),
        ),
    )
    for each in result.binding:
        yield Row(say("binds: {field}", field=each.field), say.sentence(each.message))
    if result.robustness is not None:
        found = result.robustness
        yield Row(
            say("how often it holds"),
            say(
                "today's program in {today} of {draws} draws, the best at the best guess in"
                " {plain}, this one in {chosen} (95 % interval {low} to {high}); asked for"
                " {asked}",
                today=say.percent(found.today, 0),
                plain=say.percent(found.plain, 0),
                chosen=say.percent(found.chosen, 0),
                low=say.percent(found.chosen_low, 0),
                high=say.percent(found.chosen_high, 0),
                asked=say.percent(found.asked, 0),
                draws=found.draws,
            ),
        )


def _alternative_blocks(result: DesignResult, say: Wording) -> Iterator[Block]:
    if result.fewer_changes:
        rows = tuple(
            (
                str(step.changes),
                "; ".join(
                    f"{SETTING_NAMES[name]}"
                    f" {say.sentence(settings_text(step.program.settings, name, say.units))}"
                    for name in step.changed
                ),
                say.amount(step.program.film_mass_kg, "small_mass"),
                say.percent(step.film_saved),
            )
            for step in result.fewer_changes
        )
        columns = tuple(
            say(name)
            for name in (to_say("changes"), to_say("what to set"), to_say("film"), to_say("saved"))
        )
        yield Table(
            say("With fewer changes from today"), columns, rows, words=(0, 1), is_small=True
        )
    if result.profiled is not None:
        yield Paragraph(
            say(
                "If the rise may vary with height: {mass} a load, {saved} less than with one"
                " rise, {gap} above the bound for these ends.",
                mass=say.amount(result.profiled.program.film_mass_kg, "small_mass"),
                saved=say.percent(result.profiled.film_saved),
                gap=say.percent(result.profiled.gap),
            )
        )
    if result.front:
        points = tuple(
            (
                say.amount(point.film_mass_kg, "small_mass"),
                say.amount(point.containment_later_min_n, "force"),
                say.amount(point.cycle_time_s, "time"),
                say.sentence(settings_text(point.settings, "force_to_load_n", say.units)),
                say.sentence(settings_text(point.settings, "rise_per_turn_m", say.units)),
            )
            for point in result.front
        )
        names = (
            to_say("film"),
            to_say("containment, least"),
            to_say("cycle"),
            to_say("force to load"),
            to_say("rise per turn"),
        )
        columns = tuple(say(name) for name in names)
        yield Table(
            say("Front: no program beats these in film, containment and time at once"),
            columns,
            points,
            is_small=True,
        )


def _saved_per_load(
    case: Case, shelf: Sequence[ShelfFilm], chosen: ProgramResult, draws: int
) -> tuple[Estimate, Estimate | None]:
    """Film [kg] and its cost saved on a load, over the ranges of the case's inputs.

    The cost is None where a price is missing, or where both films have the same one.
    """
    other = next((each for each in shelf if each.name == chosen.settings.film), None)
    before, after = case.film.price, (other or case.film).price

    def saved(drawn: Case, today: Prediction, price: float = 1.0, new_price: float = 1.0) -> float:
        new = predict(with_settings(drawn, other or drawn.film, chosen.settings))
        return price * today.film_mass_kg - new.film_mass_kg * new_price

    quantities: dict[str, Quantity] = {"saved": saved}
    if before is not None and after is not None and before != after:
        prices = (before.amount, after.amount)
        quantities["cost"] = lambda drawn, today: saved(drawn, today, *prices)
    found = prediction_spread(case, quantities, draws).estimates
    return found["saved"], found.get("cost")


def _sources(case: Case, result: DesignResult) -> list[tuple[str, object]]:
    used = [*prediction_sources(case), (to_say("fewest bands"), bands.fewest_bands)]
    if result.transport_profiles:
        used.append((to_say("transport screen"), interface_friction.force_beyond_friction))
    return used
