"""The film's path round the rollers: tangents, contact angles, free spans, gap, film length."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from woold.errors import PhysicsError, Problem
from woold.words import say

__all__ = [
    "ROLES",
    "SIDES",
    "Contact",
    "FilmPath",
    "Role",
    "Roller",
    "Side",
    "Span",
    "film_path",
    "geared_stretch",
]

Role = Literal["roll", "idler", "slow", "fast", "dancer", "nip", "load"]
ROLES: tuple[Role, ...] = ("roll", "idler", "slow", "fast", "dancer", "nip", "load")
Side = Literal["left", "right"]
SIDES: tuple[Side, ...] = ("left", "right")

Point = tuple[float, float]

_TOUCH = 1e-3  # a nip may stand this far off its partner, for drawings rounded to the millimetre
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Roller:
    """One circle seen along the rollers' axes, which stand upright.

    Args:
        name: what it is called in messages.
        role: ``roll`` (film roll, first), ``idler``, ``slow``, ``fast``, ``dancer``, ``nip``
            (pressed on another, not in the film's path) or ``load`` (last: where the film goes to).
        x, y: centre [m].
        diameter: diameter [m]; 0 for a bare point.
        side: where the roller stands as seen by the moving film. The film turns to that side
            round it: left is counter-clockwise. Ignored for a nip.
        presses_on: name of the roller that a nip is pressed on.
    """

    name: str
    role: Role
    x: float
    y: float
    diameter: float
    side: Side = "left"
    presses_on: str = ""

    @property
    def centre(self) -> Point:
        return (self.x, self.y)

    @property
    def radius(self) -> float:
        return self.diameter / 2

    @property
    def turn(self) -> int:
        """+1 where the film turns counter-clockwise round the roller, -1 clockwise."""
        return 1 if self.side == "left" else -1


@dataclass(frozen=True, slots=True)
class Span:
    """Free film between two rollers.

    Args:
        start_name, end_name: the rollers that it leaves and meets.
        start, end: the tangent points [m].
        direction: angle of its way from the x axis [rad].
    """

    start_name: str
    end_name: str
    start: Point
    end: Point
    direction: float

    @property
    def length(self) -> float:
        """Free length [m]."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True, slots=True)
class Contact:
    """Film on one roller.

    Args:
        roller: the roller.
        contact_angle: arc of roller that the film touches [rad].
        arrives, leaves: where the film meets and leaves it [m].
    """

    roller: Roller
    contact_angle: float
    arrives: Point
    leaves: Point

    @property
    def arc_length(self) -> float:
        """Film length on the roller [m]."""
        return self.contact_angle * self.roller.radius


@dataclass(frozen=True, slots=True)
class FilmPath:
    """The whole way of the film from the roll to the load.

    Args:
        rollers: all rollers as given, nips among them.
        spans: free spans in the film's order.
        contacts: film on each roller between the roll and the load, in the film's order.
    """

    rollers: tuple[Roller, ...]
    spans: tuple[Span, ...]
    contacts: tuple[Contact, ...]

    def contact(self, role: Role) -> Contact:
        """The first contact of a role."""
        return next(contact for contact in self.contacts if contact.roller.role == role)

    def _spans_between(self, start: str, end: str) -> tuple[Span, ...]:
        names = [span.start_name for span in self.spans]
        ends = [span.end_name for span in self.spans]
        return self.spans[names.index(start) : ends.index(end) + 1]

    @property
    def gap(self) -> float:
        """Free film between slow and fast roller, an idler's arc between them left out [m]."""
        slow, fast = self.contact("slow").roller.name, self.contact("fast").roller.name
        return sum(span.length for span in self._spans_between(slow, fast))

    @property
    def film_length(self) -> float:
        """Film from the roll's tangent point to the load's [m]."""
        return sum(span.length for span in self.spans) + sum(
            contact.arc_length for contact in self.contacts
        )


def geared_stretch(
    teeth_slow: float, teeth_fast: float, diameter_slow: float, diameter_fast: float
) -> float:
    """Stretch ratio that a chain or gear pair and the roller diameters give without slip.

    lambda = (z_slow/z_fast) (d_fast/d_slow)

    Args:
        teeth_slow, teeth_fast: teeth of the wheels on the two rollers' shafts [-]. For several
            stages, any two numbers whose ratio is fast turns per slow turn.
        diameter_slow, diameter_fast: roller diameters [m].

    Returns:
        Stretch ratio [-].
    """
    return teeth_slow / teeth_fast * diameter_fast / diameter_slow


def tangent_span(first: Roller, second: Roller) -> Span:
    """Free film between two rollers: the tangent that keeps each on its own side.

    With k = s2 r2 - s1 r1 and centre distance D: length sqrt(D^2 - k^2), direction
    atan2(dy, dx) - atan2(k, sqrt(D^2 - k^2)).

    Args:
        first, second: rollers in the film's order, clear of one another.

    Returns:
        The span.

    Source:
        Plane geometry.
    """
    dx, dy = second.x - first.x, second.y - first.y
    k = second.turn * second.radius - first.turn * first.radius
    length = math.sqrt(max(dx * dx + dy * dy - k * k, 0.0))
    direction = math.atan2(dy, dx) - math.atan2(k, length)
    left = (-math.sin(direction), math.cos(direction))

    def tangent(roller: Roller) -> Point:
        reach = roller.turn * roller.radius
        return (roller.x - reach * left[0], roller.y - reach * left[1])

    return Span(first.name, second.name, tangent(first), tangent(second), direction)


def contact_angle(roller: Roller, before: Span, after: Span) -> float:
    """Arc of a roller that the film touches.

    beta = s (direction out - direction in) modulo 2 pi

    Args:
        roller: the roller.
        before, after: free film that meets and leaves it.

    Returns:
        Angle [rad].
    """
    angle = roller.turn * (after.direction - before.direction) % math.tau
    return 0.0 if angle > math.tau - _ROUNDING else angle


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
    problems = list(_order_problems(rollers)) or list(_overlap_problems(rollers))
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
    return " and ".join(f"carriage.rollers.{roller.name}" for roller in rollers)


def _order_problems(rollers: Sequence[Roller]) -> Iterator[Problem]:
    field = "carriage.rollers"
    names = [roller.name for roller in rollers]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Problem(
            field,
            say("{count} rollers named {name!r}", count=names.count(name), name=name),
            say("a name of its own for each"),
        )
    roles: list[str] = [roller.role for roller in rollers]
    for role in ("slow", "fast"):
        if roles.count(role) != 1:
            yield Problem(
                field,
                say("{count} of role {role!r}", count=roles.count(role), role=role),
                say("one {role} roller", role=role),
            )
    threaded = [role for role in roles if role != "nip"]
    for role, place, end in (("roll", "first", 0), ("load", "last", -1)):
        if not threaded or threaded.count(role) != 1 or threaded[end] != role:
            found = f"{threaded[end]!r} {place}" if threaded else "no roller"
            yield Problem(
                field,
                say(
                    "{count} of role {role!r}, {found}",
                    count=threaded.count(role),
                    role=role,
                    found=found,
                ),
                say("one of role {role!r}, {place} in the film's order", role=role, place=place),
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
    for roller in rollers:
        if not all(map(math.isfinite, (roller.x, roller.y, roller.diameter))):
            yield Problem(_field(roller), say("a number that is not finite"), say("finite numbers"))
        elif roller.diameter < 0 or (roller.diameter == 0 and roller.role != "load"):
            yield Problem(
                f"{_field(roller)}.diameter", f"{roller.diameter:g} m", say("a diameter above 0")
            )
        if roller.role == "nip" and roller.presses_on not in names:
            yield Problem(
                f"{_field(roller)}.presses_on",
                repr(roller.presses_on),
                say("the name of the roller that it is pressed on"),
            )


def _overlap_problems(rollers: Sequence[Roller]) -> Iterator[Problem]:
    for first, second in itertools.combinations(rollers, 2):
        apart = math.dist(first.centre, second.centre) - first.radius - second.radius
        pressed = first.presses_on == second.name or second.presses_on == first.name
        if pressed and abs(apart) > _TOUCH:
            where = f"{abs(apart) * 1e3:.1f} mm {'apart' if apart > 0 else 'into one another'}"
            yield Problem(
                _field(first, second), where, say("a nip that touches the roller it is pressed on")
            )
        elif not pressed and apart < 0:
            yield Problem(
                _field(first, second),
                say("rollers that overlap by {apart:.1f} mm", apart=-apart * 1000.0),
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
                    "film from {start_name} to {end_name} that cuts {clear:.1f} mm into {name}",
                    start_name=span.start_name,
                    end_name=span.end_name,
                    clear=-clear * 1000.0,
                    name=roller.name,
                ),
                say("free film that passes clear of every other roller"),
                say(
                    "Check the sides of {start_name} and {end_name} and the place of {name}.",
                    start_name=span.start_name,
                    end_name=span.end_name,
                    name=roller.name,
                ),
            )


def _crossing_problems(path: FilmPath) -> Iterator[Problem]:
    for first, second in itertools.combinations(path.spans, 2):
        if _segments_cross(first, second):
            names = dict.fromkeys((first.end_name, second.start_name))
            yield Problem(
                " and ".join(f"carriage.rollers.{name}" for name in names),
                say(
                    "film from {start_name} to {end_name} that crosses the film from"
                    " {start_name_2} to {end_name_2}",
                    start_name=first.start_name,
                    end_name=first.end_name,
                    start_name_2=second.start_name,
                    end_name_2=second.end_name,
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
                say("a nip on the film's arc round {name}", name=partner.name),
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
