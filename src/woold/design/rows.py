"""A design in words: what to set, what it does, what must be held, and how good it is."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict

from woold.design.alternative_rows import alternative_blocks, goal_value
from woold.design.design_glance import offered
from woold.design.result import NEAR_ENOUGH, DesignResult, ProgramResult
from woold.design.saving_rows import gains, worth_blocks
from woold.design.settings import SETTING_NAMES, settings_text
from woold.rows.blocks import Block, Bullets, Cautions, Facts, Heading, Note, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.verdict.rows import verdict_answer, verdict_row
from woold.verdict.texts import offers
from woold.words import to_say

__all__ = [
    "answer_blocks",
    "answer_text",
    "design_blocks",
    "nearness_text",
    "proof_blocks",
    "settings_blocks",
    "target_blocks",
]

_GOALS = {
    "film": to_say("Settings for least film"),
    "cost": to_say("Settings for least cost of film, machine time, roll changes and breaks"),
    "time": to_say("Settings for the shortest cycle"),
    "containment": to_say("Settings for most containment at the film of today"),
}


_COST_PARTS = {
    "film": to_say("- film"),
    "machine_time": to_say("- machine time"),
    "roll_changes": to_say("- roll changes"),
    "breaks": to_say("- film breaks"),
}


def design_blocks(result: DesignResult, say: Wording, brief: Wording) -> Iterator[Block]:
    """A whole design, as a screen shows it.

    Args:
        result: the design.
        say: words and numbers.
        brief: the same for cells of wide tables.
    """
    first, *others = (say.sentence(say(each)) for each in result.cautions)
    yield Heading(result.title or say("A case without a title"))
    yield Paragraph(first)
    yield from answer_blocks(result, say)
    if result.findings:
        yield Heading(say("Findings"))
        yield from (Note(each.field, say.sentence(each.message)) for each in result.findings)
    yield from settings_blocks(result, say, brief)
    yield from worth_blocks(result, brief)
    yield from target_blocks(result, say, brief)
    yield from proof_blocks(result, say, with_time=True)
    yield from alternative_blocks(result, say, brief)
    yield Cautions(say("Take care"), tuple(others))


def answer_blocks(result: DesignResult, say: Wording) -> Iterator[Block]:
    """Whether today's program holds, the answer, and what stands in the way where there is none."""
    today = result.today.verdict
    if today.fails:
        text = say("Today's program: {verdict}", verdict=verdict_answer(today, say))
        yield Paragraph(text, is_strong=True)
    yield Paragraph(answer_text(result, say), is_strong=True)
    near = nearness_text(result, say)
    if near:
        yield Paragraph(near)
    chosen = None if result.chosen is None else result.chosen.verdict
    if chosen is not None and chosen.asked:
        text = (
            say("The best one found: {verdict}", verdict=verdict_answer(chosen, say))
            if chosen.fails
            else say("The program below: {verdict}", verdict=verdict_answer(chosen, say))
        )
        yield Paragraph(text, is_strong=chosen.fails)
    elif today.asked and not today.fails:
        yield Paragraph(say("Today's program: {verdict}", verdict=verdict_answer(today, say)))
    elif not today.asked:
        yield Paragraph(verdict_answer(today, say))
        yield Bullets(offers(say))
    if result.obstacles:
        rows = tuple(Row(each.field, say.sentence(each.message)) for each in result.obstacles)
        yield Facts(say("What stands in the way"), rows)


def answer_text(result: DesignResult, say: Wording) -> str:
    """The answer in a sentence or two."""
    chosen = result.chosen
    if result.robustness is not None and not result.possible:
        return say(
            "No program was found that holds in {share} of the draws; the best one at the best"
            " guess is shown.",
            share=say.percent(result.robustness.asked, 0),
        )
    if chosen is None and result.keep_today:
        return say(
            "Today's program holds, and no other within the limits was found that holds at every"
            " point of the sides: keep it."
        )
    if chosen is None and result.profiled is not None:
        return say(
            "No program of one rise and one fall within the limits holds what is asked; one whose"
            " rise varies with height does, with {mass} of film: its settings stand below.",
            mass=say.amount(result.profiled.program.film_mass_kg, "small_mass"),
        )
    if chosen is None or not result.possible:
        return say("No program within the limits holds what is asked.")
    if chosen.verdict.fails:
        return say(
            "The best program that was found is not known to hold, so no settings are shown."
        )
    values = {"gains": "; ".join(gains(result, say))}
    first = say("Against today's program: {gains}.", **values)
    if result.keep_today:
        keep = say("Today's program holds, and no better one was found: keep it.")
        other = say("The best one found, against it: {gains}.", **values)
        first = f"{keep} {other}"
    if not result.today.holds and not result.today.verdict.fails:
        # Where the verdict says it, it stands above already.
        misses = " ".join(say.sentence(each) for each in result.today.misses)
        today = say("Today's program does not hold what is asked. {misses}", misses=misses)
        first = f"{today} {first}"
    return first


