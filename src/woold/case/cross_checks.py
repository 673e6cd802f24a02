"""Fields of a case checked against each other: what can hardly stand together is asked about.

The limits are common practice without a source, wide enough for a plant that is merely unusual.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from woold.case.machine_kinds import kind_facts
from woold.case.outline import load_outline, overhang, sides
from woold.case.part_checks import doubts_of_parts, hardly
from woold.errors import Question, WooldError
from woold.physics import outlines
from woold.units import show, show_range
from woold.words import say

if TYPE_CHECKING:
    from woold.case.model import Case

__all__ = ["doubts_of_case"]

_DENSITIES = (15.0, 5000.0)
"""Mass of a load over the volume of its box [kg/m^3]."""
_TIER_HEIGHTS = (0.02, 1.6)
"""Height of a tier [m]."""
_MOST_SLENDER = 5.0
"""Height of a load over its narrower side [-]."""
_MOST_OVERHANG = 0.1
"""Load over the edge of its pallet, on one side [m]."""
_LEAST_SHARE_OF_PALLET = 0.2
"""Area of the load over that of its pallet [-]."""
_FILM_STRENGTH = 30e6
"""Force over unstretched section at which stretch film tears [Pa]."""
_LEAST_BREAK_MARGIN = 1.05
"""Stretch at break over that of the pre-stretch: the load draws it farther, and film varies [-]."""
_LONGEST_SHIFT = 12 * 3600.0
_YEAR = 8784 * 3600.0
_MOST_TURNS = 80.0
_ABOVE_LOAD = 1.0
"""How far above the load something that belongs to it may lie [m]."""


def doubts_of_case(case: Case) -> Iterator[Question]:
    """Questions about fields that can hardly stand together."""
    yield from _load_doubts(case)
    yield from _film_doubts(case)
    yield from _machine_doubts(case)
    yield from _program_doubts(case)
    yield from _hold_doubts(case)
    yield from _plant_doubts(case)
    yield from doubts_of_parts(case)


def _load_doubts(case: Case) -> Iterator[Question]:
    load = case.load
    length, width = sides(load)
    if load.footprint is not None and not 0.2 <= min(length, width) <= max(length, width) <= 3.0:
        yield hardly(
            "load.footprint",
            say("a box of {length} by {width} round its corners",
                length=show(length, "length"), width=show(width, "length")),
            say("sides of {sides}", sides=show_range(0.2, 3.0, "length")),
            say("Are all corners in the right unit?"),
        )  # fmt: skip
    if not min(length, width) > 0.0:
        return  # asked about above, and refused where the outline is made
    density = load.mass / (length * width * load.height)
    if not _DENSITIES[0] <= density <= _DENSITIES[1]:
        yield hardly(
            "load.mass",
            say(
                "{mass} in this size, {density}",
                mass=show(load.mass, "mass"),
                density=show(density, "density"),
            ),
            show_range(*_DENSITIES, "density"),
            say("Are the load's mass and size in the right units?"),
        )
    tier = load.height / load.tiers
    if load.tiers > 1 and not _TIER_HEIGHTS[0] <= tier <= _TIER_HEIGHTS[1]:
        yield hardly(
            "load.tiers",
            say(
                "{count} tiers in {height}, each {tier}",
                count=load.tiers,
                height=show(load.height, "length"),
                tier=show(tier, "small_length"),
            ),
            show_range(*_TIER_HEIGHTS, "small_length"),
            say("Are tiers and height those of one load?"),
        )
    if load.height > _MOST_SLENDER * min(length, width):
        yield hardly(
            "load.height",
            say(
                "{height}, {times} times the narrower side",
                height=show(load.height, "length"),
                times=f"{load.height / min(length, width):.3g}",
            ),
            say("at most {times} times", times=f"{_MOST_SLENDER:g}"),
            say("Such a load falls over by itself. Are height and sides right?"),
        )
    yield from _pallet_doubts(case)


def _pallet_doubts(case: Case) -> Iterator[Question]:
    load = case.load
    over = overhang(load)
    if over is None or load.pallet_length is None or load.pallet_width is None:
        return
    length, width = sides(load)
    is_turned = length <= load.pallet_width + 1e-9 and width <= load.pallet_length + 1e-9
    if is_turned and over > 0.001 and over <= _MOST_OVERHANG:
        yield hardly(
            "load.pallet_length",
            say(
                "{pallet}, for a load of {load}",
                pallet=_size(load.pallet_length, load.pallet_width),
                load=_size(length, width),
            ),
            say("the longer side of both along the same axis"),
            say("The load fits when its pallet is turned. Are both the same way round?"),
        )
    if over > _MOST_OVERHANG:
        yield hardly(
            "load.pallet_length" if length - load.pallet_length >= width - load.pallet_width
            else "load.pallet_width",
            say("the load overhangs its pallet by {over} on each side",
                over=show(over, "small_length")),
            say("at most {most}", most=show(_MOST_OVERHANG, "small_length")),
            say("Are length and width of load and pallet the same way round?"),
        )  # fmt: skip
    share = length * width / (load.pallet_length * load.pallet_width)
    if share < _LEAST_SHARE_OF_PALLET:
        yield hardly(
            "load.pallet_length",
            say("the load covers {share} of its pallet", share=show(share, "fraction")),
            say("{least} or more", least=show(_LEAST_SHARE_OF_PALLET, "fraction")),
            say("Are load and pallet in the right units?"),
        )


def _size(length: float, width: float) -> str:
    return say("{length} by {width}", length=show(length, "length"), width=show(width, "length"))


def _film_doubts(case: Case) -> Iterator[Question]:
    film, carriage = case.film, case.carriage
    least_break = _LEAST_BREAK_MARGIN * carriage.prestretch
    if film.elongation_at_break is not None and film.elongation_at_break < least_break:
        yield hardly(
            "film.elongation_at_break",
            show(film.elongation_at_break, "elongation"),
            say(
                "{least} or more, for the pre-stretch of {set}",
                least=show(least_break, "elongation"),
                set=show(carriage.prestretch, "elongation"),
            ),
            say("Film that breaks there cannot be stretched so far. Which of the two is right?"),
        )
    strength = _FILM_STRENGTH * film.roll_width * film.thickness
    if case.program.force_to_load > strength:
        yield hardly(
            "program.force_to_load",
            show(case.program.force_to_load, "force"),
            say(
                "at most {strength}, {stress} of this film's section",
                strength=show(strength, "force"),
                stress=show(_FILM_STRENGTH, "stress"),
            ),
            say("Stretch film tears about there. Are force, width and thickness right?"),
        )
    widest = carriage.widest_roll
    if widest is not None and film.roll_width > widest:
        yield hardly(
            "film.roll_width",
            show(film.roll_width, "small_length"),
            say("at most {widest}, what the carriage takes", widest=show(widest, "small_length")),
            say("Does this roll go into this carriage?"),
        )
    if not case.width_is_measured and carriage.gap > film.roll_width:
        yield hardly(
            "carriage.gap",
            show(carriage.gap, "small_length"),
            say("less than the film's width, {width}", width=show(film.roll_width, "small_length")),
            say("Is it the free film between slow and fast roller?"),
        )


def _machine_doubts(case: Case) -> Iterator[Question]:
    machine, facts = case.machine, kind_facts(case.machine.kind)
    low, high = facts.usual_speeds
    if not low * 0.999 <= machine.speed <= high * 1.001:
        yield hardly(
            "machine.speed",
            say("{speed} on a machine of the kind {kind}",
                speed=show(machine.speed, "turning_speed"), kind=say(machine.kind)),
            show_range(low, high, "turning_speed"),
            say("Are speed, its unit and machine.kind right?"),
        )  # fmt: skip
    try:
        outline = load_outline(case.load)
    except WooldError:
        return
    reach = outlines.largest_radius(outline)
    room = machine.exit_distance - reach
    # Inside of the load's reach the film cannot get round it: that is refused, not asked.
    if 0.0 < room < facts.usual_clearance:
        yield hardly(
            "machine.exit_distance",
            say(
                "{distance}, {room} beyond the load's farthest corner",
                distance=show(machine.exit_distance, "length"),
                room=show(room, "small_length"),
            ),
            say("{least} or more", least=show(facts.usual_clearance, "small_length")),
            say("Load and carriage would nearly touch as they pass. Is the distance right?"),
        )
    mean_speed = outlines.perimeter(outline) * machine.speed / (2.0 * math.pi)
    drive = case.dancer.drive if case.dancer is not None else None
    is_known = drive is not None and "speed_limit" in drive.model_fields_set
    if drive is not None and is_known and mean_speed > drive.speed_limit:
        yield hardly(
            "dancer.drive.speed_limit",
            show(drive.speed_limit, "speed"),
            say("more than {mean}, what the load takes", mean=show(mean_speed, "speed")),
            say("The drive cannot feed that. Are turning speed and limit right?"),
        )
    fall = (case.load.height + case.program.top_overlap) / 600.0
    limit = machine.carriage_speed_limit
    if limit is not None and limit < fall:
        yield hardly(
            "machine.carriage_speed_limit",
            show(limit, "speed"),
            say("more than {least}, ten minutes for the load's height", least=show(fall, "speed")),
            say("Is it in the right unit?"),
        )


def _program_doubts(case: Case) -> Iterator[Question]:
    program, load = case.program, case.load
    if -program.start_height > load.deck_height + 1e-6:
        yield hardly(
            "program.start_height",
            say("{start}, below what the pallet stands on",
                start=show(program.start_height, "small_length")),
            say("down to {deck}", deck=show(0.0 - load.deck_height, "small_length")),
            say("The carriage of no kind of machine goes there. Is load.deck_height right?"),
        )  # fmt: skip
    if program.start_height >= load.height:
        yield hardly(
            "program.start_height",
            show(program.start_height, "small_length"),
            say("below the load's top, {height}", height=show(load.height, "length")),
            say("Film that starts there misses the load. Is it right?"),
        )
    elif program.start_height > 0.5 * load.height:
        yield hardly(
            "program.start_height",
            show(program.start_height, "small_length"),
            say("below half of the load's height, {height}", height=show(load.height, "length")),
            say("Film that starts there leaves all below it bare. Is it right?"),
        )
    for index, band in enumerate(program.bands):
        if not -load.deck_height <= band.height <= load.height:
            yield hardly(
                f"program.bands[{index}].height",
                show(band.height, "small_length"),
                show_range(-load.deck_height, load.height, "small_length"),
                say("A band there misses the load. Is it right?"),
            )
    for name in ("rise_per_turn", "fall_per_turn"):
        step = getattr(program, name)
        if step is not None and step > case.film.roll_width:
            yield hardly(
                f"program.{name}",
                show(step, "small_length"),
                say("at most the film's width, {width}",
                    width=show(case.film.roll_width, "small_length")),
                say("It leaves stripes of the load bare. Is it right?"),
            )  # fmt: skip
    turns = _turns(case)
    if turns > _MOST_TURNS:
        yield hardly(
            "program.rise_per_turn" if program.rise_per_turn is not None else "program.overlap",
            say("{turns} turns a load", turns=f"{turns:.0f}"),
            say("at most {most}", most=f"{_MOST_TURNS:.0f}"),
            say("Is the carriage's travel in a turn right?"),
        )


def _hold_doubts(case: Case) -> Iterator[Question]:
    top = case.load.height
    if case.hold.pull_height is not None and case.hold.pull_height > top:
        yield hardly(
            "hold.pull_height",
            show(case.hold.pull_height, "length"),
            say("below the load's top, {height}", height=show(top, "length")),
            say("There is no film to pull there. Is it right?"),
        )
    for index, target in enumerate(case.hold.targets):
        high = target.high if target.high is not None else top
        if target.low >= top or high > top + _ABOVE_LOAD:
            yield hardly(
                f"hold.targets[{index}].low" if target.low >= top
                else f"hold.targets[{index}].high",
                show_range(target.low, high, "length"),
                say("zones of the load, to {height}", height=show(top, "length")),
                say("Nothing is held above the load. Is the zone right?"),
            )  # fmt: skip


def _turns(case: Case) -> float:
    """Turns of a cycle, a little too few: film narrows, so the carriage travels farther."""
    program, width = case.program, case.film.roll_width
    rise = program.rise_per_turn or width * (1.0 - (program.overlap or 0.0))
    fall = program.fall_per_turn or rise
    travel = max(case.load.height + program.top_overlap - width - program.start_height, 0.0)
    turns = program.bottom_wraps + program.top_wraps + travel / max(rise, 1e-9)
    if program.ends_at == "bottom":
        turns += program.closing_wraps + travel / max(fall, 1e-9)
    return turns + sum(band.wraps for band in program.bands)


def _plant_doubts(case: Case) -> Iterator[Question]:
    plant, machine = case.plant, case.machine
    if "loads_per_shift" not in plant.model_fields_set:
        return
    cycle = _turns(case) * 2.0 * math.pi / machine.speed + machine.end_time
    cycle += 0.5 * (machine.ramp_up + machine.ramp_down)
    cycle += sum(pause.time for pause in case.program.pauses)
    shift = min(_LONGEST_SHIFT, _YEAR / plant.shifts_per_year)
    if plant.loads_per_shift * cycle > shift:
        yield hardly(
            "plant.loads_per_shift",
            say(
                "{loads} loads of {cycle} each, {hours} a shift",
                loads=f"{plant.loads_per_shift:g}",
                cycle=show(cycle, "time"),
                hours=show(plant.loads_per_shift * cycle, "hours"),
            ),
            say("at most {hours} on one machine", hours=show(shift, "hours")),
            say("Are loads, shifts and times right? A case is one machine."),
        )
