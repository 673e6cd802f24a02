"""The search of a carriage's free dimensions, in words."""

from __future__ import annotations

from collections.abc import Iterator

from woold.line.envelope_result import EnvelopeSearch, FoundRoller
from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import say, to_say

__all__ = ["envelope_blocks"]

_SIDES = {"left": to_say("left"), "right": to_say("right")}


def envelope_blocks(result: EnvelopeSearch, wording: Wording) -> Iterator[Block]:
    """What was found, how far from the best it may be, and where its rollers stand.

    Args:
        result: of the search.
        wording: units and marks of its numbers.
    """
    if not result.found:
        yield Paragraph(
            say(
                "{carriage}: no choice of its free dimensions can be built. {tries} were tried; the"
                " nearest lacks {length} of room, opening or way for the film. Widen the room, ask"
                " for less opening, or state which rollers move when the carriage is opened.",
                carriage=result.carriage,
                tries=wording.fixed(result.tries, 0),
                length=wording.amount(result.lacking_m or 0.0, "small_length"),
            )
        )
        return
    yield Paragraph(
        say(
            "{found} serves {share} of the line's film; as it is listed, {carriage} serves"
            " {listed}. No choice of its free dimensions serves more than {bound}.",
            found=result.found,
            share=wording.percent(result.film_share, 2),
            carriage=result.carriage,
            listed=wording.percent(result.listed_film_share, 2),
            bound=wording.percent(result.film_share_bound, 2),
        )
    )
    yield Facts(result.found, tuple(_facts(result, wording)))
    yield _rollers(result, wording)
    yield Paragraph(_honest(result, wording))


def _facts(result: EnvelopeSearch, wording: Wording) -> Iterator[Row]:
    yield Row(
        say("film a year"),
        wording.amount(result.film_per_year_kg, "mass"),
        note=_film_gap(result, wording),
    )
    if result.prestretch_geared is not None:
        yield Row(
            say("pre-stretch by its wheels"),
            wording.amount(result.prestretch_geared + 1.0, "elongation"),
        )
    if result.gap_m is not None:
        yield Row(say("gap"), wording.amount(result.gap_m, "small_length"))
    asked = wording.amount(result.threading_room_m, "small_length")
    yield Row(
        say("least opening for threading, carriage open"),
        say("no roller to thread between")
        if result.opening_m is None
        else wording.amount(result.opening_m, "small_length"),
        note=say("asked for: {length}", length=asked),
    )
    most = result.most_parts
    yield Row(
        say("rollers and nips"),
        wording.fixed(result.parts, 0),
        note=say("no limit was given")
        if most is None
        else say("at most {most}", most=wording.fixed(most, 0)),
    )
    if result.left_out:
        yield Row(say("does without"), ", ".join(result.left_out))
    yield Row(say("way of the film"), _way(result))


def _film_gap(result: EnvelopeSearch, wording: Wording) -> str:
    if result.film_gap_share is None:
        return say("how much less it might be is not known")
    if result.bounded_share > 0.9995:
        return say(
            "a choice that serves as much takes at most {share} less",
            share=wording.percent(result.film_gap_share),
        )
    return say(
        "a choice that serves as much takes at most {share} less on {part} of it; of the rest"
        " that is not known",
        share=wording.percent(result.film_gap_share),
        part=wording.percent(result.bounded_share),
    )


def _way(result: EnvelopeSearch) -> str:
    """Rollers in the film's order, each with the side to which the film turns."""
    return " \N{RIGHTWARDS ARROW} ".join(
        each.name
        if each.side is None or each.role == "load"
        else say("{roller} ({side})", roller=each.name, side=say(_SIDES[each.side]))
        for each in result.rollers
        if each.role != "nip"
    )


def _rollers(result: EnvelopeSearch, wording: Wording) -> Table:
    heads = (
        say("roller"),
        say("turns film to the"),
        say("x"),
        say("y"),
        say("diameter"),
        say("teeth"),
        say("cover"),
        say("friction"),
        say("contact angle"),
        say("free film behind it"),
        say("opening behind it"),
    )
    rows = tuple(_roller(each, wording) for each in result.rollers)
    caption = say("{carriage}: where its rollers stand", carriage=result.found)
    return Table(caption, heads, rows, words=(0, 1, 6), is_small=True)


def _roller(each: FoundRoller, wording: Wording) -> tuple[str, ...]:
    def length(value: float | None) -> str:
        return "-" if value is None else wording.amount(value, "small_length", 4)

    return (
        each.name,
        "-" if each.side is None else say(_SIDES[each.side]),
        length(each.x_m),
        length(each.y_m),
        length(each.diameter_m),
        "-" if each.teeth is None else wording.fixed(each.teeth, 0),
        each.cover or "-",
        "-" if each.friction is None else wording.number(each.friction),
        "-" if each.contact_angle_rad is None else wording.amount(each.contact_angle_rad, "angle"),
        length(each.free_film_after_m),
        length(each.opening_after_m),
    )


def _honest(result: EnvelopeSearch, wording: Wording) -> str:
    return say(
        "{tries} choices were tried, places to a tenth of a millimetre. Both bounds let each load"
        " have the choice that suits it best, and judge it at film widths at most {step} apart;"
        " between two of them nothing was looked at. Shares closer than 0.01 % count as equal."
        " Strength of shafts, room for wheels and guards, and whether the film runs without"
        " creases are not judged: draw it, and build one, before you change a line.",
        tries=wording.fixed(result.tries, 0),
        step=wording.amount(result.width_step_m, "small_length"),
    )
