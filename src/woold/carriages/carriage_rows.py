"""A carriage's report in words: pre-stretch, grip, film path and drive."""

from __future__ import annotations

from collections.abc import Iterator

from woold.carriages.pasted import quotable_text
from woold.carriages.study import CarriageReport
from woold.prediction.names import governing_name, roller_name
from woold.rows.blocks import Block, Facts, Row, Table
from woold.rows.wording import Wording
from woold.units import show
from woold.words import to_say

__all__ = ["carriage_blocks"]

_SIDES = {"left": to_say("left"), "right": to_say("right")}
_SPEEDS = {"mean": to_say("mean"), "fastest": to_say("fastest")}


def carriage_blocks(r: CarriageReport, say: Wording, brief: Wording) -> list[Block]:
    """Everything that is told of a carriage, findings and cautions left out.

    Args:
        r: its report.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    blocks: list[Block] = [
        Facts(say("Pre-stretch"), tuple(_stretch_rows(r, say))),
        Facts(say("Grip"), tuple(_grip_rows(r, say))),
    ]
    if r.rollers:
        blocks.append(_path_table(r, say, brief))
    blocks.append(_drive_table(r, say, brief))
    return blocks


def _stretch_rows(r: CarriageReport, say: Wording) -> Iterator[Row]:
    yield Row(say("set"), say.amount(r.prestretch_set, "elongation"))
    if r.prestretch_geared != r.prestretch_set:
        yield Row(say("by teeth and diameters"), say.amount(r.prestretch_geared, "elongation"))
    yield Row(
        say("delivered"),
        say(
            "{stretch}, set by: {governs}",
            stretch=say.amount(r.prestretch_delivered, "elongation"),
            governs=governing_name(r.prestretch_governed_by),
        ),
    )
    yield Row(
        say("if the grip falls a tenth short"),
        say.amount(r.prestretch_with_tenth_less_grip, "elongation"),
    )
    yield Row(say("film draws evenly above"), say.amount(r.natural_draw_stretch, "elongation"))
    yield Row(say("stretch on the load"), say.amount(r.stretch_on_load, "elongation"))
    yield Row(say("gap"), say.amount(r.gap_m, "small_length"))
    yield Row(say("drawn already on the slow roller"), say.amount(r.slip_arc_m, "small_length"))
    lost = say.fixed(r.width_loss, 3)
    origin = say("from the width measured on the load, {case}", case=r.title)
    if r.width_is_measured:
        yield Row(
            say("width that each edge loses, over gap and arc"),
            say("{lost}, from the measured width", lost=lost),
            note=say(
                "for other carriages of this film, in [film]: width_loss = {lost},"
                " width_loss_prestretch = {stretch}",
                lost=f'{{ value = "{lost}", origin = "{quotable_text(origin)}" }}',
                stretch=f'"{100 * (r.prestretch_delivered - 1):.4g} %"',
            ),
        )
    else:
        by_law = say("{lost} by law", lost=lost)
        yield Row(say("width that each edge loses, over gap and arc"), by_law)
    yield Row(
        say("film width on the load"),
        say(
            "{width}, neck-down {loss}",
            width=say.amount(r.film_width_on_load_m, "small_length"),
            loss=say.amount(r.neck_down_m, "small_length"),
        ),
    )


def _grip_rows(r: CarriageReport, say: Wording) -> Iterator[Row]:
    yield Row(say("force that stretches the film"), say.amount(r.drawing_force_n, "force"))
    yield Row(say("force that the set pre-stretch asks for"), say.amount(r.geared_force_n, "force"))
    slow = (r.contact_angle_slow_rad, r.grip_limit_slow_n, r.grip_margin_slow)
    fast = (r.contact_angle_fast_rad, r.grip_limit_fast_n, r.grip_margin_fast)
    for name, (angle, limit, margin) in (
        (say("slow roller holds"), slow),
        (say("fast roller holds"), fast),
    ):
        yield Row(
            name,
            say(
                "{force} over {angle}, {margin} times what is asked for",
                force=say.amount(limit, "force"),
                angle=say.amount(angle, "angle"),
                margin=say.fixed(margin, 2),
            ),
        )
    yield Row(
        say("pre-stretch is held from"),
        say(
            "{force} to the load (now {force_now}) and {tension} off the roll (now {tension_now})",
            force=say.amount(r.force_to_load_min_n, "force"),
            force_now=say.amount(r.force_to_load_n, "force"),
            tension=say.amount(r.unwind_tension_min_n, "force"),
            tension_now=say.amount(r.unwind_tension_n, "force"),
        ),
    )
    for air in r.air:
        yield Row(
            say("air under the film, {roller}", roller=roller_name(air.roller)),
            say(
                "{height} at the fastest, {share} of the friction left",
                height=say.amount(air.air_film_m, "roughness"),
                share=say.percent(air.traction_left, 0),
            ),
        )


def _path_table(r: CarriageReport, say: Wording, brief: Wording) -> Table:
    rows = tuple(
        (
            each.name,
            say(_SIDES[each.side]),
            say.amount(each.contact_angle_rad, "angle"),
            brief.amount(each.film_on_it_m, "small_length"),
            brief.amount(each.free_film_after_m, "small_length"),
            f"{brief.amount(each.tension_before_n, 'force')},"
            f" {brief.amount(each.tension_after_n, 'force')}",
        )
        for each in r.rollers
    )
    heads = (
        say("roller"),
        say("side"),
        say("contact"),
        say("film on it"),
        say("free after"),
        say("tension before, after"),
    )
    length = say.amount(r.film_inside_m or 0.0, "length")
    return Table(say("Film path, {length} of film inside", length=length), heads, rows, (0, 1))


def _drive_table(r: CarriageReport, say: Wording, brief: Wording) -> Table:
    rows = tuple(
        (
            say(_SPEEDS[each.at]),
            brief.amount(each.film_speed_m_per_s, "speed"),
            _torque(each.torque_slow_n_m, each.power_slow_w, say),
            _torque(each.torque_fast_n_m, each.power_fast_w, say),
            say.amount(each.power_drive_w, "power"),
        )
        for each in r.drive
    )
    heads = (
        say("film speed"),
        say("behind the fast roller"),
        say("slow roller"),
        say("fast roller"),
        say("drive"),
    )
    return Table(say("Drive, losses left out (minus: the film drives the roller)"), heads, rows)


def _torque(torque: float | None, power: float, say: Wording) -> str:
    """Torque where the roller's diameter is known, and power."""
    words = say.amount(power, "power")
    return words if torque is None else f"{say.sentence(show(torque, 'torque', 'si'))}, {words}"
