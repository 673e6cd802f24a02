"""A transport screen in words: what slips or tips in each direction, and the limits."""

from __future__ import annotations

from collections.abc import Iterator

from woold.rows.blocks import Block, Bullets, Paragraph, Table
from woold.rows.wording import Wording
from woold.transport.result import (
    GUESSED_UNSAID_SHARE,
    LARGEST_GIVE,
    SIMULATED_LOADS,
    STRICT_SHARE,
    UNSAFE_SHARE,
    UNSAID_SHARE,
    InterfaceResult,
    ProfileResult,
    TransportResult,
    WayResult,
    direction_name,
    holds_word,
    reached_name,
)
from woold.transport.unmeasured import INPUT_NAMES

__all__ = ["cautious_text", "transport_blocks"]


def transport_blocks(result: TransportResult, say: Wording, brief: Wording) -> list[Block]:
    """A table for each set of accelerations, with its source; the limits.

    Args:
        result: the screen.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    blocks: list[Block] = []
    for profile in result.profiles:
        blocks.append(_profile_table(profile, say, brief))
        blocks.append(Bullets(tuple(_way_text(way, say) for way in profile.ways)))
        blocks.append(
            Paragraph(
                say(
                    "Source: {source}. Compared with: {basis}.",
                    source=say(profile.source),
                    basis=say(profile.basis),
                )
            )
        )
    blocks.append(
        Paragraph(
            say(
                "Limits: {slip} between tiers, {lean} of the top while it lasts, {kept} that"
                " stays. Film force after {time}.",
                slip=say.amount(result.slip_limit_m, "small_length"),
                lean=say.amount(result.lean_limit_m, "small_length"),
                kept=say.amount(result.kept_limit_m, "small_length"),
                time=say.amount(result.later_s, "hours"),
            )
        )
    )
    blocks.append(Paragraph(cautious_text(say)))
    return blocks


def cautious_text(say: Wording) -> str:
    """How often the screen was wrong, against a time simulation, and how often it says nothing."""
    return say(
        "How cautious this is: on {count} random loads, moved by a time simulation with a start"
        " that lasts 1 s, at most {unsafe} of those said to hold here did not, and at most {strict}"
        " of those that held were said not to hold, with packages that give by up to {give} under"
        " all of the weight. Of up to {unsaid} of the loads it could not be said; where neither"
        " friction nor that give is measured, of up to {guessed}, and the rest holds as well.",
        count=SIMULATED_LOADS,
        unsafe=say.percent(UNSAFE_SHARE, 0),
        strict=say.percent(STRICT_SHARE, 0),
        give=say.amount(LARGEST_GIVE, "small_length"),
        unsaid=say.percent(UNSAID_SHARE, 0),
        guessed=say.percent(GUESSED_UNSAID_SHARE, 0),
    )


def _way_text(way: WayResult, say: Wording) -> str:
    """What decides in a direction, and what the sudden start adds."""
    name = direction_name(way.direction)
    if way.decided_by:
        return _decided_text(way, say)
    if way.used is None:
        return say("{direction}: film never stops what slips, so it travels on.", direction=name)
    text = say(
        "{direction}: {limit} is at {share} of what is allowed, the most of any limit.",
        direction=name,
        limit=reached_name(way.limited_by),
        share=say.percent(way.used, 0),
    )
    if way.top_travel_m and way.top_travel_slow_m is not None:
        text += " " + say(
            "The top travels {sudden} after a start of {ramp}; {slow} if it came slowly.",
            sudden=say.amount(way.top_travel_m, "small_length"),
            ramp=say.amount(way.ramp_time_s, "time"),
            slow=say.amount(way.top_travel_slow_m, "small_length"),
        )
    if way.holds:
        text += " " + say(
            "A start makes the load swing: friction counts only where it holds {slip} times this"
            " acceleration, and the load must not tip at {tipping} times.",
            slip=say.number(way.slip_margin),
            tipping=say.number(way.tipping_margin),
        )
    return text


def _decided_text(way: WayResult, say: Wording) -> str:
    """What turns the answer in a direction and is not known."""
    least = say("nothing") if not way.used_least else say.percent(way.used_least, 0)
    return say(
        "{direction}: {limit} is at {least} to {most} of what is allowed over what is not known, so"
        " it cannot be said. What decides: {inputs}. The table is as guessed.",
        direction=direction_name(way.direction),
        limit=reached_name(way.limited_by),
        least=least,
        most=say("no end") if way.used_most is None else say.percent(way.used_most, 0),
        inputs=", ".join(say(INPUT_NAMES[each]) for each in way.decided_by),
    )


def _profile_table(profile: ProfileResult, say: Wording, brief: Wording) -> Table:
    heads = (
        say("direction"),
        say("acceleration"),
        say("tier over"),
        say("needed"),
        say("film gives at most"),
        say("travel"),
    )
    caption = say(
        "{edition}: {title}: {verdict}",
        edition=say(profile.edition),
        title=say(profile.title),
        verdict=holds_word(profile.holds),
    )
    return Table(caption, heads, tuple(_interface_rows(profile, say, brief)))


def _interface_rows(
    profile: ProfileResult, say: Wording, brief: Wording
) -> Iterator[tuple[str, ...]]:
    """One row for each interface that slips or tips; one for a direction without any."""
    for way in profile.ways:
        name = say(
            "{direction} ({bearing})",
            direction=direction_name(way.direction),
            bearing=say.amount(way.bearing_rad, "angle"),
        )
        share = f"{say.number(way.acceleration_g)} g"
        moving = [each for each in reversed(way.interfaces) if each.slips or each.tips]
        if not moving:
            yield name, share, say("all"), say("friction holds"), "", ""
        for each in moving:
            height = brief.amount(each.height_m, "length")
            yield name, share, height, *_force_cells(each, say, brief)
            name = share = ""


def _force_cells(each: InterfaceResult, say: Wording, brief: Wording) -> tuple[str, str, str]:
    if not each.slips:
        travel = say("stays, tips") if each.tips else say("stays")
    elif each.slip_m is None:
        travel = say("not held, tips") if each.tips else say("not held")
    else:
        travel = brief.amount(each.slip_m, "small_length")
        if each.tips:
            travel = say("{travel}, tips", travel=travel)
    return (
        brief.amount(each.restraint_needed_n, "force"),
        brief.amount(each.restraint_limit_n, "force"),
        travel,
    )
