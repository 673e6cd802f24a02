"""Dancer, transport, design and other parts of a case checked against the rest of it.

The limits are common practice without a source, wide enough for a plant that is merely unusual.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from woold.case.fields import COMMON_PRACTICE
from woold.case.machine_kinds import kind_facts
from woold.case.outline import load_outline
from woold.errors import Question, WooldError
from woold.physics import outlines
from woold.units import show, show_range
from woold.words import say

if TYPE_CHECKING:
    from woold.case.model import Case

__all__ = ["doubts_of_parts", "hardly"]

_LEAST_TRAVEL = math.radians(10.0)
"""Of a dancer between its stops [rad]."""
_LEAST_SPRING = 0.02
"""From a spring's anchor to its hole with the arm at 0 [m]."""
_MOST_WIDTH_LEFT = 0.98
"""Film's width on the load over that of the roll, of film drawn to half more or farther [-]."""
_LEAST_ZONE = 0.01
"""Height of a zone of hold [m]."""
_YEARS = (2000, 2060)


def doubts_of_parts(case: Case) -> Iterator[Question]:
    """Questions about fields of a case's parts that can hardly stand beside its others."""
    yield from _film_doubts(case)
    yield from _dancer_doubts(case)
    yield from _transport_doubts(case)
    yield from _design_doubts(case)
    yield from _hold_doubts(case)
    for index, tax in enumerate(case.plant.packaging_tax):
        if not _YEARS[0] <= tax.since.year <= _YEARS[1]:
            yield hardly(
                f"plant.packaging_tax[{index}].since",
                tax.since.isoformat(),
                say("{low} to {high}", low=_YEARS[0], high=_YEARS[1]),
                say("Is the year right?"),
            )


def hardly(field: str, given: str, usual: str, todo: str) -> Question:
    """A question about what can hardly be, by common practice."""
    return Question(field, given, f"{usual} ({say(COMMON_PRACTICE)})", todo)


def _mean_demand(case: Case) -> float | None:
    """Film that the load takes on average at full speed [m/s]; None where it has no outline."""
    try:
        outline = load_outline(case.load)
    except WooldError:
        return None
    return outlines.perimeter(outline) * case.machine.speed / (2.0 * math.pi)


def _film_doubts(case: Case) -> Iterator[Question]:
    film, carriage = case.film, case.carriage
    rated, at_break = film.rated_prestretch, film.elongation_at_break
    if rated is not None and at_break is not None and rated >= at_break:
        yield hardly(
            "film.rated_prestretch",
            show(rated, "elongation"),
            say("less than it has at break, {limit}", limit=show(at_break, "elongation")),
            say("Are both of this film, and along it?"),
        )
    width = carriage.film_width_on_load
    if carriage.neck_down is not None:
        width = film.roll_width - carriage.neck_down
    most = _MOST_WIDTH_LEFT * film.roll_width
    if width is not None and most < width <= film.roll_width and carriage.prestretch >= 1.5:
        given = carriage.film_width_on_load is not None
        yield hardly(
            "carriage.film_width_on_load" if given else "carriage.neck_down",
            say("a width of {width} on the load", width=show(width, "small_length")),
            say("at most {most}: film that is stretched loses width",
                most=show(most, "small_length")),
            say("Was it measured on the load, not on the roll?"),
        )  # fmt: skip


def _dancer_doubts(case: Case) -> Iterator[Question]:
    dancer = case.dancer
    if dancer is None:
        return
    low, high, drive = dancer.lower_stop, dancer.upper_stop, dancer.drive
    if high - low < _LEAST_TRAVEL:
        yield hardly(
            "dancer.upper_stop",
            say("{travel} between the stops", travel=show(high - low, "angle")),
            say("{least} or more", least=show(_LEAST_TRAVEL, "angle")),
            say("A dancer between them can store next to no film. Are both stops right?"),
        )
    elif not low <= drive.set_angle <= high:
        yield hardly(
            "dancer.drive.set_angle",
            show(drive.set_angle, "angle"),
            say("between the stops, {stops}", stops=show_range(low, high, "angle")),
            say("The arm cannot stand there. Are set angle and stops right?"),
        )
    if drive.gain == drive.integral_gain == drive.feed_forward == 0.0:
        yield hardly(
            "dancer.drive.gain",
            say("0, with integral_gain and feed_forward 0"),
            say("one of the three above 0"),
            say("Such a drive gives no film at all. Is it right?"),
        )
    demand = _mean_demand(case)
    ramp = case.machine.ramp_up
    is_known = "acceleration_limit" in drive.model_fields_set
    if demand and ramp > 0.0 and is_known and drive.acceleration_limit < 0.5 * demand / ramp:
        yield hardly(
            "dancer.drive.acceleration_limit",
            show(drive.acceleration_limit, "acceleration"),
            say("{least} or more, to follow the machine to its full speed",
                least=show(demand / ramp, "acceleration")),
            say("The drive comes far behind the load. Are limit and ramp right?"),
        )  # fmt: skip
    along, across = dancer.anchor
    for hole in (dancer.hole,) if dancer.hole is not None else dancer.holes:
        if math.hypot(along - hole, across) < _LEAST_SPRING:
            yield hardly(
                "dancer.anchor",
                say("{away} from the hole at {hole}",
                    away=show(math.hypot(along - hole, across), "small_length"),
                    hole=show(hole, "small_length")),
                say("{least} or more", least=show(_LEAST_SPRING, "small_length")),
                say("No spring fits between them. Is the anchor right?"),
            )  # fmt: skip
            return


