"""The film's path round the rollers, and rollers that no film can run round."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from woold.errors import PhysicsError, Problem
from woold.physics.rollers import (
    Contact,
    FilmPath,
    Point,
    Roller,
    Span,
    contact_angle,
    tangent_span,
)
from woold.words import say, to_say

__all__ = ["film_path"]

_TOUCH = 1e-3  # a nip may stand this far off its partner, for drawings rounded to the millimetre
_ROUNDING = 1e-9


def film_path(rollers: Sequence[Roller]) -> FilmPath:
    """Path of the film as tangents between circles; see the two functions above.

    Args:
        rollers: in the film's order, from the roll to the load; nips anywhere.

    Returns:
        The path.

    Raises:
        PhysicsError: rollers missing, in the wrong order, overlapping; a span that cuts a roller
            or another span; a nip that presses on no film. Each names the two rollers.
    """
    problems = [*_order_problems(rollers), *_roller_problems(rollers)]
    problems = problems or list(_overlap_problems(rollers))
    if problems:
        raise PhysicsError.many(problems)
    threaded = [roller for roller in rollers if roller.role != "nip"]
    spans = tuple(tangent_span(first, second) for first, second in itertools.pairwise(threaded))
    contacts = tuple(
        Contact(roller, contact_angle(roller, before, after), before.end, after.start)
        for roller, (before, after) in zip(threaded[1:-1], itertools.pairwise(spans), strict=True)
    )
    path = FilmPath(tuple(rollers), spans, contacts)
    problems = [*_cut_problems(path), *_crossing_problems(path), *_nip_problems(path)]
    if problems:
        raise PhysicsError.many(problems)
    return path


def _field(*rollers: Roller) -> str:
    return ", ".join(f"carriage.rollers.{roller.name}" for roller in rollers)


def _order_problems(rollers: Sequence[Roller]) -> Iterator[Problem]:
    field = "carriage.rollers"
    names = [roller.name for roller in rollers]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Problem(
            field,
            say("{count} rollers named {name!r}", count=names.count(name), name=name),
            say("a name of its own for each"),
            say("Rename one of them."),
        )
    roles: list[str] = [roller.role for roller in rollers]
    for role in ("slow", "fast"):
        if roles.count(role) != 1:
            yield Problem(
                field,
                say("{count} of role {role!r}", count=roles.count(role), role=role),
                say("one of role {role!r}", role=role),
                say("Give the role to one roller."),
            )
    threaded = [role for role in roles if role != "nip"]
    for role, end in (("roll", 0), ("load", -1)):
        if not threaded or threaded.count(role) != 1 or threaded[end] != role:
            count = threaded.count(role)
            given = (
                say("{count} of role {role!r}, no roller", count=count, role=role)
                if not threaded
                else say(
                    "{count} of role {role!r}, {found!r} first",
                    count=count,
                    role=role,
                    found=threaded[0],
                )
                if end == 0
                else say(
                    "{count} of role {role!r}, {found!r} last",
                    count=count,
                    role=role,
                    found=threaded[-1],
                )
            )
            first = to_say("one of role {role!r}, first in the film's order")
            last = to_say("one of role {role!r}, last in the film's order")
            yield Problem(
                field,
                given,
                say(first if end == 0 else last, role=role),
                say("Write the rollers in the order in which the film meets them."),
            )
    if roles.count("slow") == roles.count("fast") == 1 and roles.index("fast") < roles.index(
        "slow"
    ):
        slow, fast = rollers[roles.index("slow")], rollers[roles.index("fast")]
        yield Problem(
            _field(slow, fast),
            say("the fast roller before the slow one"),
            say("the slow roller before the fast one"),
            say(
                "Write the rollers in the order in which the film meets them, or exchange the"
                " roles."
            ),
        )


def _roller_problems(rollers: Sequence[Roller]) -> Iterator[Problem]:
    names = [roller.name for roller in rollers]
    for roller in rollers:
        if not all(map(math.isfinite, (roller.x, roller.y, roller.diameter))):
            yield Problem(
                _field(roller),
                say("a number that is not finite"),
                say("finite numbers"),
                say("Mend the values of that roller."),
            )
        elif roller.diameter < 0 or (roller.diameter == 0 and roller.role != "load"):
            yield Problem(
                f"{_field(roller)}.diameter",
                f"{roller.diameter:g} m",
                say("a diameter above 0"),
                say("Mend the value."),
            )
        if roller.role == "nip" and roller.presses_on not in names:
            yield Problem(
                f"{_field(roller)}.presses_on",
                repr(roller.presses_on),
                say("the name of the roller that it is pressed on"),
                say("Write the name of a roller as it stands in the list."),
            )


def _overlap_problems(rollers: Sequence[Roller]) -> Iterator[Problem]:
    for first, second in itertools.combinations(rollers, 2):
        apart = math.dist(first.centre, second.centre) - first.radius - second.radius
        pressed = first.presses_on == second.name or second.presses_on == first.name
        if pressed and abs(apart) > _TOUCH:
            off, into = to_say("{length:.1f} mm apart"), to_say("{length:.1f} mm into one another")
            yield Problem(
                _field(first, second),
                say(off if apart > 0 else into, length=1e3 * abs(apart)),
                say("a nip that touches the roller it is pressed on"),
                say("Move the nip, or mend one of the diameters."),
            )
        elif not pressed and apart < 0:
            yield Problem(
                _field(first, second),
                say("rollers that overlap by {length:.1f} mm", length=-apart * 1000.0),
                say("rollers that stand clear of one another"),
                say("Check the centres and the diameters."),
            )


def _cut_problems(path: FilmPath) -> Iterator[Problem]:
    for span, roller in itertools.product(path.spans, path.rollers):
        if roller.name in (span.start_name, span.end_name):
            continue
        clear = _distance_to_segment(roller.centre, span.start, span.end) - roller.radius
        if clear < -_ROUNDING:
            yield Problem(
                _field(roller),
                say(
                    "film from {start} to {end} that cuts {depth:.1f} mm into {roller}",
                    start=span.start_name,
                    end=span.end_name,
                    depth=-clear * 1000.0,
                    roller=roller.name,
                ),
                say("free film that passes clear of every other roller"),
                say(
                    "Check the sides of {start} and {end} and the place of {roller}.",
                    start=span.start_name,
                    end=span.end_name,
                    roller=roller.name,
                ),
            )


def _crossing_problems(path: FilmPath) -> Iterator[Problem]:
    for first, second in itertools.combinations(path.spans, 2):
        if _segments_cross(first, second):
            names = dict.fromkeys((first.end_name, second.start_name))
            yield Problem(
                ", ".join(f"carriage.rollers.{name}" for name in names),
                say(
                    "film from {start} to {end} that crosses the film from {other_start} to"
                    " {other_end}",
                    start=first.start_name,
                    end=first.end_name,
                    other_start=second.start_name,
                    other_end=second.end_name,
                ),
                say("film that does not cross itself"),
                say("Check the sides of these rollers."),
            )


def _nip_problems(path: FilmPath) -> Iterator[Problem]:
    by_name = {contact.roller.name: contact for contact in path.contacts}
    for nip in path.rollers:
        if nip.role != "nip":
            continue
        contact = by_name.get(nip.presses_on)
        if contact is None:
            yield Problem(
                f"{_field(nip)}.presses_on",
                repr(nip.presses_on),
                say("a roller that the film runs round"),
                say("Press it on a roller of the film path, or take it out."),
            )
            continue
        partner = contact.roller
        place = math.atan2(nip.y - partner.y, nip.x - partner.x)
        first = math.atan2(contact.arrives[1] - partner.y, contact.arrives[0] - partner.x)
        along = partner.turn * (place - first) % math.tau
        slack = _TOUCH / partner.radius
        if slack < along - contact.contact_angle and along < math.tau - slack:
            yield Problem(
                _field(nip, partner),
                say("a nip that presses where no film is"),
                say("a nip on the film's arc round {roller}", roller=partner.name),
                say("Check the nip's place."),
            )


def _distance_to_segment(point: Point, start: Point, end: Point) -> float:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length_squared = dx * dx + dy * dy
    along = 0.0
    if length_squared > 0:
        along = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / length_squared
    along = min(max(along, 0.0), 1.0)
    return math.dist(point, (start[0] + along * dx, start[1] + along * dy))


def _segments_cross(first: Span, second: Span) -> bool:
    def area(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    ends = [
        (area(span.start, span.end, other.start), area(span.start, span.end, other.end))
        for span, other in ((first, second), (second, first))
    ]
    # Consecutive spans share no point but may lie in one line; that is no crossing.
    return all(one * two < 0 and min(abs(one), abs(two)) > 1e-12 for one, two in ends)
