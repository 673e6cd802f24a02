"""What decides, what a simulation shows and what a test says of the inputs, in words."""

from __future__ import annotations

from collections.abc import Sequence

from woold.rows.blocks import Block, Heading, Note, Paragraph, Table
from woold.rows.wording import Wording
from woold.transport.calibration import TransportCalibration
from woold.transport.result import direction_name, holds_word
from woold.transport.sensitivity import TransportEffect
from woold.transport.simulation import SimulatedWay, TransportSimulation
from woold.transport.unmeasured import INPUT_NAMES

__all__ = ["calibration_blocks", "simulation_blocks", "transport_effect_blocks"]

_MOST_EFFECTS = 8


def transport_effect_blocks(
    effects: Sequence[TransportEffect], say: Wording, brief: Wording
) -> list[Block]:
    """A table of the inputs that move the verdict most, each moved alone over its range.

    Args:
        effects: those that decide first.
        say: words and numbers.
        brief: the same for the table, which may have less room.
    """
    if not effects:
        return []
    rows = tuple(
        (
            each.field,
            brief.span(each.low, each.high, each.kind),
            say("yes") if each.is_placeholder else say("no"),
            _end(each.used_low, each.holds_low, say),
            _end(each.used_high, each.holds_high, say),
        )
        for each in effects[:_MOST_EFFECTS]
    )
    heads = (
        say("input"),
        say("from, to"),
        say("placeholder"),
        say("share at the first"),
        say("share at the second"),
    )
    caption = say("What decides: the largest share of a limit, one input moved over its range")
    return [Table(caption, heads, rows, words=(0, 2), is_small=True)]


def _end(used: float | None, holds: bool | None, say: Wording) -> str:
    share = say("no end") if used is None else say.percent(used, 0)
    if holds is None:
        return say("{share}, cannot be said", share=share)
    return say("{share}, holds", share=share) if holds else say("{share}, does not", share=share)


def simulation_blocks(result: TransportSimulation, say: Wording, brief: Wording) -> list[Block]:
    """A table with a row for each direction that was simulated.

    Args:
        result: the simulation.
        say: words and numbers.
        brief: the same for the table, which may have less room.
    """
    heads = (
        say("direction"),
        say("acceleration"),
        say("largest slip"),
        say("top travels"),
        say("keeps"),
        say("screen says"),
        say("simulated"),
    )
    rows = tuple(_simulated_row(way, say, brief) for way in result.ways)
    return [
        Heading(say("Simulated over time")),
        Paragraph(_answer(result, say), is_strong=True),
        Paragraph(say(result.caution)),
        *(Note(each.field, say.sentence(each.message)) for each in result.findings),
        Table(say("What the simulation shows"), heads, rows, words=(0, 6), is_small=True),
    ]


def _answer(result: TransportSimulation, say: Wording) -> str:
    """Whether it holds in every way, and the first that it does not."""
    failing = [way for way in result.ways if way.holds is False]
    if not failing:
        unsaid = [way for way in result.ways if way.holds is None]
        if not unsaid:
            return say("In the simulation the load holds.")
        inputs = dict.fromkeys(each for way in unsaid for each in way.decided_by)
        return say(
            "In the simulation, too, what nobody measured decides whether the load holds: {inputs}."
            " What is shown is as guessed.",
            inputs=", ".join(say(INPUT_NAMES[each]) for each in inputs),
        )
    fallen = [way for way in failing if way.fell_at_s is not None]
    first = (fallen or failing)[0]
    name = say("recorded") if first.profile == "" else direction_name(first.direction)
    if first.fell_at_s is not None:
        time = say.amount(first.fell_at_s, "time")
        return say(
            "In the simulation the load does not hold ({way}): it falls after {time}. The picture"
            " stops there.",
            way=name,
            time=time,
        )
    return say(
        "In the simulation the load does not hold ({way}): a tier slips up to {slip}, the top"
        " travels {travel} and keeps {kept}.",
        way=name,
        slip=say.amount(max(first.largest_slips_m), "small_length"),
        travel=say.amount(first.top_travel_m, "small_length"),
        kept=say.amount(first.top_travel_kept_m, "small_length"),
    )


def _simulated_row(way: SimulatedWay, say: Wording, brief: Wording) -> tuple[str, ...]:
    name = say(
        "{direction} ({bearing})",
        direction=say("recorded") if way.profile == "" else direction_name(way.direction),
        bearing=say.amount(way.bearing_rad, "angle"),
    )
    screened = (
        ""
        if way.screen_top_travel_m is None
        else brief.amount(way.screen_top_travel_m, "small_length")
    )
    if way.screen_holds is not None and way.screen_top_travel_m is None:
        screened = say("not held")
    verdict = holds_word(way.holds)
    if way.fell_at_s is not None:
        verdict = say("falls after {time}", time=say.amount(way.fell_at_s, "time"))
    return (
        name,
        f"{say.number(way.acceleration_g)} g",
        brief.amount(max(way.largest_slips_m), "small_length"),
        brief.amount(way.top_travel_m, "small_length"),
        brief.amount(way.top_travel_kept_m, "small_length"),
        screened,
        verdict,
    )


def calibration_blocks(result: TransportCalibration, say: Wording) -> list[Block]:
    """A table of the inputs with their ranges before and after the test.

    Args:
        result: the calibration.
        say: words and numbers.
    """
    rows = tuple(
        (
            f"transport.{each.name}",
            say.number(each.value),
            say.span(each.low, each.high, "ratio"),
            say.span(each.before_low, each.before_high, "ratio"),
            say("narrowed") if each.is_decided else say("the test says nothing of it"),
        )
        for each in result.inputs
    )
    heads = (
        say("input"),
        say("value"),
        say("90 % range"),
        say("range before"),
        say("what it says"),
    )
    return [
        Heading(say("What the test says")),
        Paragraph(
            say(
                "Tests: {tests}, readings: {readings}, each off by about {error}. The simulation"
                " misses them by {misfit} times what they may be off.",
                readings=result.readings,
                tests=result.tests,
                error=say.amount(result.reading_error_m, "small_length"),
                misfit=say.number(result.misfit, 2),
            )
        ),
        Table(say("Inputs that fit with the readings"), heads, rows, words=(0, 4)),
    ]
