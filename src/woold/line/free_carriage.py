"""A carriage some of whose dimensions are free: every choice of them as rollers, and what of the
room, the opening for threading and the film's way they break.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from woold.case.rollers import RollerEntry
from woold.case.things import CarriageThing
from woold.errors import PhysicsError
from woold.line.envelope import Envelope, FreeRollerEntry
from woold.line.placed_rollers import (
    PlacedRoller,
    PlacedRollers,
    least_opening,
    pressed_together,
)
from woold.physics.film_path import film_path
from woold.physics.rollers import Role, Roller

__all__ = ["FreeCarriage"]

RASTER = 1e-4
"""Places are looked at in steps of a tenth of a millimetre [m]."""
_NO_WAY = 0.5
"""What a film's way that cannot be counts for, beside metres that are lacking."""


@dataclass(frozen=True, slots=True)
class _Variable:
    """One free dimension: of which roller, what, and its ends; whole numbers count choices."""

    roller: int
    what: str
    low: float
    high: float
    is_whole: bool


class FreeCarriage:
    """A carriage some of whose dimensions are free.

    Args:
        base: the carriage as it is listed.
        envelope: what is free of it.
    """

    def __init__(self, base: CarriageThing, envelope: Envelope) -> None:
        self.base, self.envelope = base, envelope
        self._entries = base.carriage.rollers
        free = {each.name: each for each in envelope.rollers}
        self._free = [free.get(each.name) for each in self._entries]
        self._variables = [
            one
            for at, (entry, each) in enumerate(zip(self._entries, self._free, strict=True))
            if each is not None
            for one in _variables(at, entry, each)
        ]

    @property
    def ends(self) -> list[tuple[float, float]]:
        """Lower and upper end of each free dimension."""
        return [(each.low, each.high) for each in self._variables]

    @property
    def are_whole(self) -> list[bool]:
        """Which of them count choices."""
        return [each.is_whole for each in self._variables]

    def start(self) -> list[float]:
        """The carriage as it is listed, or as near to it as its free dimensions allow."""
        found = []
        for each in self._variables:
            entry, free = self._entries[each.roller], self._free[each.roller]
            assert free is not None
            if each.what in ("x", "y"):
                value = float(getattr(entry, each.what))
            elif each.what == "kept":
                value = 1.0
            else:
                choices, own = _choices(entry, free)[each.what]
                own = own or self.base.carriage.friction
                value = float(min(range(len(choices)), key=lambda at: _far(choices[at], own)))
            found.append(min(max(value, each.low), each.high))
        return self._with_wheels(found)

    def _with_wheels(self, vector: list[float]) -> list[float]:
        """The same with the wheels that come nearest to the pre-stretch, where none are listed."""
        wheels = [at for at, each in enumerate(self._variables) if each.what == "teeth"]
        if len(wheels) != 2 or any(each.teeth is not None for each in self._entries):
            return vector
        asked = self.base.carriage.prestretch
        best = (math.inf, vector)
        for pair in itertools.product(*(range(int(self.ends[at][1]) + 1) for at in wheels)):
            tried = list(vector)
            for at, choice in zip(wheels, pair, strict=True):
                tried[at] = float(choice)
            off = abs(self.placed(tried).geared(asked) - asked)
            best = min(best, (off, tried))
        return best[1]

    def listed(self) -> PlacedRollers:
        """The carriage as it is listed, judged by what is asked of all choices."""
        pairs = zip(self._entries, self._free, strict=True)
        return self._judged(tuple(_placed(entry, free, {}) for entry, free in pairs))

    def key(self, vector: Sequence[float]) -> tuple[float, ...]:
        """The choice that a vector stands for: whole choices, and places on their raster.

        Args:
            vector: one value for each free dimension.
        """
        return tuple(
            float(round(value)) if each.is_whole else round(round(value / RASTER) * RASTER, 7)
            for each, value in zip(self._variables, vector, strict=True)
        )

    def placed(self, vector: Sequence[float]) -> PlacedRollers:
        """A choice of the free dimensions as rollers.

        Args:
            vector: one value for each.
        """
        chosen: list[dict[str, float]] = [{} for _ in self._entries]
        for each, value in zip(self._variables, self.key(vector), strict=True):
            chosen[each.roller][each.what] = value
        there: dict[str, PlacedRoller] = {}
        for entry, free, values in zip(self._entries, self._free, chosen, strict=True):
            if round(values.get("kept", 1.0)) == 0:
                continue
            there[entry.name] = _placed(entry, free, values)
        rollers = tuple(
            _pressed(each, there) for each in there.values()
            if each.role != "nip" or each.entry.presses_on in there
        )  # fmt: skip
        return self._judged(rollers)

    def _judged(self, rollers: tuple[PlacedRoller, ...]) -> PlacedRollers:
        """The choice with its way of film, and what it breaks."""
        parts = sum(each.role not in ("roll", "load") for each in rollers)
        opened = tuple(each.opened() for each in rollers)
        opening = least_opening(opened)
        lacking = sum(_outside(each, self.envelope) for each in rollers)
        lacking += sum(
            max(-one.apart(other), 0.0)
            for state in (rollers, opened)
            for one, other in itertools.combinations(state, 2)
            if not pressed_together(one, other)
        )
        if self.envelope.threading_room > opening:
            lacking += self.envelope.threading_room - opening
        most = self.envelope.most_parts
        if most is not None and parts > most:
            lacking += _NO_WAY * (parts - most)
        # Rounding of what was typed in millimetres is nothing that lacks.
        lacking = 0.0 if lacking < 1e-9 else lacking
        path = None
        try:
            path = film_path([_roller(each) for each in rollers])
        except PhysicsError:
            lacking += _NO_WAY
        found = PlacedRollers(rollers, path, opening, parts, lacking)
        if found.geared(self.base.carriage.prestretch) <= 1.0:
            return replace(found, lacking=lacking + _NO_WAY)
        return found

    def carriage(self, placed: PlacedRollers, name: str) -> CarriageThing:
        """The carriage that a choice makes.

        Args:
            placed: the choice.
            name: what to call it.
        """
        rollers = tuple(
            each.entry.model_copy(update={
                "x": each.x, "y": each.y, "diameter": each.diameter, "teeth": each.teeth,
                "friction": each.friction,
            })
            for each in placed.rollers
        )  # fmt: skip
        given = self.base.carriage
        changed = given.model_copy(
            update={"rollers": rollers, "prestretch": placed.geared(given.prestretch)}
        )
        return self.base.model_copy(update={"name": name, "carriage": changed})

    def choices_of(self, role: Role, what: str) -> tuple[float, ...]:
        """All diameters, teeth or frictions that the roller of a role may have; none for no teeth.

        Args:
            role: of the roller.
            what: diameter, teeth or friction.
        """
        at = next(at for at, each in enumerate(self._entries) if each.role == role)
        entry, free = self._entries[at], self._free[at]
        if what == "friction" and free is not None and free.covers:
            return tuple(each.friction for each in free.covers)
        if what == "friction":
            return (entry.friction or self.base.carriage.friction,)
        own = getattr(entry, what)
        choices, _ = _choices(entry, free)[what] if free is not None else ((), own)
        return tuple(float(each) for each in choices or (own,) if each is not None)

    def box(self, role: Role) -> tuple[tuple[float, float], tuple[float, float]]:
        """Ends of x and of y between which the centre of the roller of a role may stand [m]."""
        at = next(at for at, each in enumerate(self._entries) if each.role == role)
        entry, free = self._entries[at], self._free[at]
        x, y = (entry.x, entry.x), (entry.y, entry.y)
        return (x, y) if free is None else (free.x or x, free.y or y)

    def opens(self, role: Role) -> bool:
        """Whether the roller of a role moves when the carriage is opened."""
        at = next(at for at, each in enumerate(self._entries) if each.role == role)
        free = self._free[at]
        return free is not None and free.opens is not None

    def is_straight_in_the_gap(self) -> bool:
        """Whether the film runs from the slow roller straight to the fast one."""
        roles = [each.role for each in self._entries if each.role != "nip"]
        return roles.index("fast") == roles.index("slow") + 1

    def are_opposite(self) -> bool:
        """Whether slow and fast roller stand on opposite sides of the film."""
        slow, fast = (
            next(each for each in self._entries if each.role == role) for role in ("slow", "fast")
        )
        return slow.side != fast.side