def nearness_text(result: DesignResult, say: Wording) -> str:
    """How near the chosen program is to the best, in a sentence; empty where nothing is known."""
    chosen = result.chosen
    if chosen is None or chosen.verdict.fails or result.gap is None or not result.possible:
        return ""
    if result.machine_gap is None:
        return say(
            "It is {gap} above what no program of any kind gets below.",
            gap=say.percent(result.gap),
        )
    return say(
        "It is proven to be within {machine} of the best that this machine can run with one rise"
        " and one fall, and is {gap} above what no program of any kind gets below.",
        machine=_proven(result.machine_gap, say),
        gap=say.percent(result.gap),
    )


def settings_blocks(result: DesignResult, say: Wording, brief: Wording) -> Iterator[Block]:
    """What to set, and what that does; nothing where nothing better is chosen that holds."""
    chosen = offered(result)
    if chosen is None:
        return
    yield Table(
        say(_GOALS[result.objective]),
        (say("setting"), say("today"), say("new"), say("what to do")),
        tuple(
            (
                say(SETTING_NAMES[name]),
                brief.sentence(settings_text(result.today.settings, name, brief.units)),
                brief.sentence(settings_text(chosen.settings, name, brief.units)),
                say("change") if name in result.changed else "",
            )
            for name in SETTING_NAMES
        ),
        words=(0, 1, 2, 3),
    )
    today = {row.label: row.value for row in _program_rows(result.today, result, brief)}
    yield Table(
        say("What these settings do"),
        (say("result"), say("today"), say("new")),
        tuple(
            (row.label, today.get(row.label, ""), row.value)
            for row in _program_rows(chosen, result, brief)
        ),
    )
    if result.dancer_spring is not None and result.dancer_hole_m is not None:
        yield Paragraph(
            say(
                "Dancer: spring {spring} in the hole at {hole}.",
                spring=result.dancer_spring,
                hole=say.amount(result.dancer_hole_m, "small_length"),
            )
        )


def _program_rows(program: ProgramResult, result: DesignResult, say: Wording) -> Iterator[Row]:
    yield Row(say("film per load"), say.amount(program.film_mass_kg, "small_mass"))
    if result.today.cost is not None or program.cost is not None:
        cost = say("no price")
        if program.cost is not None:
            cost = f"{say.fixed(program.cost, 3)} {result.currency}"
        yield Row(say("cost of a load"), cost)
    if program.cost_parts is not None:
        for name, value in asdict(program.cost_parts).items():
            yield Row(say(_COST_PARTS[name]), f"{say.fixed(value, 3)} {result.currency}")
    yield Row(say("cycle time"), say.amount(program.cycle_time_s, "time"))
    yield Row(say("turns"), say.fixed(program.turns, 1))
    yield Row(say("layers at least"), say.number(program.layers_min, 2))
    yield Row(say("containment, least"), say.amount(program.containment_later_min_n, "force"))
    if program.corner_force_max_n_per_m is not None:
        corner = say.amount(program.corner_force_max_n_per_m, "tension_per_width")
        yield Row(say("force on a corner, most"), corner)
    yield Row(say("peak tension over drawing force"), say.percent(program.tension_peak_share, 0))
    if program.verdict.asked:
        yield verdict_row(program.verdict, say)
        return
    share = say.percent(program.share_of_targets, 0)
    held = say("yes, {share}", share=share) if program.holds else say("no, {share}", share=share)
    yield Row(say("of what today's program holds"), held)


def target_blocks(result: DesignResult, say: Wording, brief: Wording) -> Iterator[Block]:
    """What must be held, and what is held of it."""
    if result.as_today:
        yield Paragraph(
            say(
                "The case asks for nothing: as much as today's program holds is taken as the"
                " target."
            )
        )
    if result.targets:
        yield Table(
            say("What must be held, by zone"),
            (say("zone above the deck"), say("asked"), say("today"), say("new")),
            tuple(
                (
                    brief.span(each.low_m, each.high_m, "length"),
                    brief.amount(each.asked_n, "force"),
                    brief.amount(each.held_today_n, "force"),
                    "-" if each.held_n is None else brief.amount(each.held_n, "force"),
                )
                for each in result.targets
            ),
        )
        if not result.as_today:
            yield Paragraph(
                say(
                    "Search and bounds ask it, as the verdict does, over every patch of the sides"
                    " that a hand can feel, and that film lies everywhere."
                )
            )
    if result.transport_profiles:
        yield Paragraph(
            say(
                "And every tier must stand under {profiles}.",
                profiles=", ".join(result.transport_profiles),
            )
        )


