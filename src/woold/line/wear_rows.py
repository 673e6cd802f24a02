"""Parts and wear in words: what one carriage changes in stock, standstill and duty."""

from __future__ import annotations

from collections.abc import Iterator

from woold.line.service_factors import SERVICE_FACTORS
from woold.line.wear_result import DriveDuty, KindOfPart, LineWear, MachineWear
from woold.rows.blocks import Block, Bullets, Heading, Paragraph, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["wear_blocks"]

_KINDS: dict[KindOfPart, str] = {
    "rollers": to_say("rollers (diameter, teeth, cover)"),
    "springs": to_say("springs (rate, length)"),
    "couplings": to_say("couplings of the rollers"),
    "dancer arms": to_say("dancer arms (length, holes)"),
}
_COUPLES = {
    "belt": to_say("belt"),
    "chain": to_say("chain"),
    "gears": to_say("gears"),
    "two motors": to_say("two motors"),
    "": "-",
}


def wear_blocks(result: LineWear, say: Wording) -> Iterator[Block]:
    """One carriage on every machine, beside the carriages of today.

    Args:
        result: parts and wear.
        say: words and numbers.
    """
    yield Heading(result.title or say("Parts and wear of the line"))
    yield Paragraph(_answer(result, say), is_strong=True)
    yield Table(
        say("Different parts, as far as carriages list them"),
        (
            say("kind"),
            say("today"),
            say("on all of them"),
            say("with one carriage"),
            say("of these in use already"),
        ),
        tuple(
            (say(_KINDS[each.kind]), *map(_count, (each.before, each.in_common, each.after,
                                                   each.kept)))
            for each in result.parts
        ),
    )  # fmt: skip
    yield Table(
        say("Duty of the drive in a year, after over today"),
        (
            say("machine"),
            say("loads compared"),
            say("film"),
            say("turns"),
            say("largest torque"),
            say("torque x turns"),
        ),
        tuple(
            (
                each.machine,
                say.percent(each.compared_share, 0),
                say.percent(each.film_ratio, 0),
                *(
                    "-" if ratio is None else say.percent(ratio, 0)
                    for ratio in (each.turns_ratio, each.torque_ratio, each.work_ratio)
                ),
            )
            for each in result.machines
        ),
    )
    yield Table(
        say("What it is, before and after"),
        (
            say("machine"),
            say("carriage"),
            say("film a year"),
            say("top film speed"),
            say("largest torque"),
            say("largest power"),
            say("coupled by"),
            say("safety left"),
        ),
        tuple(
            _duty_cells(each.machine, duty, say)
            for each in result.machines
            for duty in (each.before, each.after)
        ),
        words=(0, 1, 6),
        is_small=True,
    )
    yield Table(
        say("Standstill to change rolls"),
        (say("machine"), say("rolls today"), say("after"), say("hours today"), say("after")),
        tuple(_roll_cells(each, say) for each in result.machines),
    )
    yield Bullets(tuple(_how_to_read(result, say)))


def _answer(result: LineWear, say: Wording) -> str:
    ratios = [each.work_ratio for each in result.machines if each.work_ratio is not None]
    rolls = [sum(pair) for pair in zip(*((m.rolls_before, m.rolls_after)
                                         for m in result.machines), strict=True)]  # fmt: skip
    change = say(
        "Rolls a year: {after} in place of {before}.",
        after=say.fixed(rolls[1], 0),
        before=say.fixed(rolls[0], 0),
    )
    if not ratios:
        return say(
            "{carriage} on all machines. {rolls} The duty of its drive cannot be compared: rollers"
            " are not listed on both sides.",
            carriage=result.carriage,
            rolls=change,
        )
    return say(
        "{carriage} on all machines: torque x turns of its drive {span} of today's, where rollers"
        " are listed on both sides. {rolls}",
        carriage=result.carriage,
        span=_span(min(ratios), max(ratios), say),
        rolls=change,
    )


def _span(low: float, high: float, say: Wording) -> str:
    ends = say.percent(low, 0), say.percent(high, 0)
    return ends[0] if ends[0] == ends[1] else say("{low} to {high}", low=ends[0], high=ends[1])


def _count(count: int | None) -> str:
    return "-" if count is None else str(count)


def _duty_cells(machine: str, duty: DriveDuty, say: Wording) -> tuple[str, ...]:
    torque = duty.torque_peak_n_m
    low, high = duty.safety_low, duty.safety_high
    ends = "-"
    if low is not None and high is not None:
        ends = say("{low} to {high}", low=say.number(low), high=say.number(high))
    return (
        machine,
        duty.carriage,
        f"{say.fixed(duty.film_m / 1000.0, 0)} km",
        say.amount(duty.film_speed_peak_m_per_s, "speed"),
        "-" if torque is None else say.amount(torque, "torque"),
        say.amount(duty.power_peak_w, "power"),
        say(_COUPLES[duty.couples_by]),
        ends,
    )


def _roll_cells(machine: MachineWear, say: Wording) -> tuple[str, ...]:
    def hours(value: float, low: float, high: float) -> str:
        text = say.number(value / 3600.0)
        if machine.rethread_is_typed and low == high:
            return text
        ends = say("{low} to {high}", low=say.number(low / 3600.0), high=say.number(high / 3600.0))
        return f"{text} ({ends})" if low != high else text

    return (
        machine.machine,
        say.fixed(machine.rolls_before, 0),
        say.fixed(machine.rolls_after, 0),
        hours(
            machine.rethread_before_s,
            machine.rethread_before_low_s,
            machine.rethread_before_high_s,
        ),
        hours(
            machine.rethread_after_s, machine.rethread_after_low_s, machine.rethread_after_high_s
        ),
    )


def _how_to_read(result: LineWear, say: Wording) -> Iterator[str]:
    yield say(
        "Compared are the loads that both carriages serve, each in its film. Torque is that of the"
        " film at the fast roller, losses of bearings and drive left out."
    )
    if not all(each.rethread_is_typed for each in result.machines):
        yield say(
            "Hours with a range rest on a placeholder: time a roll change with a stop watch and"
            " state it."
        )
    used = {duty.couples_by for each in result.machines for duty in (each.before, each.after)}
    for name, (low, high, source) in SERVICE_FACTORS.items():
        if name in used:
            yield say(
                "Safety left is the lower of the stated ratings over what is asked at most, after a"
                " service factor for a {coupling} of {low} to {high} ({source}). Below 1 it is too"
                " weak by that rule.",
                coupling=say(_COUPLES[name]),
                low=say.number(low),
                high=say.number(high),
                source=say(source),
            )
    yield say(
        "No life is said of belt, chain or bearings: that needs their maker's rating. A ratio above"
        " 100 % says that more is asked of them than today."
    )
