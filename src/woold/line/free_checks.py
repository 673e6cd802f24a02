"""Free dimensions of a line's file, checked against its carriages."""

from __future__ import annotations

from collections.abc import Sequence

from woold.case.shelf import reference
from woold.case.things import CarriageThing
from woold.errors import InputError, PhysicsError, Problem
from woold.line.envelope import Envelope
from woold.line.free_carriage import FreeCarriage
from woold.line.things import LineThings
from woold.physics.film_path import film_path
from woold.physics.rollers import geared_stretch
from woold.prediction.film_on_load import rollers_of
from woold.units import show
from woold.words import say

__all__ = ["free_carriages"]

_CAN_BE_FREE = ("idler", "slow", "fast", "nip")


def free_carriages(things: LineThings, envelopes: Sequence[Envelope]) -> tuple[FreeCarriage, ...]:
    """The carriages of a line whose dimensions are free.

    Args:
        things: of the line.
        envelopes: what is free of which.

    Raises:
        InputError: a carriage or a roller that is not there, or of which something cannot be free.
    """
    problems: list[Problem] = []
    found: list[FreeCarriage] = []
    for index, envelope in enumerate(envelopes):
        here = f"envelopes[{index}]"
        name, _ = reference(envelope.carriage, f"{here}.carriage")
        base = next((each for each in things.carriages if each.name == name), None)
        if base is None:
            there = ", ".join(f'"@{each.name}"' for each in things.carriages)
            problems.append(Problem(
                f"{here}.carriage", repr(envelope.carriage), there,
                say("Name a carriage of this line."),
            ))  # fmt: skip
            continue
        own = _carriage_problems(here, base) or _roller_problems(here, base, envelope)
        problems += own
        if not own:
            found.append(FreeCarriage(base, envelope))
    if problems:
        raise InputError.many(problems)
    return tuple(found)


def _carriage_problems(here: str, base: CarriageThing) -> list[Problem]:
    """A carriage that cannot be searched."""
    given, field = base.carriage, f"{here}.carriage"
    if not given.rollers:
        return [Problem(
            field, say("{name}, whose rollers are not listed", name=base.name),
            say("a carriage with its rollers: [[carriages.carriage.rollers]]"),
            say("List its rollers; woold carriage shows how."),
        )]  # fmt: skip
    measured = given.film_width_on_load is not None or given.neck_down is not None
    if measured:
        return [Problem(
            field, say("{name}, with a width measured on the load", name=base.name),
            say("a carriage without film_width_on_load and neck_down"),
            say("A width that was measured belongs to the rollers as they stood. Take it out."),
        )]  # fmt: skip
    try:
        film_path(rollers_of(given))
    except PhysicsError as error:
        return [Problem(
            field, say("{name}: {told}", name=base.name, told=error.problems[0].given),
            say("a carriage round whose rollers film can run as they are listed"),
            error.problems[0].todo,
        )]  # fmt: skip
    return []


def _roller_problems(here: str, base: CarriageThing, envelope: Envelope) -> list[Problem]:
    """Rollers that are not there, and dimensions that they cannot have."""
    problems: list[Problem] = []
    entries = {each.name: each for each in base.carriage.rollers}
    seen: set[str] = set()
    for at, free in enumerate(envelope.rollers):
        field = f"{here}.rollers[{at}]"
        entry = entries.get(free.name)
        if entry is None or free.name in seen or entry.role not in _CAN_BE_FREE:
            able = ", ".join(f'"{e.name}"' for e in entries.values() if e.role in _CAN_BE_FREE)
            problems.append(Problem(
                f"{field}.name", repr(free.name),
                say("idlers, nips, slow and fast roller of {name}, each once: {able}",
                    name=base.name, able=able),
                say("Name one of them."),
            ))  # fmt: skip
            continue
        seen.add(free.name)
        for name, is_wrong, why in (
            ("may_go", free.may_go and entry.role in ("slow", "fast"),
             say("idlers and nips only: slow and fast roller stay")),
            ("teeth", bool(free.teeth) and entry.role not in ("slow", "fast"),
             say("slow and fast roller only")),
            ("x", (free.x or free.y) is not None and entry.role == "nip",
             say("no place for a nip: it follows the roller that it is pressed on")),
        ):  # fmt: skip
            if is_wrong:
                problems.append(Problem(f"{field}.{name}", repr(free.name), why,
                                        say("Take it out here.")))  # fmt: skip
    problems += _teeth_problems(here, base, envelope)
    return problems


def _teeth_problems(here: str, base: CarriageThing, envelope: Envelope) -> list[Problem]:
    """Teeth of one wheel alone, and wheels that do not stretch the film; a room for no roller."""
    problems: list[Problem] = []
    entries = {each.name: each for each in base.carriage.rollers}
    given = {each.name for each in envelope.rollers if each.teeth}
    wheels = {
        each.role: each.teeth is not None or each.name in given
        for each in entries.values()
        if each.role in ("slow", "fast")
    }
    if wheels["slow"] != wheels["fast"]:
        problems.append(Problem(
            f"{here}.rollers", say("teeth for one of slow and fast roller only"),
            say("teeth for both, or for neither"), say("Give the teeth of both wheels."),
        ))  # fmt: skip
    if not problems and all(wheels.values()):
        free = FreeCarriage(base, envelope)
        sides = [[free.choices_of(role, name) for name in ("teeth", "diameter")]
                 for role in ("slow", "fast")]  # fmt: skip
        most = geared_stretch(
            max(sides[0][0]), min(sides[1][0]), min(sides[0][1]), max(sides[1][1])
        )
        if most <= 1.0:
            problems.append(Problem(
                f"{here}.rollers",
                say("teeth that do not stretch the film: {most} at most",
                    most=show(most, "elongation")),
                say("a pair with more teeth on the slow roller than on the fast one"),
                say("Exchange the teeth of the two, or check the diameters."),
            ))  # fmt: skip
    room = (envelope.high[0] - envelope.low[0], envelope.high[1] - envelope.low[1])
    widest = max((e.diameter for e in entries.values() if e.role in _CAN_BE_FREE), default=0.0)
    if widest > min(room) and not any(f.diameters for f in envelope.rollers):
        problems.append(Problem(
            f"{here}.high",
            say("a room {width} by {depth}", width=show(room[0], "small_length"),
                depth=show(room[1], "small_length")),
            say("room for a roller of {diameter}", diameter=show(widest, "small_length")),
            say("Check both corners of the room."),
        ))  # fmt: skip
    return problems