def proof_blocks(result: DesignResult, say: Wording, with_time: bool = False) -> Iterator[Block]:
    """Saving, bound, search, how often it holds and what binds; nothing where nothing is chosen.

    Args:
        result: the design.
        say: words and numbers.
        with_time: say how long the search took; a report that can be made again does not.
    """
    if result.chosen is None:
        return
    yield Facts(say("How good it is"), tuple(_proof_rows(result, say, with_time)))
    if result.robustness is not None:
        yield _robustness_facts(result, say)
    if result.binding:
        rows = tuple(Row(each.field, say.sentence(each.message)) for each in result.binding)
        yield Facts(say("What binds"), rows)


def _proof_rows(result: DesignResult, say: Wording, with_time: bool) -> Iterator[Row]:
    if result.film_saved is not None and result.film_saved_per_year_kg is not None:
        yield Row(
            say("film, less than today")
            if result.film_saved >= 0.0
            else say("film, more than today"),
            say(
                "{share} a load, {mass} a year",
                share=say.percent(abs(result.film_saved)),
                mass=say.amount(abs(result.film_saved_per_year_kg), "mass"),
            ),
        )
    if result.machine_bound is not None and result.machine_gap is not None:
        text = say(
            "{bound}, with one rise and one fall, whatever force, rise, fall and whole wraps; this"
            " one is at most {gap} above (proven over {boxes} ranges of settings)",
            bound=_of_goal(result, result.machine_bound, say),
            gap=_proven(result.machine_gap, say),
            boxes=say.fixed(result.boxes_bounded, 0),
        )
        if result.machine_gap > NEAR_ENOUGH:
            more = say("The proof was left there: it may be nearer to the best than that.")
            text = f"{text}. {more}"
        yield Row(say("no program of this machine gets below"), text)
    if result.bound is not None and result.gap is not None:
        yield Row(
            say("no program of any kind, at one force, gets below"),
            say(
                "{bound}, travelling at most {travel} a turn; this one is {gap} above",
                bound=_of_goal(result, result.bound, say),
                travel=say.amount(result.bound_travel_m, "small_length"),
                gap=say.percent(result.gap),
            ),
        )
        if result.profiled is None:
            yield Row(
                say("how much of that is the price of one rise"),
                say("shown where the rise may vary with height as well"),
            )
    programs = result.programs_evaluated + result.programs_pruned
    yield Row(
        say("programs dealt with"),
        say(
            "{count}, of which {pruned} by a bound or a limit",
            count=say.fixed(programs, 0),
            pruned=say.fixed(result.programs_pruned, 0),
        ),
    )
    if with_time:
        yield Row(say("time of the search"), f"{say.fixed(result.search_time_s, 1)} s")


def _of_goal(result: DesignResult, value: float, say: Wording) -> str:
    """A value of what the goal makes small."""
    return goal_value(result.objective, value, result.currency, say)


def _proven(gap: float, say: Wording) -> str:
    """A gap that is at most so large, rounded up."""
    return say.percent(max(math.ceil(gap * 1e3 - 1e-9), 1) / 1e3)


def _robustness_facts(result: DesignResult, say: Wording) -> Facts:
    found = result.robustness
    assert found is not None
    return Facts(
        say(
            "How often it holds, of {draws} draws of what is known only within a range",
            draws=found.draws,
        ),
        (
            Row(say("today's program"), say.percent(found.today, 0)),
            Row(
                say("the best one at the best guess"),
                f"{say.percent(found.plain, 0)},"
                f" {say.amount(found.plain_film_mass_kg, 'small_mass')}",
            ),
            Row(
                say("this one"),
                say(
                    "{share} (95 % interval {low} to {high}), asked for {asked}",
                    share=say.percent(found.chosen, 0),
                    low=say.percent(found.chosen_low, 0),
                    high=say.percent(found.chosen_high, 0),
                    asked=say.percent(found.asked, 0),
                ),
            ),
            Row(say("varied"), ", ".join(found.varied)),
        ),
    )
