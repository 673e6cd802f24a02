"""Rollers and the film on and between them: tangents, contact angles, free spans, gap, length."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

__all__ = [
    "ROLES",
    "SIDES",
    "Contact",
    "FilmPath",
    "Role",
    "Roller",
    "Side",
    "Span",
    "contact_angle",
    "geared_stretch",
    "tangent_span",
]

Role = Literal["roll", "idler", "slow", "fast", "dancer", "nip", "load"]
ROLES: tuple[Role, ...] = ("roll", "idler", "slow", "fast", "dancer", "nip", "load")
Side = Literal["left", "right"]
SIDES: tuple[Side, ...] = ("left", "right")

Point = tuple[float, float]

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
