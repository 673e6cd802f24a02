"""Rollers of a carriage where one choice of its free dimensions puts them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from woold.case.rollers import RollerEntry
from woold.physics.rollers import FilmPath, Role, Side, geared_stretch

__all__ = ["PlacedRoller", "PlacedRollers", "least_opening", "pressed_together"]


@dataclass(frozen=True, slots=True)
class PlacedRoller:
    """A roller where one choice puts it.

    Args:
        entry: as the carriage lists it.
        x, y: centre [m].
        diameter: diameter [m].
        teeth: of its wheel; None where none are given.
        cover: name of its cover; "" for the one that it has.
        friction: of the film on it, where other than the carriage's; else None [-].
        opens: by how much it moves when the carriage is opened [m].
    """

    entry: RollerEntry
    x: float
    y: float
    diameter: float
    teeth: int | None
    cover: str
    friction: float | None
    opens: tuple[float, float]

    @property
    def role(self) -> Role:
        return self.entry.role

    @property
    def side(self) -> Side:
        return self.entry.side or "left"

    def opened(self) -> PlacedRoller:
        """The same with the carriage open."""
        return replace(self, x=self.x + self.opens[0], y=self.y + self.opens[1])

    def apart(self, other: PlacedRoller) -> float:
        """Free distance between the two; below 0 where they overlap [m]."""
        return math.hypot(self.x - other.x, self.y - other.y) - 0.5 * (
            self.diameter + other.diameter
        )


@dataclass(frozen=True, slots=True)
class PlacedRollers:
    """One choice of all free dimensions.

    Args:
        rollers: in the film's order.
        path: the film's way round them; None where no film can run so.
        opening: least free distance, with the carriage open, between rollers that the film is
            threaded between; infinite where it is threaded between none [m].
        parts: rollers and nips.
        lacking: what the choice breaks; 0 where it can be built [m].
    """

    rollers: tuple[PlacedRoller, ...]
    path: FilmPath | None
    opening: float
    parts: int
    lacking: float

    @property
    def can_be(self) -> bool:
        return self.path is not None and self.lacking <= 0.0

    def of(self, role: Role) -> PlacedRoller:
        """The first roller of a role."""
        return next(each for each in self.rollers if each.role == role)

    def geared(self, typed: float) -> float:
        """Stretch ratio that its wheels give; what was typed where there are none [-]."""
        slow, fast = self.of("slow"), self.of("fast")
        if slow.teeth is None or fast.teeth is None:
            return typed
        return geared_stretch(slow.teeth, fast.teeth, slow.diameter, fast.diameter)

    def nip_force(self, role: Role) -> float:
        """Force of nips on the roller of a role [N]."""
        name = self.of(role).entry.name
        return sum(e.entry.nip_force or 0.0 for e in self.rollers if e.entry.presses_on == name)


def pressed_together(one: PlacedRoller, other: PlacedRoller) -> bool:
    """Whether one of two rollers is a nip that is pressed on the other.

    Args:
        one, other: the two.
    """
    return one.entry.presses_on == other.entry.name or other.entry.presses_on == one.entry.name


def least_opening(opened: Sequence[PlacedRoller]) -> float:
    """Least free distance between rollers that film is threaded between; infinite for none [m].

    Args:
        opened: the rollers with the carriage open, in the film's order.
    """
    way = [each for each in opened if each.role not in ("nip", "load")]
    pairs = [(one, other) for one, other in itertools.pairwise(way) if one.side != other.side]
    pairs += [pair for pair in itertools.combinations(opened, 2) if pressed_together(*pair)]
    return min((one.apart(other) for one, other in pairs), default=math.inf)