def _choices(
    entry: RollerEntry, free: FreeRollerEntry
) -> dict[str, tuple[tuple[float, ...], float]]:
    """What may be chosen for a roller, with what it has."""
    covers = tuple(each.friction for each in free.covers)
    return {
        "diameter": (free.diameters, entry.diameter),
        "teeth": (tuple(float(each) for each in free.teeth), float(entry.teeth or 0)),
        "cover": (covers, entry.friction or 0.0),
    }


def _far(one: float, other: float) -> float:
    return abs(one - other)


def _variables(at: int, entry: RollerEntry, free: FreeRollerEntry) -> list[_Variable]:
    found = [
        _Variable(at, name, *ends, False)
        for name, ends in (("x", free.x), ("y", free.y))
        if ends is not None
    ]
    found += [
        _Variable(at, what, 0.0, float(len(choices) - 1), True)
        for what, (choices, _) in _choices(entry, free).items()
        if choices
    ]
    return [*found, _Variable(at, "kept", 0.0, 1.0, True)] if free.may_go else found


def _placed(
    entry: RollerEntry, free: FreeRollerEntry | None, values: dict[str, float]
) -> PlacedRoller:
    """A roller by the choices that were made for it."""

    def place(name: str, given: float) -> float:
        return values.get(name, given)

    def picked(what: str) -> int | None:
        return round(values[what]) if what in values else None

    size, wheel, cover = picked("diameter"), picked("teeth"), picked("cover")
    covers = free.covers if free is not None else ()
    return PlacedRoller(
        entry=entry,
        x=place("x", entry.x),
        y=place("y", entry.y),
        diameter=entry.diameter if free is None or size is None else free.diameters[size],
        teeth=entry.teeth if free is None or wheel is None else free.teeth[wheel],
        cover="" if cover is None else covers[cover].name,
        friction=entry.friction if cover is None else covers[cover].friction,
        opens=(0.0, 0.0) if free is None or free.opens is None else free.opens,
    )


def _pressed(each: PlacedRoller, there: dict[str, PlacedRoller]) -> PlacedRoller:
    """A nip follows the roller that it is pressed on, on the side on which it stands."""
    if each.role != "nip" or each.entry.presses_on not in there:
        return each
    partner = there[each.entry.presses_on]
    angle = math.atan2(each.entry.y - partner.entry.y, each.entry.x - partner.entry.x)
    reach = 0.5 * (each.diameter + partner.diameter)
    return replace(
        each, x=partner.x + reach * math.cos(angle), y=partner.y + reach * math.sin(angle)
    )


def _outside(each: PlacedRoller, envelope: Envelope) -> float:
    """By how much a roller stands outside of the room [m]."""
    if each.role in ("roll", "load"):
        return 0.0
    radius = 0.5 * each.diameter
    return sum(
        max(low - (value - radius), 0.0) + max(value + radius - high, 0.0)
        for value, low, high in (
            (each.x, envelope.low[0], envelope.high[0]),
            (each.y, envelope.low[1], envelope.high[1]),
        )
    )


def _roller(each: PlacedRoller) -> Roller:
    return Roller(
        each.entry.name, each.role, each.x, each.y, each.diameter, each.side, each.entry.presses_on
    )