def _transport_doubts(case: Case) -> Iterator[Question]:
    transport, load = case.transport, case.load
    if transport is None:
        return
    given = transport.model_fields_set
    if "pallet_grip" in given and transport.pallet_grip > load.deck_height:
        yield hardly(
            "transport.pallet_grip",
            show(transport.pallet_grip, "small_length"),
            say("at most the deck's height, {deck}", deck=show(load.deck_height, "small_length")),
            say("There is no pallet below that. Is load.deck_height right?"),
        )
    if "slip_zone" in given and transport.slip_zone > load.height:
        yield hardly(
            "transport.slip_zone",
            show(transport.slip_zone, "small_length"),
            say("at most the load's height, {height}", height=show(load.height, "length")),
            say("Film shears where it lies on the load. Is it right?"),
        )


def _design_doubts(case: Case) -> Iterator[Question]:
    design, machine = case.design, case.machine
    if design is None:
        return
    given = design.model_fields_set
    rated = case.film.rated_prestretch
    if rated is not None and design.prestretches and max(design.prestretches) > rated + 1e-9:
        yield hardly(
            "design.prestretches",
            show(max(design.prestretches), "elongation"),
            say("at most the film's rating, {rating}", rating=show(rated, "elongation")),
            say("Is it a setting for this film?"),
        )
    low, high = kind_facts(machine.kind).usual_speeds
    odd = [each for each in design.speeds if not 0.999 * low <= each <= 1.001 * high]
    if odd:
        yield hardly(
            "design.speeds",
            say("{speed} of a {kind}", speed=show(odd[0], "turning_speed"), kind=say(machine.kind)),
            show_range(low, high, "turning_speed"),
            say("Are speed, its unit and machine.kind right?"),
        )
    demand, limit = _mean_demand(case), design.film_speed_limit
    slowest = min(design.speeds, default=machine.speed) / machine.speed
    if demand and limit is not None and limit < demand * slowest:
        yield hardly(
            "design.film_speed_limit",
            show(limit, "speed"),
            say("{least} or more, what the load takes on average",
                least=show(demand * slowest, "speed")),
            say("No program keeps to that at these speeds. Is it right?"),
        )  # fmt: skip
    stands = machine.end_time + 0.5 * (machine.ramp_up + machine.ramp_down)
    if design.cycle_time_limit is not None and design.cycle_time_limit <= stands:
        yield hardly(
            "design.cycle_time_limit",
            show(design.cycle_time_limit, "time"),
            say("more than {least}, which passes before and after the turns",
                least=show(stands, "time")),
            say("No program is that short. Are limit, ramps and end_time right?"),
        )  # fmt: skip
    for name, kind in (("force", "force"), ("rise", "small_length")):
        least, most = (getattr(design, f"{name}_{end}") for end in ("least", "most"))
        step = getattr(design, f"{name}_step")
        if f"{name}_step" in given and most > least and step > most - least:
            yield hardly(
                f"design.{name}_step",
                show(step, kind),
                say("at most {span}, from the lowest to the highest",
                    span=show(most - least, kind)),
                say("Only one value is tried. Is the step right?"),
            )  # fmt: skip


def _hold_doubts(case: Case) -> Iterator[Question]:
    hold, load = case.hold, case.load
    for index, target in enumerate(hold.targets):
        high = load.height if target.high is None else target.high
        if 0.0 < high - target.low < _LEAST_ZONE:
            yield hardly(
                f"hold.targets[{index}].low",
                say("a zone {height} high", height=show(high - target.low, "small_length")),
                say("{least} or more", least=show(_LEAST_ZONE, "small_length")),
                say("Are its ends in the right unit?"),
            )
    half = 0.5 * hold.pull_plate_width
    place = hold.pull_height
    is_beside = place is not None and not half <= place + 1e-9 and place > 0.0
    if place is not None and (is_beside or place < load.height < place + half - 1e-9):
        yield hardly(
            "hold.pull_height",
            say("a plate from {low} to {high}",
                low=show(place - half, "small_length"), high=show(place + half, "small_length")),
            say("within the load, 0 to {height}", height=show(load.height, "length")),
            say("The plate stands over its edge. Are height and plate right?"),
        )  # fmt: skip
